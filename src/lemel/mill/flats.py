"""Nodes for strip and sheet between the flats: the width follows the thickness."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lemel.mill.bench import Bench
from lemel.mill.graph import Graph, Link, Node
from lemel.mill.grid import Grid, heights
from lemel.mill.rules import Rules
from lemel.mill.spread import width_rolled_mm

__all__ = ["Flat", "add_sheet_ways", "add_strip"]


@dataclass(frozen=True, slots=True)
class Flat:
    """What the flat families share: the bench, the figures, the mesh, the spread factor, the
    strains of the temper window (for exact anneal points), and whether to hammer too."""

    bench: Bench
    rules: Rules
    grid: Grid
    spread_factor: float
    window: tuple[float, float] | None
    hammer: bool

    @property
    def step_mm(self) -> float:
        """What the screw can be set to."""
        return self.bench.mill.gap_step_mm if self.bench.mill else 0.1

    @property
    def widest_mm(self) -> float:
        """The widest sheet that the rolls take."""
        mill = self.bench.mill
        return mill.barrel_mm - self.rules.barrel_margin_mm if mill else 0.0

    def too_wide(self, width: float) -> bool:
        """Whether the rolls cannot take it; a hammer takes any width."""
        return width > self.widest_mm and not self.hammer

    def width_mm(self, width: float, h_in: float, h_out: float) -> float:
        """Width after rolling down; a hammer is led so that the width is kept."""
        mill = self.bench.mill
        if mill is None or h_out >= h_in:
            return width
        return width_rolled_mm(width, h_in, h_out, mill.roll_r_mm, self.spread_factor, self.rules)


def add_strip(
    graph: Graph,
    flat: Flat,
    entry: int,
    end_mm: float,
    exact: tuple[float, ...] = (),
    across_mm: float | None = None,
) -> range:
    """A family of flats from the node `entry` down to `end_mm`.

    `across_mm`: the side that lies across the rolls (None: the node's own width). The
    length is what volume leaves.
    """
    at = graph.nodes[entry]
    width = at.width_mm if across_mm is None else across_mm
    fill = at.area_mm2 / (at.height_mm * at.width_mm)
    if at.shape not in ("flat", "square"):
        # A round or a button flattens as the rectangle of equal area and height.
        width, fill = width * fill / flat.rules.corner_factor, flat.rules.corner_factor
    if flat.window:
        exact = (*exact, *(end_mm * math.exp(e) for e in flat.window if e < 9))
    nodes: list[Node] = []
    above = at.height_mm
    for height in heights(at.height_mm, end_mm, flat.step_mm, flat.grid, exact):
        width = flat.width_mm(width, above, height)
        depth = at.depth + math.log(at.height_mm / height)
        cell = at.cell if height == at.height_mm else math.log(above / height)
        if height == end_mm or height in exact:
            cell = 0.0
        nodes.append(
            Node("flat", height, width, fill * width * height, depth, height, at.volume_mm3,
                 True, at.pieces, cell)
        )  # fmt: skip
        above = height
    family = graph.add(*nodes)
    graph.links.append(Link(entry, family.start, "enter"))
    _run_flats(graph, flat, family)
    return family


def _run_flats(graph: Graph, flat: Flat, family: range) -> None:
    mill = flat.bench.mill
    inside = family.start
    if mill is not None:
        fits = [
            i
            for i in family
            if graph.nodes[i].width_mm <= flat.widest_mm
            and graph.nodes[i].height_mm <= mill.opening_mm
        ]
        if fits:
            inside = fits[0]
            graph.run("flats", mill, range(inside, fits[-1]), range(inside + 1, fits[-1] + 1))
    if flat.hammer:
        least = flat.rules.hammer_least_mm
        thick = [i for i in family if graph.nodes[i].height_mm >= least]
        if thick:
            graph.run("hammer", None, family, range(family.start, thick[-1] + 1))


def add_sheet_ways(
    graph: Graph,
    flat: Flat,
    thickness_mm: float,
    need_mm: tuple[float, float],
    entry: int = 0,
) -> list[int]:
    """All ways to lay the plate into the rolls for a sheet of at least these two sides.

    Either side across; straight through, or lengthened first until it is as wide as the
    sheet must be, then turned. The sides hold trims and crops already. Returns the nodes
    of the finished sheets.
    """
    start = graph.nodes[entry]
    if start.height_mm < thickness_mm * (1 - 1e-9):
        return []
    fill = start.area_mm2 / (start.height_mm * start.width_mm)
    sides = (start.width_mm, start.length_mm)
    ends: dict[tuple[float, float], int | None] = {}
    for across_need, along_need in (need_mm, need_mm[::-1]):
        for across, along in (sides, sides[::-1]):
            lay = _Lay(entry, thickness_mm, across, along, fill, across_need, along_need)
            if (across, 0.0) not in ends:
                end = _straight(graph, flat, lay)
                if end is not None:
                    ends[across, 0.0] = end
            if along < across_need and (across, across_need) not in ends:
                ends[across, across_need] = _turned(graph, flat, lay)
    return [end for end in ends.values() if end is not None]


@dataclass(frozen=True, slots=True)
class _Lay:
    """How a plate lies: its sides across and along the rolls, and what is wanted."""

    entry: int
    thickness: float
    across: float
    along: float
    fill: float
    across_need: float
    along_need: float


def _straight(graph: Graph, flat: Flat, lay: _Lay) -> int | None:
    start = graph.nodes[lay.entry]
    wide = flat.width_mm(lay.across, start.height_mm, lay.thickness)
    length = start.volume_mm3 / (lay.fill * wide * lay.thickness)
    if wide < lay.across_need - 1e-9 or length < lay.along_need - 1e-9 or flat.too_wide(wide):
        return None
    return add_strip(graph, flat, lay.entry, lay.thickness, across_mm=lay.across)[-1]


def _turned(graph: Graph, flat: Flat, lay: _Lay) -> int | None:
    start = graph.nodes[lay.entry]
    turn_at = _turn_thickness(flat, start, lay)
    if turn_at is None or turn_at <= lay.thickness * (1 + 1e-6):
        return None
    if start.volume_mm3 / (lay.fill * lay.across_need * lay.thickness) < lay.along_need - 1e-9:
        return None
    wide = flat.width_mm(lay.across, start.height_mm, turn_at)
    if flat.too_wide(wide) or flat.too_wide(lay.across_need):
        return None
    first = add_strip(graph, flat, lay.entry, turn_at, across_mm=lay.across)
    last = graph.nodes[first[-1]]
    area = last.volume_mm3 / last.width_mm
    turned = graph.add(
        Node("flat", turn_at, last.length_mm, area, last.depth, turn_at, last.volume_mm3)
    )
    graph.links.append(Link(first[-1], turned[0], "turn"))
    return add_strip(graph, flat, turned[0], lay.thickness)[-1]


def _turn_thickness(flat: Flat, start: Node, lay: _Lay) -> float | None:
    """Thickness at which the piece has grown as long as the sheet is wide, by bisection."""
    lo, hi = start.height_mm / 50, start.height_mm
    for _ in range(50):
        mid = (lo + hi) / 2
        wide = flat.width_mm(lay.across, start.height_mm, mid)
        long = start.volume_mm3 / (lay.fill * wide * mid)
        lo, hi = (lo, mid) if long < lay.across_need else (mid, hi)
    return hi if hi > start.height_mm / 49 else None
