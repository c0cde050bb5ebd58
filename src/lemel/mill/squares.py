"""Nodes for square bar and for wire: grooves, squares turned on the flats, holes of the plate."""

from __future__ import annotations

import math

from lemel.mill.bench import Bench
from lemel.mill.drawing import area_drawn_square_mm2
from lemel.mill.graph import Graph, Link, Node
from lemel.mill.grid import Grid, groove_places
from lemel.mill.piece import Piece
from lemel.mill.rules import Rules

__all__ = ["add_rounds", "add_squares"]


def add_squares(
    graph: Graph,
    piece: Piece,
    bench: Bench,
    rules: Rules,
    grid: Grid,
    end_mm: float,
    hammer: bool,
    exact: tuple[float, ...] = (),
) -> range:
    """Squares below the start (node 0) down to `end_mm`, and the tools that make them.

    A rod enters the grooves as the square of equal area. Returns the range of squares.
    """
    top = math.sqrt(piece.area_mm2 / rules.corner_factor)
    start = graph.nodes[0]

    def node(side: float, tool: float, closed: bool) -> Node:
        area = rules.corner_factor * side * side
        depth = math.log(piece.area_mm2 / area)
        return Node("square", side, side, area, depth, tool, start.volume_mm3, closed)

    grooves = [g for g in bench.grooves_mm if g < top * (1 - 1e-9)]
    over = (
        []
        if grooves and top <= grooves[0] * (1 + rules.groove_open_most)
        else _turned_sizes(top, max(grooves[0] if grooves else end_mm, end_mm), exact)
    )
    places = groove_places(grooves, over[-1] if over else top, end_mm, grid, rules)
    turned = graph.add(*(node(side, side, True) for side in over))
    grooved = graph.add(*(node(p.side_mm, p.groove_mm, p.closed) for p in places))
    squares = range(turned.start, grooved.stop)
    sources = range(turned.start, grooved.stop)
    rollable = bench.mill is not None and start.height_mm <= bench.mill.opening_mm
    for tool, mill, targets in (
        ("turned", bench.mill, turned),
        ("groove", bench.groove_mill, grooved),
    ):
        if mill is None:
            continue
        if rollable and piece.shape in ("square", "round"):
            graph.run(tool, mill, range(1), targets)
        graph.run(tool, mill, sources, targets)
    if hammer or piece.shape == "disc":
        graph.run("hammer", None, range(1), squares)
    if hammer:
        graph.run("hammer", None, sources, squares)
    return squares


def _turned_sizes(top: float, end: float, exact: tuple[float, ...]) -> list[float]:
    """Squares between top and end by steps of about 3 %, ending on the end itself."""
    steps = max(1, math.ceil(math.log(top / end) / 0.03)) if top > end * (1 + 1e-9) else 0
    sizes = {end * (top / end) ** (i / steps) for i in range(steps)} if steps else set()
    sizes |= {x for x in exact if end <= x < top * (1 - 1e-9)}
    return sorted(sizes, reverse=True)


def add_rounds(
    graph: Graph, squares: range, bench: Bench, rules: Rules, end_mm: float, from_round: bool
) -> dict[float, int]:
    """Holes of the plate down to `end_mm`: squares lose their corners, then rounds.

    A square may enter the plate only if the least draw to a clean round is still ahead of
    it, and only closed. Returns node by hole.
    """
    holes = [d for d in bench.holes_mm if d >= end_mm * (1 - 1e-9)]
    entries = [i for i in squares if graph.nodes[i].closed]
    if not from_round and graph.nodes[0].shape == "square":
        entries = [0, *entries]
    final = math.pi / 4 * end_mm * end_mm
    entries = [i for i in entries if final <= graph.nodes[i].area_mm2 * (1 - rules.draw_least)]
    corners: list[tuple[int, list[int]]] = []
    for i in entries:
        drawn = [_corner(graph.nodes[i], d) for d in holes if d > graph.nodes[i].height_mm]
        touched = [node for node in drawn if node.area_mm2 < graph.nodes[i].area_mm2 * 0.995]
        corners.append((i, list(graph.add(*touched))))
    base = graph.nodes[0]
    rounds = {d: graph.add(_round(base, d))[0] for d in holes if _round(base, d).depth > 1e-9}
    for i, cut in corners:
        side = graph.nodes[i].height_mm
        below = [rounds[d] for d in holes if d <= side and d in rounds]
        _link_chain(graph, [i, *cut, *below], len(cut) + 1, rules)
    chain = [rounds[d] for d in holes if d in rounds]
    _link_chain(graph, [0, *chain] if from_round else chain, len(chain) + 1, rules)
    return rounds


def _corner(node: Node, hole_mm: float) -> Node:
    side = node.height_mm
    area = min(node.area_mm2, area_drawn_square_mm2(side, hole_mm))
    depth = node.depth + math.log(node.area_mm2 / area)
    return Node("corner", side, side, area, depth, hole_mm, node.volume_mm3)


def _round(base: Node, hole_mm: float) -> Node:
    area = math.pi / 4 * hole_mm * hole_mm
    return Node(
        "round", hole_mm, hole_mm, area, math.log(base.area_mm2 / area), hole_mm, base.volume_mm3
    )


def _link_chain(graph: Graph, chain: list[int], sources: int, rules: Rules) -> None:
    """From each of the first `sources`: the next hole, or the one after where little is taken."""
    for k, source in enumerate(chain[:sources]):
        for ahead, most in ((1, rules.hole_reduction_next), (2, rules.hole_reduction_skip)):
            if k + ahead < len(chain):
                graph.links.append(Link(source, chain[k + ahead], "hole", 0.0, most))
