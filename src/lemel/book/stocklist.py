"""Bars, remnants and offcuts as they lie: size, temper, mass, drawer, what they are good for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import log

from django.db.models import Q

from lemel import metal
from lemel.book import again, faults, filing, holdings, house, ledger, models, records, runs
from lemel.book.bench_values import Shelved
from lemel.book.foreseen import foreseen
from lemel.book.onward import carried_on
from lemel.book.promised import free_mg
from lemel.errors import BadInput, NotKnown
from lemel.values import Bar, BarFault, Composition, Holding, Lot, is_id

__all__ = ["bars_at_hand", "first_come", "set_place", "stock", "to_melt"]

_PLACE = "place"
#: Filed by `faults`, when something is seen on a bar.
_FAULT = "fault"
#: Filed by `offers` for a heat that may no longer be marked as its plan promised.
_PROMISE = "promise"
#: Forms of a lot that stock lies about in.
_STOCK_FORMS = ("bar", "offcut", "casting")
#: So many bodies are looked up one by one; for more the whole store is read.
_FEW = 500
#: More ids than these are not named in one question to the database.
_MANY = 10_000
#: What stands in the record of a lot whose section nobody knows.
_NO_SHAPE = '"shape":null'


def set_place(
    alias: str, now: str, body: str, place: str, label: str, melt: bool | None, by: str
) -> None:
    """Where a heap lies and what its label says; `melt` None leaves what was decided."""
    if not records.is_known(alias, body):
        raise BadInput("body", body, "a lot, bar or piece of this book", "Look it up.")
    is_id("place", place)
    last = filing.newest(alias, _PLACE, body)
    kept = bool(last and last.record["melt"])
    record = {"place": place, "label": label.strip(), "melt": kept if melt is None else melt}
    filing.file(alias, now, _PLACE, body, record, by=by)


def first_come(alias: str, bodies: Sequence[str] | None = None) -> dict[str, int]:
    """The entry with which each heap (or each of these) first held something: the order of coming
    in."""
    rows = (
        models.Posting.objects.using(alias)
        .filter(account__place="store", gross_mg__gt=0)
        .order_by("entry_id", "line")
        .values_list("account__body", "entry_id")
    )
    if bodies is not None and len(bodies) <= _FEW:
        rows = rows.filter(account__body__in=bodies)
    found: dict[str, int] = {}
    for body, entry in rows:
        found.setdefault(body, entry)
    return found


def to_melt(alias: str) -> set[str]:
    """What somebody has put by for the pot, whatever could still be made of it."""
    return {name for name, one in filing.all_of(alias, _PLACE).items() if one.record["melt"]}


def bars_at_hand(alias: str) -> dict[str, Bar]:
    """Everything that the house knows the section of, as it is now: bars weighed in, ingots and
    stock that plans made, remnants; those that are put by for the pot too."""
    known = {bar.id: bar for bar in records.at_hand(alias, "bar")}
    at_hand = {lot.id: lot for lot in records.at_hand(alias, "lot", Q(id__contains="/"))}
    made = _made(alias, set(at_hand))
    held = _held(alias, [*known, *made])
    rows = models.Body.objects.using(alias).filter(pk__in={*known, *made})
    suspect = dict(rows.values_list("id", "suspect"))
    worked = runs.worked(alias)
    found: dict[str, Bar] = {}
    seen = _faults(alias)
    for body, bar in {**known, **made}.items():
        now = _as_held(alias, bar, body, held[body], at_hand.get(body))
        now = runs.as_worked(now, worked.get(body, ()))
        noted = tuple(one for one in seen.get(body, ()) if one not in now.faults)
        found[body] = replace(
            now, suspect=now.suspect or suspect[body], faults=(*now.faults, *noted)
        )
    return found


def _faults(alias: str) -> dict[str, tuple[BarFault, ...]]:
    """Faults on record by bar; what was cropped off is gone with its fault."""
    found: dict[str, tuple[BarFault, ...]] = {}
    for one in filing.all_of(alias, _FAULT).values():
        said = {"note": "", **one.record, **one.private}
        if not said["cropped"]:
            fault = BarFault(said["kind"], said["place_mm"], said["depth_mm"], said["note"])
            found[said["on"]] = (*found.get(said["on"], ()), fault)
    return found


def _as_held(alias: str, bar: Bar, body: str, held: Holding, lot: Lot | None) -> Bar:
    """A bar with the mass and metal that the ledger has; its length follows its mass."""
    if lot is None:
        bar = records.record_of(alias, body)
    old_mg = round(bar.mass_g * 1000)
    if held.gross_mg != old_mg:
        share = held.gross_mg / old_mg
        bar = replace(bar, mass_g=held.gross_mg / 1000, length_mm=bar.length_mm * share)
    if lot is None and Holding.of(held.gross_mg, bar.body) == held:
        return bar
    if lot is not None:
        bar = replace(
            bar, id=body, owner=lot.owner, origin=lot.origin, parents=lot.parents,
            mass_g=held.gross_mg / 1000,
        )  # fmt: skip
    bar = replace(bar, body=holdings.body_of(held))
    withdrawn = filing.newest(alias, _PROMISE, faults.heat_behind(alias, body) or body)
    if withdrawn is not None:
        bar = replace(bar, promise_met=withdrawn.record["standard"] or None)
    return replace(bar, promise_met=_still_met(alias, bar.promise_met, bar.body))


def _still_met(alias: str, promise: str | None, body: Composition) -> str | None:
    """A promise that the assay broke is not handed on."""
    if promise is None:
        return None
    try:
        standard = metal.standard(
            promise, jurisdiction=house.rules(alias).jurisdiction, tables=house.own_tables(alias)
        )
    except NotKnown:
        return None
    least = standard.least - standard.minus_tolerance
    return promise if body.share(standard.main) >= least - 1e-9 else None


def _made(alias: str, lots: set[str]) -> dict[str, Bar]:
    """Bars that plans foresaw and that are there now, by the book's id."""
    found: dict[str, Bar] = {}
    for plan in models.Kept.objects.using(alias).values_list("id", flat=True):
        own = {one: one.removeprefix(f"{plan}/") for one in lots if one.startswith(f"{plan}/")}
        if own:
            bars = foreseen(alias, plan).bars
            found |= {one: bars[short] for one, short in own.items() if short in bars}
    return found


