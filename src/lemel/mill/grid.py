"""Which sizes are tried: settings that a hand can make, or a finer mesh for proofs."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from lemel.mill.rules import Rules

__all__ = ["DIAL", "Grid", "GroovePlace", "groove_places", "heights"]


@dataclass(frozen=True, slots=True)
class Grid:
    """`ratio` None: multiples of what the screw can be set to; else a geometric mesh.

    `coarse` makes every how-many-th setting count; `half_open` settings between two
    closed grooves of a mesh (None: the rule's). Meshes are nested where ln(ratio) is halved and
    `half_open` + 1 doubled. `turned` is the ratio of squares turned between the flats;
    `exact` thicknesses are tried as they are.
    """

    ratio: float | None = None
    coarse: int = 1
    half_open: int | None = None
    turned: float = 1.03
    exact: tuple[float, ...] = ()


DIAL = Grid()
#: A groove that stands open by more than this lets the bar tilt.
_OPEN_MOST = 1.3
#: A leg without anneal does not go below this share of the side it began with.
_LEG_END = 0.5
#: A screw setting finer than this share of the thickness is not coarse; else it is halved.
_STEP_SHARE = 0.06


@dataclass(frozen=True, slots=True)
class GroovePlace:
    """A square that a groove can make: its side, the groove, and whether it stands closed."""

    side_mm: float
    groove_mm: float
    closed: bool


def heights(
    top_mm: float, end_mm: float, step_mm: float, grid: Grid, exact: Iterable[float] = ()
) -> list[float]:
    """Thicknesses from top to end, falling, both included, with the exact points between."""
    exact = (*exact, *grid.exact)
    sizes = {top_mm, end_mm, *(x for x in exact if end_mm < x < top_mm)}
    if grid.ratio is not None:
        n = math.floor(math.log(top_mm / end_mm) / math.log(grid.ratio) + 1e-9)
        sizes.update(end_mm * grid.ratio**i for i in range(1, n + 1))
    else:
        sizes.update(_dial(top_mm, end_mm, step_mm * grid.coarse))
    return _spaced(sorted(sizes, reverse=True), {top_mm, end_mm, *exact})


def _dial(top: float, end: float, step: float) -> list[float]:
    sizes: list[float] = []
    i = math.ceil(end / step - 1e-9)
    while i * step < top - 1e-9:
        if i * step > end + 1e-9:
            sizes.append(round(i * step, 6))
        i += 1
    # Where a whole step is a big bite of thin sheet the screw is moved by half and quarter.
    part = step / 2
    while part > _STEP_SHARE * end / 2 and part > 0.004:
        limit = 2 * part / _STEP_SHARE
        j = math.ceil(end / part + 1e-9)
        while j * part < min(limit, top) - 1e-9:
            sizes.append(round(j * part, 6))
            j += 1
        part /= 2
    return sizes


def _spaced(sizes: list[float], keep: set[float]) -> list[float]:
    """Drop sizes that nearly repeat a neighbour, never an exact one."""
    kept: list[float] = []
    for size in sizes:
        if kept and kept[-1] - size < 1e-6 * size and size not in keep:
            continue
        if kept and kept[-1] - size < 1e-6 * size and kept[-1] not in keep:
            kept.pop()
        if not kept or kept[-1] - size > 1e-12:
            kept.append(size)
    return kept


def groove_places(
    grooves_mm: Iterable[float],
    top_mm: float,
    end_mm: float,
    step_mm: float,
    grid: Grid,
    rules: Rules,
) -> list[GroovePlace]:
    """Squares between top and end that the grooves make, closed and standing open, falling.

    A groove opened by a gap g makes a square larger by g / sqrt2. On the dial the gaps are
    those that the screw can be set to; on a mesh they are spaced by equal area, with the
    sizes that take all that a passage may take. The largest groove may stand open a little
    to take a larger bar.
    """
    closed = sorted({g for g in grooves_mm if g < top_mm * (1 - 1e-9)}, reverse=True)
    if not closed:
        return []
    places = {g: GroovePlace(g, g, True) for g in closed}
    roofs = [min(top_mm, closed[0] * (1 + rules.groove_open_most)), *closed]
    full = _full_passages([top_mm, *closed], closed[-1], rules) if grid.ratio else []
    for roof, groove in zip(roofs, closed, strict=False):
        most = min(roof, groove * _OPEN_MOST)
        sides = _open_sides(groove, roof, step_mm, grid, rules)
        sides += [side for side in full if groove < side < roof]
        for side in sides:
            if groove * (1 + 1e-6) < side <= most * (1 - 1e-9):
                places.setdefault(side, GroovePlace(side, groove, False))
    kept = [place for side, place in places.items() if side >= end_mm * (1 - 1e-9)]
    return sorted(kept, key=lambda place: -place.side_mm)


def _open_sides(
    groove: float, roof: float, step_mm: float, grid: Grid, rules: Rules
) -> list[float]:
    if grid.ratio is None:
        step = step_mm / math.sqrt(2)
        return [groove + j * step for j in range(1, math.ceil((roof - groove) / step))]
    parts = int(grid.half_open if grid.half_open is not None else rules.half_open_sizes) + 1
    return [math.sqrt(groove**2 + (roof**2 - groove**2) * j / parts) for j in range(1, parts)]


def _full_passages(starts: list[float], end_mm: float, rules: Rules) -> list[float]:
    """Squares after 1, 2, 3... passages that each take all that fins allow, from each start."""
    ratio = math.sqrt(1 - rules.fin_reduction)
    sides = []
    for start in starts:
        side = start * ratio
        while side > end_mm and side > start * _LEG_END:
            sides.append(side)
            side *= ratio
    return sides
