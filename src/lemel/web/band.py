"""The metal's way from the book: how much lies at each reach now, whose, and what fell from it.

Heights follow the masses: the reach with most metal is as high as the band, every other one in
proportion. A heap too thin to be seen gets a hair's breadth.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from lemel.book import Book, Lying, last_change, lying

__all__ = ["LENGTH", "TALLEST", "Band", "Fallen", "Owner", "Reach", "Strand", "band_of", "draw"]

#: A reach is drawn in a field of so many units along the way and across it.
LENGTH, FIELD, TALLEST = 200.0, 60.0, 56.0
_THINNEST = 1.0
#: More cuts than this would only blacken the band.
_MOST_CUTS = 24
#: Hatches that can be told apart; further owners share the last one.
HATCHES = 6
#: Reach: what it is called, and where its link leads.
_REACHES = {
    "scrap": ("scrap", "/scrap/"),
    "heats": ("heats", "/furnace/"),
    "ingots": ("bars", "/mill/"),
    "stock": ("stock", "/"),
    "pieces": ("pieces", "/orders/"),
}
_FALLEN = {
    "supply": "clean metal to add",
    "loss": "lost",
    "hold_up": "left in pots",
    "slag": "in slag",
    "lemel_box": "in the lemel box",
    "sweeps": "in sweeps",
    "refiner": "at the refiner",
    "parcel": "in parcels",
}
#: The upper edge of a reach: share of its length, rise over its height. Scrap is heaped by a
#: pattern without chance, a heat is gathered, the rest is as square as it is worked.
_EDGES = {
    "scrap": (
        (0, -0.22), (0.04, -0.1), (0.09, 0.02), (0.15, -0.07), (0.2, 0.06), (0.27, -0.03),
        (0.33, 0.07), (0.38, -0.02), (0.46, 0.05), (0.52, -0.09), (0.6, 0.03), (0.66, -0.05),
        (0.73, 0.07), (0.79, -0.04), (0.86, 0.04), (0.93, -0.06), (1, -0.02),
    ),
    "heats": (
        (0, -0.45), (0.02, -0.28), (0.06, -0.12), (0.12, -0.03), (0.2, 0), (0.8, 0),
        (0.88, -0.03), (0.94, -0.12), (0.98, -0.28), (1, -0.45),
    ),
}  # fmt: skip
_SQUARE = ((0.0, 0.0), (1.0, 0.0))
_CUT = ("ingots", "pieces")


@dataclass(frozen=True, slots=True)
class Owner:
    """Whose metal, in all, and by which hatch it is known; 0 is plain."""

    id: str
    name: str
    hatch: int
    mass_mg: int


@dataclass(frozen=True, slots=True)
class Strand:
    """One owner's metal at one reach; `across` and `down` are its outline on desk and phone."""

    owner: Owner
    mass_mg: int
    across: str
    down: str


@dataclass(frozen=True, slots=True)
class Fallen:
    """What lies beside the way at a reach, all owners together."""

    word: str
    mass_mg: int


@dataclass(frozen=True, slots=True)
class Reach:
    """One reach: its metal by owner, what fell from it, and where one cuts it into parts."""

    name: str
    word: str
    link: str
    total_mg: int
    parts: int
    strands: tuple[Strand, ...]
    fallen: tuple[Fallen, ...]
    cuts: tuple[tuple[float, float], ...]
    across: str = ""
    down: str = ""


@dataclass(frozen=True, slots=True)
class Band:
    """The whole band; `here` is the reach that the page works on, "" for none."""

    reaches: tuple[Reach, ...]
    owners: tuple[Owner, ...]
    here: str = ""

    @property
    def total_mg(self) -> int:
        """Everything on the way and beside it."""
        return sum(r.total_mg + sum(f.mass_mg for f in r.fallen) for r in self.reaches)


