"""Nodes for square bar and for wire: grooves, squares turned on the flats, holes of the plate."""

from __future__ import annotations

import math
from itertools import pairwise

from lemel.mill.bench import Bench
from lemel.mill.drawing import area_drawn_square_mm2
from lemel.mill.graph import Graph, Link, Node
from lemel.mill.grid import Grid, groove_places
from lemel.mill.rules import Rules

__all__ = ["add_rounds", "add_square_holes", "add_squares"]


def add_squares(
    graph: Graph,
    entry: int,
    bench: Bench,
    rules: Rules,
    grid: Grid,
    end_mm: float,
    *,
    hammer: bool,
    exact: tuple[float, ...] = (),
) -> range:
    """Squares below the node `entry` down to `end_mm`, and the tools that make them.

    A rod or a near-square enters as the square of equal area; a button is hammered to one.
    Returns the range of squares, without the entry.
    """
    at = graph.nodes[entry]
    top = math.sqrt(at.area_mm2 / rules.corner_factor)

    def node(side: float, tool: float, closed: bool, above: float = 0.0) -> Node:
        area = rules.corner_factor * side * side
        depth = at.depth + math.log(at.area_mm2 / area)
        cell = 2 * math.log(above / side) if above else 0.0
        return Node("square", side, side, area, depth, tool, at.volume_mm3, closed, at.pieces, cell)

    grooves = [g for g in bench.grooves_mm if g < top * (1 - 1e-9)]
    fits = bool(grooves) and top <= grooves[0] * (1 + rules.groove_open_most)
    over = [] if fits else _turned_sizes(top, max([*grooves[:1], end_mm]), grid.turned, exact)
    places = groove_places(grooves, over[-1] if over else top, end_mm, _step_mm(bench), grid, rules)
    free = not rules.close_grooves
    turned = graph.add(
        *(node(s, s, True, 0.0 if s == end_mm else u) for u, s in pairwise([top, *over]))
    )
    sides = [over[-1] if over else top, *(p.side_mm for p in places)]
    grooved = graph.add(
        *(
            node(p.side_mm, p.groove_mm, p.closed or free, 0.0 if p.closed and not free else above)
            for above, p in zip(sides, places, strict=False)
        )
    )
    squares = range(turned.start, grooved.stop)
    _square_tools(graph, entry, bench, turned, grooved, hammer)
    return squares


def _square_tools(
    graph: Graph, entry: int, bench: Bench, turned: range, grooved: range, hammer: bool
) -> None:
    """What takes the entry and each square to a smaller one."""
    at, squares = graph.nodes[entry], range(turned.start, grooved.stop)
    for tool, mill, targets in (
        ("turned", bench.mill, turned),
        ("groove", bench.groove_mill, grooved),
    ):
        if mill is None:
            continue
        if at.height_mm <= mill.opening_mm and at.shape != "disc":
            graph.run(tool, mill, range(entry, entry + 1), targets)
        inside = [i for i in squares if graph.nodes[i].height_mm <= mill.opening_mm]
        if inside:
            graph.run(tool, mill, range(inside[0], squares.stop), targets)
    if hammer or at.shape == "disc":
        graph.run("hammer", None, range(entry, entry + 1), squares)
    if hammer:
        graph.run("hammer", None, squares, squares)


def _step_mm(bench: Bench) -> float:
    """What the screw of the grooved rolls can be set to."""
    return bench.groove_mill.gap_step_mm if bench.groove_mill else 0.05


def _turned_sizes(top: float, end: float, ratio: float, exact: tuple[float, ...]) -> list[float]:
    """Squares between top and end by steps of about this ratio, ending on the end itself."""
    if top <= end * (1 + 1e-9):
        return []
    steps = max(1, math.ceil(math.log(top / end) / math.log(ratio)))
    sizes = {end * (top / end) ** (i / steps) for i in range(steps)}
    sizes |= {x for x in exact if end <= x < top * (1 - 1e-9)}
    return sorted(sizes, reverse=True)


