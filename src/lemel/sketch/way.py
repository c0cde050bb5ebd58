"""The metal's way as one band: as high at each reach as the mass that comes there."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from lemel.plan import Movement, Plan
from lemel.quantities import AS_IT_COMES, Preference, show
from lemel.sketch.drawing import Drawing
from lemel.sketch.strokes import Point, hatch, line, page, polygon, rect, write
from lemel.values import Quantity, Saying
from lemel.words import say

__all__ = ["Reach", "reaches", "way"]

#: The reaches in the order of the work.
REACHES = ("scrap", "heats", "bars", "stock", "pieces")
#: What each place is called where metal is left behind on the way.
_LEFT = {"loss": "loss", "hold_up": "pot", "offcut": "offcuts", "kerf": "kerf", "bar": "remnants"}
_TOP, _TALLEST, _DRIP, _LEGEND = 7.5, 20.0, 4.3, 6.5
#: Small words: 10 points.
_SMALL = 3.53
#: A strand thinner than this could not be seen on paper.
_THINNEST = 0.35
#: More cuts than this would only blacken the band.
_MOST_CUTS = 40
_FLAT = ((0.0, 0.0), (1.0, 0.0))
#: The upper edge of a reach: share of its length, rise over its mean height. The heap of
#: scrap is ragged by a pattern without chance, a heat is gathered.
_EDGES = {
    "scrap": (
        (0.0, 0.0), (0.08, 0.08), (0.17, -0.06), (0.26, 0.07), (0.36, -0.1), (0.46, 0.04),
        (0.54, -0.05), (0.63, 0.1), (0.72, -0.04), (0.82, 0.05), (0.91, -0.08), (1.0, 0.0),
    ),
    "heats": ((0.0, -0.12), (0.04, -0.03), (0.1, 0.01), (0.9, 0.01), (0.96, -0.03), (1.0, -0.12)),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Reach:
    """One reach: the milligrams of each owner that come there.

    `left_mg` is what is left behind on the way to it by name (loss, pot, offcuts, kerf,
    remnants), `joined_mg` what comes to it from the drawer, `parts` how many heaps, bars
    or pieces lie there.
    """

    name: str
    mass_mg: Mapping[str, int]
    left_mg: Mapping[str, int]
    joined_mg: int = 0
    parts: int = 1

    @property
    def total_mg(self) -> int:
        """All owners together."""
        return sum(self.mass_mg.values())


def reaches(plan: Plan) -> tuple[Reach, ...]:
    """The plan's metal reach by reach, added up from the movements of its balance.

    Between two reaches nothing is missing: what comes is what was before it, with what
    joins, less what is left behind.
    """
    mass: dict[str, dict[str, int]] = {name: {} for name in REACHES}
    left: dict[str, dict[str, int]] = {name: {} for name in REACHES}
    parts: dict[str, set[str]] = {name: set() for name in REACHES}
    for move in plan.balance.movements:
        if move.source.owner != move.to.owner:
            continue
        mg, owner = move.holding.gross_mg, move.to.owner
        comes, leaves = _where(move)
        for reach, part in comes:
            mass[reach][owner] = mass[reach].get(owner, 0) + mg
            parts[reach].add(part)
        if leaves:
            name = _LEFT[move.to.place]
            left[leaves][name] = left[leaves].get(name, 0) + mg
    found: list[Reach] = []
    for name in REACHES:
        before = found[-1].total_mg if found else sum(mass[name].values())
        joined = sum(mass[name].values()) + sum(left[name].values()) - before
        found.append(Reach(name, mass[name], left[name], joined, max(1, len(parts[name]))))
    return tuple(found)


def _where(move: Movement) -> tuple[tuple[tuple[str, str], ...], str]:
    """The reaches that a movement's metal comes to, each with the part it is there, and the
    reach on the way to which it is left behind ("" for none)."""
    source, to = move.source, move.to
    if move.step.startswith("cut "):
        return ((("pieces", to.id),), "") if to.place == "piece" else ((), "pieces")
    if move.step.startswith("mill "):
        bar = ("bars", source.id)
        return ((bar, ("stock", to.id)), "") if to.place == "bar" else ((bar,), "stock")
    if source.place not in ("lot", "addition"):
        return (), ""
    scrap = ("scrap", source.id)
    if to.place == "bar":
        return (scrap, ("heats", move.step)), ""
    if to.place == "offcut":
        return (scrap, ("heats", move.step)), "bars"
    return (scrap,), "heats"


def way(plan: Plan, *, width_mm: float = 186.0, units: Preference = AS_IT_COMES) -> Drawing | None:
    """The band from left to right; other owners' metal runs as hatched strands within it.

    Ragged as scrap, gathered in the heats, a block a bar, plain as stock, a block a piece.
    What is left behind drips below with its mass. None where no metal moves.
    """
    found = reaches(plan)
    tallest = max(reach.total_mg for reach in found)
    if tallest == 0:
        return None
    owners = _owners(found)
    fills = [hatch(index) for index in range(len(owners))]
    body = [pattern for _, pattern in fills if pattern]
    each = width_mm / len(found)
    foot = _TOP + _TALLEST
    for index, reach in enumerate(found):
        high = [_height(reach.mass_mg.get(owner, 0), tallest) for owner in owners]
        body += _block(reach, index * each, each, foot, high, [fill for fill, _ in fills])
        mass = show(Quantity(reach.total_mg / 1000, "g"), units)
        name = f"{say(Saying(f'sketch.way.{reach.name}'))} {mass}"
        body.append(write(index * each + 0.5, _TOP - 3.2, name, bold=True))
    drips = [_drips(reach, index * each, foot, units) for index, reach in enumerate(found)]
    body += [stroke for one in drips for stroke in one]
    below = foot + 1.5 + _DRIP * max(len(one) // 2 for one in drips)
    names = [plan.owners.get(owner, owner) for owner in owners]
    body += _legend(names, [fill for fill, _ in fills], below, width_mm)
    height = below + (_LEGEND if len(owners) > 1 else 0.5)
    told = {reach.name: Quantity(reach.total_mg / 1000, "g") for reach in found}
    alt = say(Saying("sketch.way.alt", told), units=units)
    return Drawing(page(width_mm, height, body), width_mm, height, alt)


def _owners(found: Sequence[Reach]) -> list[str]:
    """The owner of most metal first: plain at the bottom of the band."""
    sums: dict[str, int] = {}
    for reach in found:
        for owner, mg in reach.mass_mg.items():
            sums[owner] = sums.get(owner, 0) + mg
    return sorted(sums, key=lambda owner: (-sums[owner], owner))


def _height(mg: int, tallest: int) -> float:
    return max(_THINNEST, mg / tallest * _TALLEST) if mg else 0.0


def _block(
    reach: Reach, x: float, wide: float, foot: float, high: Sequence[float], fills: Sequence[str]
) -> Iterable[str]:
    """The strands of one reach from the bottom up, under an edge of its kind."""
    whole = sum(high)
    edge = _EDGES.get(reach.name, _FLAT)
    under = 0.0
    for tall, fill in zip(high, fills, strict=True):
        if tall:
            upper, lower = (_along(edge, x, wide, foot, at, whole) for at in (under + tall, under))
            yield polygon([*upper, *reversed(lower)], fill)
        under += tall
    if reach.name in ("bars", "pieces"):
        blocks = min(reach.parts, _MOST_CUTS)
        for cut in range(1, blocks):
            at = x + wide * cut / blocks
            yield line((at, foot + 0.2), (at, foot - whole - 0.2), 0.2)


def _along(
    edge: Sequence[tuple[float, float]], x: float, wide: float, foot: float, at: float, whole: float
) -> list[Point]:
    """A line within the band at the height `at`, shaped as the band's edge is."""
    return [(x + wide * share, foot - at * (1 + rise)) for share, rise in edge] if whole else []