def band_of(book: Book, here: str) -> Band:
    """The band of the book as it is now; drawn anew only when something was written."""
    drawn = _drawn(book, last_change(book))
    return Band(drawn.reaches, drawn.owners, here)


@lru_cache(maxsize=4)
def _drawn(book: Book, change: tuple[int, int]) -> Band:  # noqa: ARG001
    return draw(lying(book), book.owners())


def draw(heaps: Iterable[Lying], names: Mapping[str, str]) -> Band:
    """The band of these heaps, the owner of most metal first and plain."""
    heaps = tuple(heaps)
    owners = _owners(heaps, names)
    on_way = [one for one in heaps if not one.beside]
    tallest = max((sum(h.gross_mg for h in on_way if h.reach == r) for r in _REACHES), default=0)
    reaches = []
    for name, (word, link) in _REACHES.items():
        here = [one for one in on_way if one.reach == name]
        strands, outline = _strands(name, here, owners, tallest)
        total, parts = sum(h.gross_mg for h in here), sum(h.parts for h in here)
        cuts = _cuts(total, parts, tallest) if name in _CUT else ()
        fallen = _fallen(one for one in heaps if one.beside and one.reach == name)
        reaches.append(Reach(name, word, link, total, parts, strands, fallen, cuts, *outline))
    return Band(tuple(reaches), owners)


def _owners(heaps: Sequence[Lying], names: Mapping[str, str]) -> tuple[Owner, ...]:
    sums: dict[str, int] = {}
    for one in heaps:
        sums[one.owner] = sums.get(one.owner, 0) + one.gross_mg
    ranked = sorted(sums, key=lambda owner: (-sums[owner], owner))
    return tuple(
        Owner(owner, names.get(owner) or owner, min(n, HATCHES), sums[owner])
        for n, owner in enumerate(ranked)
    )


def _strands(
    reach: str, here: Sequence[Lying], owners: Sequence[Owner], tallest: int
) -> tuple[tuple[Strand, ...], tuple[str, str]]:
    """From the foot up, every strand under the upper edge of its reach; and the edge of all."""
    masses = {one.owner: one.gross_mg for one in here}
    edge = _EDGES.get(reach, _SQUARE)
    found, under = [], 0.0
    for owner in owners:
        mg = masses.get(owner.id, 0)
        if not mg:
            continue
        over = under + max(_THINNEST, mg / tallest * TALLEST)
        found.append(Strand(owner, mg, *_between(edge, under, over)))
        under = over
    return tuple(found), _between(edge, 0.0, under)


def _between(edge: Sequence[tuple[float, float]], under: float, over: float) -> tuple[str, str]:
    """The outline from one height to another, on the desk and on the phone."""
    lines = [(share * LENGTH, over * (1 + rise)) for share, rise in edge]
    lines += [(share * LENGTH, under * (1 + rise)) for share, rise in reversed(edge)]
    return _points(lines, across=True), _points(lines, across=False)


def _points(lines: Iterable[tuple[float, float]], *, across: bool) -> str:
    """Corners for SVG: on the desk the way runs to the right on its foot, on the phone down."""
    if across:
        return " ".join(f"{along:g},{round(FIELD - high, 2):g}" for along, high in lines)
    return " ".join(f"{round(high, 2):g},{along:g}" for along, high in lines)


def _cuts(total: int, parts: int, tallest: int) -> tuple[tuple[float, float], ...]:
    """Where the parts are told apart: place along the reach, and how high the reach is."""
    if not total:
        return ()
    high = max(_THINNEST, total / tallest * TALLEST)
    count = min(parts, _MOST_CUTS)
    return tuple((LENGTH * n / count, high) for n in range(1, count))


def _fallen(heaps: Iterable[Lying]) -> tuple[Fallen, ...]:
    sums: dict[str, int] = {}
    for one in heaps:
        sums[one.beside] = sums.get(one.beside, 0) + one.gross_mg
    return tuple(Fallen(_FALLEN[name], sums[name]) for name in _FALLEN if sums.get(name))