def add_rounds(
    graph: Graph,
    entry: int,
    squares: range,
    bench: Bench,
    rules: Rules,
    end_mm: float,
    *,
    quick: bool = False,
) -> dict[float, int]:
    """Holes of the plate down to `end_mm`: squares lose their corners, then rounds.

    A square may enter the plate only if the least draw to a clean round is still ahead of
    it, and only where a leg may end; for a quick look, only as its tool makes it when
    closed. Returns node by hole.
    """
    holes = [d for d in bench.holes_mm if d >= end_mm * (1 - 1e-9)]
    start = graph.nodes[entry]
    closed = [i for i in squares if graph.nodes[i].closed]
    if quick:
        closed = [i for i in closed if graph.nodes[i].tool_mm == graph.nodes[i].height_mm]
    if start.shape == "square":
        closed = [entry, *closed]
    final = math.pi / 4 * end_mm * end_mm
    entries = [i for i in closed if final <= graph.nodes[i].area_mm2 * (1 - rules.draw_least)]
    corners: list[tuple[int, list[int]]] = []
    for i in entries:
        drawn = [_corner(graph.nodes[i], d) for d in holes if d > graph.nodes[i].height_mm]
        touched = [node for node in drawn if node.area_mm2 < graph.nodes[i].area_mm2 * 0.995]
        corners.append((i, list(graph.add(*touched))))
    smaller = [d for d in holes if math.pi / 4 * d * d < start.area_mm2 * (1 - 1e-9)]
    rounds = {d: graph.add(_round(start, d))[0] for d in smaller}
    for i, cut in corners:
        side = graph.nodes[i].height_mm
        below = [rounds[d] for d in holes if d <= side and d in rounds]
        _link_chain(graph, [i, *cut, *below], len(cut) + 1, rules)
    chain = list(rounds.values())
    _link_chain(graph, [entry, *chain] if start.shape == "round" else chain, len(chain) + 1, rules)
    return rounds


def add_square_holes(
    graph: Graph,
    entry: int,
    squares: range,
    bench: Bench,
    rules: Rules,
    end_mm: float,
    slack_mm: float,
) -> list[int]:
    """Square holes of the plate down to `end_mm`; the nodes that are the wanted square."""
    sides = sorted({h.dim("side") for h in bench.shaped if h.kind == "square"}, reverse=True)
    start = graph.nodes[entry]
    sides = [s for s in sides if s >= end_mm - slack_mm and s * s < start.area_mm2]
    holes = list(graph.add(*(_square_hole(start, side) for side in sides)))
    for i in (entry, *squares):
        node = graph.nodes[i]
        ahead = [h for h in holes if graph.nodes[h].area_mm2 < node.area_mm2]
        if ahead and node.closed and node.shape == "square":
            graph.links.append(Link(i, ahead[0], "hole", 0.0, rules.hole_reduction_next))
    _link_chain(graph, holes, len(holes), rules)
    return [h for h in holes if abs(graph.nodes[h].height_mm - end_mm) <= slack_mm]


def _square_hole(start: Node, side: float) -> Node:
    area = side * side
    depth = start.depth + math.log(start.area_mm2 / area)
    return Node("square", side, side, area, depth, side, start.volume_mm3, True, start.pieces)


def _corner(node: Node, hole_mm: float) -> Node:
    side = node.height_mm
    area = min(node.area_mm2, area_drawn_square_mm2(side, hole_mm))
    depth = node.depth + math.log(node.area_mm2 / area)
    return Node("corner", side, side, area, depth, hole_mm, node.volume_mm3, True, node.pieces)


def _round(base: Node, hole_mm: float) -> Node:
    area = math.pi / 4 * hole_mm * hole_mm
    depth = base.depth + math.log(base.area_mm2 / area)
    return Node("round", hole_mm, hole_mm, area, depth, hole_mm, base.volume_mm3, True, base.pieces)


def _link_chain(graph: Graph, chain: list[int], sources: int, rules: Rules) -> None:
    """From each of the first `sources`: the next hole, or the one after where little is taken."""
    for k, source in enumerate(chain[:sources]):
        for ahead, most in ((1, rules.hole_reduction_next), (2, rules.hole_reduction_skip)):
            if k + ahead < len(chain):
                graph.links.append(Link(source, chain[k + ahead], "hole", 0.0, most))