def _drips(reach: Reach, x: float, foot: float, units: Preference) -> list[str]:
    """A line down for each thing that is left behind, the heaviest first; two strokes each."""
    strokes: list[str] = []
    told = sorted(reach.left_mg.items(), key=lambda one: -one[1])
    rows = [(f"sketch.way.{name}", mg) for name, mg in told if mg]
    if reach.joined_mg > 0:
        rows.insert(0, ("sketch.way.joins", reach.joined_mg))
    for number, (code, mg) in enumerate(rows, 1):
        y = foot + _DRIP * number
        text = f"{say(Saying(code))} {show(Quantity(mg / 1000, 'g'), units)}"
        strokes.append(line((x + 0.8, foot), (x + 0.8, y - 1), 0.2))
        strokes.append(write(x + 1.8, y, text, _SMALL))
    return strokes


def _legend(names: Sequence[str], fills: Sequence[str], y: float, width_mm: float) -> Iterable[str]:
    if len(names) < 2:
        return
    each = width_mm / len(names)
    for index, (name, fill) in enumerate(zip(names, fills, strict=True)):
        yield rect(index * each + 0.3, y + 1.2, 6, 3.6, fill)
        yield write(index * each + 7.5, y + 4.2, _cut(name, each - 9), _SMALL)


def _cut(text: str, wide: float) -> str:
    """A name that fits; a letter is about half as wide as it is high."""
    most = max(4, int(wide / (_SMALL * 0.5)))
    return text if len(text) <= most else f"{text[: most - 1]}…"
