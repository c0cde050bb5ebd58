"""What is believed of the bags, what stands in their way, and how each reading moved the belief."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from lemel.book import Book, evidence_on, find_lots, last_change, standing_consents
from lemel.errors import BadInput
from lemel.scrap import BelieveReport, ScrapProblem, believe, may_melt, report
from lemel.tables import Tables, shipped
from lemel.values import Lot, Objection, Reading
from lemel.web.band import band_of
from lemel.web.books_parts import house_of

__all__ = ["Bag", "Moved", "bag", "bags", "is_large", "lots", "moved", "some", "tables_of"]

#: As many lots of a metal are believed together, so that they teach one another; of a larger
#: heap, and in a book of more heaps than this, those alone that stand on the page.
_TOGETHER_MOST = 400
#: Where the band shows what lies in the store.
_IN_STORE = ("scrap", "ingots", "stock")
_GRADES = ("stop", "ask", "note")


@dataclass(frozen=True, slots=True)
class Bag:
    """One bag: what is believed of it, the standard that it was taken for (millesimal; None: it
    says nothing), and what stands between it and the pot, the gravest first."""

    lot: Lot
    owner: str
    hatch: int
    belief: BelieveReport
    said: float | None
    doubts: tuple[Objection, ...]

    @property
    def stands(self) -> str:
        """stop, ask, note or "": the gravest of what stands in the way."""
        return self.doubts[0].grade if self.doubts else ""

    @property
    def stops(self) -> tuple[Objection, ...]:
        """What keeps it out of the pot until it is cleared."""
        return tuple(one for one in self.doubts if one.grade in ("stop", "ask"))


@dataclass(frozen=True, slots=True)
class Moved:
    """One reading as it came: the belief (millesimal) before it and after it."""

    reading: Reading
    before: tuple[float, float]
    after: tuple[float, float]
    residual: float | None
    used: bool

    @property
    def by(self) -> float:
        """How far the mean moved, millesimal."""
        return self.after[0] - self.before[0]


def tables_of(book: Book) -> Tables:
    """The shipped tables with the house's own figures over them."""
    return shipped().with_overrides(book.bench.figures())


def is_large(book: Book) -> bool:
    """Whether too much lies in the house to read all of it for a page."""
    reaches = band_of(book, "").reaches
    return sum(one.parts for one in reaches if one.name in _IN_STORE) > _TOGETHER_MOST


def some(book: Book, names: Sequence[str]) -> dict[str, Lot]:
    """The bags of these names that hold metal, by name."""
    if not names:
        return {}
    return {lot.id: lot for lot in find_lots(book, ids=names, most=len(names)).lots}


def lots(book: Book) -> tuple[Lot, ...]:
    """Every bag with metal in the store."""
    return _lots(book, last_change(book))


@lru_cache(maxsize=8)
def _lots(book: Book, change: tuple[int, ...]) -> tuple[Lot, ...]:  # noqa: ARG001
    return tuple(sorted(book.lots(), key=lambda lot: _natural(lot.id)))


def _natural(name: str) -> list[tuple[int, str]]:
    """S2 before S10."""
    return [(int(one), "") if one.isdigit() else (-1, one) for one in re.split(r"(\d+)", name)]


def bags(
    book: Book, wanted: Sequence[Lot], hatches: Mapping[str, int] | None = None
) -> tuple[Bag, ...]:
    """Bags as rows of the page, in the order given."""
    names = tuple(lot.id for lot in wanted)
    drawn = tuple(sorted((hatches or {}).items()))
    return _bags(book, last_change(book), names, book.bench.today().isoformat(), drawn)


def bag(book: Book, name: str, hatches: Mapping[str, int] | None = None) -> Bag:
    """One bag; BadInput where none of this name holds metal."""
    found = some(book, (name,)).get(name)
    if found is None:
        raise BadInput("bag", name, "a bag with metal in it", "Look it up under Scrap.")
    return bags(book, (found,), hatches)[0]