def stock(alias: str, *, shaped: bool = False) -> tuple[Shelved, ...]:
    """Bars, remnants and offcuts in the store, in the order in which they came.

    `shaped`: those alone of which the section is known; bags are not read for them.
    """
    bars = bars_at_hand(alias)
    rows = models.Body.objects.using(alias)
    rough = {
        lot.id: lot
        for lot in records.at_hand(alias, "lot", _shaped(alias) if shaped else _rough(alias))
        if lot.id not in bars and lot.form in _STOCK_FORMS and not (shaped and lot.shape is None)
    }
    bodies = [*bars, *rough]
    free, places = free_mg(alias, bodies), filing.all_of(alias, _PLACE)
    suspect = set(rows.filter(pk__in=list(rough), suspect=True).values_list("id", flat=True))
    by_body = {account.body: mg for account, mg in free.items()}
    came = first_come(alias, bodies)
    found = []
    for body in sorted(bodies, key=lambda one: (came.get(one, 0), one)):
        one = _bar_row(bars[body]) if body in bars else _lot_row(rough[body], body in suspect)
        one = replace(one, free_g=by_body.get(body, 0) / 1000)
        if body in places:
            one = replace(one, **places[body].record)
        found.append(one)
    return tuple(found)


def _rough(alias: str) -> Q:
    """Lots that may be stock by their form; one made anew may have another than its row says."""
    found = Q(id__in=list(again.remade(alias)))
    for form in _STOCK_FORMS:
        found |= Q(record__contains=f'"form":"{form}"')
    return found


def _shaped(alias: str) -> Q:
    """Lots whose section may be known; one made anew may have another than its row says."""
    lots = models.Body.objects.using(alias).filter(kind="lot").exclude(record__contains=_NO_SHAPE)

    def more(kept: frozenset[str], after: int, until: int) -> frozenset[str]:
        came = models.Posting.objects.using(alias).filter(
            entry_id__gt=after, entry_id__lte=until, account__place="store", gross_mg__gt=0
        )
        bodies = came.order_by().values("account__body")
        return kept.union(lots.filter(pk__in=bodies).values_list("id", flat=True))

    def whole() -> frozenset[str]:
        return frozenset(lots.values_list("id", flat=True))

    known = {*carried_on(alias, "shaped", whole, more), *again.remade(alias)}
    if len(known) > _MANY:
        return ~Q(record__contains=_NO_SHAPE) | Q(id__in=list(again.remade(alias)))
    return Q(id__in=sorted(known))


def _held(alias: str, bodies: Sequence[str]) -> dict[str, Holding]:
    """What these bodies hold in the store."""
    if len(bodies) > _FEW:
        return {a.body: m for a, m in ledger.balances(alias, place="store").items()}
    owners = list(models.Party.objects.using(alias).values_list("key", flat=True))
    rows = models.Account.objects.using(alias).filter(
        owner_id__in=owners, place="store", body__in=bodies
    )
    accounts = {pk: (body, mg) for pk, body, mg in rows.values_list("pk", "body", "gross_mg")}
    parts: dict[int, dict[str, int]] = {}
    kept = models.Held.objects.using(alias).filter(account_id__in=list(accounts))
    for account, element, ng in kept.values_list("account_id", "element", "ng"):
        parts.setdefault(account, {})[element] = ng
    return {
        body: Holding.from_ng(mg, parts.get(pk, {})) for pk, (body, mg) in accounts.items() if mg
    }


def _bar_row(bar: Bar) -> Shelved:
    temper, strain = _temper(bar)
    return Shelved(
        bar.id, bar.kind, bar.owner, bar.mass_g, 0.0, bar.section, bar.length_mm, temper, strain,
        bar.promise_met, "", "", bar.suspect, False, bar.faults,
    )  # fmt: skip


def _lot_row(lot: Lot, suspect: bool) -> Shelved:
    temper = "unknown" if lot.temper is None else lot.temper.kind
    return Shelved(
        lot.id, lot.form, lot.owner, lot.mass_g, 0.0, lot.shape, lot.length_mm, temper, None,
        None, "", "", suspect, False,
    )  # fmt: skip


def _temper(bar: Bar) -> tuple[str, float | None]:
    """How hard a bar is by its history: true strain ln(A_soft / A) since it was soft."""
    start = bar.soft_section or bar.cast_section
    if start is None:
        return ("cast", 0.0) if bar.kind == "ingot" else ("unknown", None)
    strain = log(start.area_mm2 / bar.section.area_mm2)
    if abs(strain) < 1e-9:
        return ("soft" if bar.soft_section is not None else "cast"), 0.0
    return "worked", strain