@lru_cache(maxsize=16)
def _bags(
    book: Book,
    change: tuple[int, ...],  # noqa: ARG001
    names: tuple[str, ...],
    day: str,  # noqa: ARG001
    hatches: tuple[tuple[str, int], ...],
) -> tuple[Bag, ...]:
    by_id = some(book, names)
    chosen = [by_id[name] for name in names]
    tables, evidence = tables_of(book), _evidence(book, chosen)
    reports = _reports(chosen, _beside(book, chosen), evidence, tables)
    gates = _gates(book, chosen, evidence, tables)
    owners, drawn = book.owners(), dict(hatches)
    found = []
    for lot in chosen:
        belief = reports[lot.id]
        doubts = dict.fromkeys((*gates.get(lot.id, ()), *belief.objections))
        found.append(
            Bag(
                lot, owners.get(lot.owner, lot.owner), drawn.get(lot.owner, 0), belief,
                _said(lot, evidence), tuple(sorted(doubts, key=lambda o: _GRADES.index(o.grade))),
            )
        )  # fmt: skip
    return tuple(found)


def _evidence(book: Book, chosen: Sequence[Lot]) -> tuple[Reading, ...]:
    """All readings, and what proven heats say of what came of them; in a large book those on
    the chosen lots."""
    if is_large(book):
        return evidence_on(book, chosen)
    found = {one.id: one for one in book.readings()}
    found |= {one.id: one for one in book.bench.problem().readings}
    return tuple(one for one in found.values() if not one.withdrawn)


def _beside(book: Book, chosen: Sequence[Lot]) -> tuple[Lot, ...]:
    """The lots that are believed together with the chosen ones."""
    if is_large(book):
        return tuple(chosen)
    mains = {lot.main for lot in chosen}
    same = tuple(lot for lot in lots(book) if lot.main in mains)
    return same if len(same) <= _TOGETHER_MOST else tuple(chosen)


def _reports(
    chosen: Iterable[Lot], beside: Sequence[Lot], evidence: Sequence[Reading], tables: Tables
) -> dict[str, BelieveReport]:
    wanted = {lot.id for lot in chosen}
    found: dict[str, BelieveReport] = {}
    for main in sorted({lot.main for lot in beside}):
        of_metal = tuple(lot for lot in beside if lot.main == main)
        ids = {lot.id for lot in of_metal}
        own = tuple(one for one in evidence if one.on in ids)
        answer = believe(ScrapProblem(of_metal, own), tables=tables)
        found |= {name: report(answer, name) for name in sorted(ids & wanted)}
    return found


def _gates(
    book: Book, chosen: Sequence[Lot], evidence: Sequence[Reading], tables: Tables
) -> dict[str, list[Objection]]:
    found: dict[str, list[Objection]] = {}
    for one in may_melt(
        chosen, standing_consents(book), evidence, book.bench.today(), house=house_of(book),
        rules=book.bench.rules(), tables=tables,
    ):  # fmt: skip
        found.setdefault(one.about, []).append(one)
    return found


def _said(lot: Lot, evidence: Iterable[Reading]) -> float | None:
    """What mark or word says of a lot, millesimal; None: nothing was said."""
    if lot.stated is not None:
        return lot.stated.fineness(lot.main)
    marks = [one for one in evidence if one.on == lot.id and one.method.startswith("stamp")]
    return 1000 * marks[0].values.get(lot.main, 0.0) if marks else None


def moved(book: Book, lot: Lot) -> tuple[Moved, ...]:
    """The readings of a lot in the order in which they were taken, and what each one did.

    What the other lots teach is counted in from the beginning, so that the last belief here
    is the one of the page.
    """
    return _moved(book, last_change(book), lot.id)


@lru_cache(maxsize=64)
def _moved(book: Book, change: tuple[int, ...], name: str) -> tuple[Moved, ...]:  # noqa: ARG001
    lot = some(book, (name,))[name]
    tables, evidence = tables_of(book), _evidence(book, (lot,))
    own = sorted(
        (one for one in evidence if one.on == lot.id),
        key=lambda one: (one.taken_on.isoformat() if one.taken_on else "", one.id),
    )
    others = [one for one in evidence if one.on != lot.id]
    beside = _beside(book, (lot,))
    now, found = _belief(lot, beside, others, tables), []
    for n, reading in enumerate(own, 1):
        after = _belief(lot, beside, [*others, *own[:n]], tables)
        told = next((one for one in after.readings if one.reading == reading.id), None)
        found.append(
            Moved(
                reading, (now.mean, now.sd), (after.mean, after.sd),
                told.residual if told else None, told.used if told else False,
            )
        )  # fmt: skip
        now = after
    return tuple(found)


def _belief(
    lot: Lot, beside: Sequence[Lot], evidence: Sequence[Reading], tables: Tables
) -> BelieveReport:
    return _reports((lot,), beside, evidence, tables)[lot.id]
