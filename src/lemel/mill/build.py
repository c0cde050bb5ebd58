"""From a piece of metal and a need to the graph in which the route is searched."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from lemel.mill.bench import Bench
from lemel.mill.discs import add_discs
from lemel.mill.flats import Flat, add_sheet_ways, add_strip
from lemel.mill.graph import Finish, Graph, Link, Node, Terminal
from lemel.mill.grid import Grid
from lemel.mill.matter import Matter
from lemel.mill.piece import Piece
from lemel.mill.plates import NEAR_SQUARE, add_bars, cut_minutes
from lemel.mill.rules import Rules
from lemel.mill.squares import add_rounds, add_square_holes, add_squares
from lemel.values import StockNeed, Temper

__all__ = ["Task", "build"]

#: Height of the block that a button is hammered to, as a share of the button's.
_BLOCK_HEIGHT = 0.85


@dataclass(frozen=True, slots=True)
class Task:
    """Everything the graph depends on."""

    piece: Piece
    need: StockNeed
    bench: Bench
    matter: Matter
    rules: Rules
    grid: Grid
    spread_factor: float
    hammer: bool = False
    bound: bool = False
    suspect: bool = False

    @property
    def window(self) -> tuple[float, float] | None:
        """The temper as a window of strain; None where none is asked or it must be soft."""
        temper: Temper | None = self.need.temper
        if temper is None or temper.kind == "soft":
            return None
        return self.matter.window(temper)

    @property
    def flat(self) -> Flat:
        """What flat families need."""
        return Flat(self.bench, self.rules, self.grid, self.spread_factor, self.window, self.hammer)


def build(task: Task) -> Graph:
    """The graph of all ways that the bench knows from the piece to the need."""
    piece, kind = task.piece, task.need.section.kind
    graph = Graph(soft_depth=-piece.strain, cast=piece.cast, unknown=piece.unknown)
    graph.add(_start(piece))
    if kind == "flat" and task.need.area_mm is not None:
        _sheet(graph, task)
    elif kind in ("flat", "half_round", "oval"):
        _strip(graph, task)
    elif kind == "square":
        _square(graph, task)
    else:
        _round(graph, task)
    return graph


def _start(piece: Piece) -> Node:
    return Node(
        piece.shape, piece.height_mm, piece.width_mm, piece.area_mm2, 0.0, piece.height_mm,
        piece.volume_mm3,
    )  # fmt: skip


def _square_entries(graph: Graph, task: Task) -> list[int]:
    """Where square bar may begin: the bar itself, or a plate cut into bars."""
    piece = task.piece
    if piece.shape != "flat" or piece.width_mm < NEAR_SQUARE * piece.height_mm:
        return [0]
    bars = add_bars(graph, task.need, task.rules)
    return [] if bars is None else [bars]


def _round(graph: Graph, task: Task) -> None:
    need, rules, piece = task.need, task.rules, task.piece
    want = need.section.dim("diameter")
    if piece.shape == "round" and abs(piece.height_mm - want) <= need.tolerance_mm:
        graph.terminals.append(Terminal(0, Finish()))
    good = [d for d in task.bench.holes_mm if abs(d - want) <= need.tolerance_mm + 1e-9]
    if not good:
        return
    end = min(good, key=lambda d: (abs(d - want), d))
    final = math.pi / 4 * end * end
    least = math.sqrt(final / (1 - rules.draw_least) / rules.corner_factor)
    for entry in _square_entries(graph, task):
        if graph.nodes[entry].area_mm2 <= final:
            continue
        squares = _squares(graph, task, entry, least)
        quick = task.grid.coarse > 1
        rounds = add_rounds(graph, entry, squares, task.bench, rules, end, quick=quick)
        if end in rounds:
            graph.terminals.append(Terminal(rounds[end], Finish()))


def _squares(
    graph: Graph, task: Task, entry: int, end_mm: float, exact: tuple[float, ...] = ()
) -> range:
    return add_squares(
        graph, entry, task.bench, task.rules, task.grid, end_mm, hammer=task.hammer, exact=exact
    )


def _square(graph: Graph, task: Task) -> None:
    want, slack = task.need.section.dim("side"), task.need.tolerance_mm
    piece = task.piece
    if piece.shape == "square" and abs(piece.height_mm - want) <= slack:
        graph.terminals.append(Terminal(0, Finish()))
    for entry in _square_entries(graph, task):
        squares = _squares(graph, task, entry, want, (want,))
        near = [i for i in squares if abs(graph.nodes[i].height_mm - want) <= slack]
        # A square that is left half open has blunt corners: it is taken only for want of better.
        ends = [i for i in near if graph.nodes[i].closed] or near
        graph.terminals.extend(Terminal(i, Finish()) for i in ends)
        drawn = add_square_holes(graph, entry, squares, task.bench, task.rules, want, slack)
        graph.terminals.extend(Terminal(i, Finish()) for i in drawn)


def _strip(graph: Graph, task: Task) -> None:
    """Strip from square bar that spreads to the width, or slit from wider sheet.

    Half round and oval are made from the strip that just holds them: drawn through such
    a hole where the plate has one, filed otherwise.
    """
    wide, thick = task.need.section.width_mm, _thickness(task)
    piece, start = task.piece, graph.nodes[0]
    if start.height_mm < thick * (1 - 1e-9):
        return
    if piece.shape == "flat":
        family = add_strip(graph, task.flat, 0, thick)
        _end_strip(graph, task, family, wide)
        if piece.length_mm > wide and piece.length_mm > piece.width_mm:
            across = add_strip(graph, task.flat, 0, thick, across_mm=piece.length_mm)
            _end_strip(graph, task, across, wide)
        return
    least = max(math.sqrt(thick * wide) * 0.8, thick)
    squares = _squares(graph, task, 0, least)
    entries = list(squares) if piece.shape == "disc" else [0, *squares]
    for i in _entries_for(graph, task, entries, thick, wide):
        family = add_strip(graph, task.flat, i, thick)
        _end_strip(graph, task, family, wide)


def _entries_for(
    graph: Graph, task: Task, squares: list[int], thick: float, wide: float
) -> list[int]:
    """Squares that spread to the width or little more; the least of those that spread further.

    A square that stands half open may go on to the flats: they level what the groove left.
    """
    flat, nodes = task.flat, graph.nodes
    comes = {
        i: flat.width_mm(nodes[i].width_mm, nodes[i].height_mm, thick)
        for i in squares
        if nodes[i].height_mm > thick
    }
    enough = [i for i, width in comes.items() if width >= wide - _slack_mm(task, wide)]
    if task.bound and len(enough) < len(comes):
        # The next smaller square stands for sizes up to the last that spreads enough.
        enough.append(next(i for i in comes if i not in enough))
    near = [i for i in enough if comes[i] <= wide * (1 + task.rules.width_over)]
    if task.bound:
        return near or enough[-1:]
    tried = _spread_over(near, int(task.rules.entries_most)) or enough[-1:]
    # A quick look takes every other one: what it finds, the full search finds as well.
    return tried if task.grid.coarse == 1 else tried[::2]


def _spread_over(items: list[int], most: int) -> list[int]:
    """At most so many of the items, both ends among them, evenly between."""
    if len(items) <= most:
        return items
    places = {round(i * (len(items) - 1) / (most - 1)) for i in range(most)}
    return [items[i] for i in sorted(places)]


def _slack_mm(task: Task, wide_mm: float) -> float:
    return max(task.need.tolerance_mm, 0.02 * wide_mm)


def _end_strip(graph: Graph, task: Task, family: range, wide_mm: float) -> None:
    """The strip is wide enough: trim or slit it, and finish half rounds and ovals."""
    node, rules = graph.nodes[family[-1]], task.rules
    slack = _slack_mm(task, wide_mm)
    if task.bound:
        node = replace(node, width_mm=max(node.width_mm, wide_mm))
    if node.width_mm < wide_mm - slack:
        return
    room = math.floor((node.width_mm + rules.saw_kerf_mm + slack) / (wide_mm + rules.saw_kerf_mm))
    count = max(1, min(room, _strips_wanted(task, node)))
    over = node.width_mm - count * wide_mm > slack
    finish = Finish()
    if over or count > 1:
        cuts = count if over else count - 1
        minutes = cuts * cut_minutes(node.length_mm, node.height_mm, rules)
        left = node.width_mm - count * wide_mm
        if left < wide_mm:
            # A sliver is only good for melting: better come out right.
            sliver = left * node.height_mm * node.length_mm * task.matter.density_g_cm3 / 1000
            minutes += sliver * rules.trim_min_g
        finish = Finish("slit", count, min(1.0, count * wide_mm / node.width_mm), 0.0, minutes)
    kind = task.need.section.kind
    if kind in ("half_round", "oval"):
        _end_shaped(graph, task, family[-1], finish)
        return
    graph.terminals.append(Terminal(family[-1], finish))


def _strips_wanted(task: Task, node: Node) -> int:
    """Strips of this length that cover the need; the rest stays one wide piece."""
    length = node.length_mm - 2 * task.rules.crop_mm
    need = task.need
    if need.length_mm is None or length <= 0:
        return 1
    each = need.length_mm / need.count
    if need.count == 1 or length < each:
        return math.ceil(need.length_mm / length - 1e-9)
    return math.ceil(need.count / math.floor(length / each + 1e-9) - 1e-9)


def _end_shaped(graph: Graph, task: Task, node: int, finish: Finish) -> None:
    """Draw through a hole of that shape, or file the strip round."""
    want = task.need.section
    from_node = graph.nodes[node]
    hole = next(
        (
            h
            for h in task.bench.shaped
            if h.kind == want.kind
            and abs(h.thickness_mm - want.thickness_mm) <= task.need.tolerance_mm
            and abs(h.width_mm - want.width_mm) <= 2 * task.need.tolerance_mm
        ),
        None,
    )
    if hole is not None and finish.kind == "none":
        area = hole.area_mm2
        depth = from_node.depth + max(0.0, math.log(from_node.area_mm2 / area))
        drawn = graph.add(
            Node(want.kind, hole.dim("height"), hole.dim("width"), area, depth, hole.width_mm,
                 from_node.volume_mm3)
        )[0]  # fmt: skip
        most = task.rules.hole_reduction_next
        graph.links.append(Link(node, drawn, "hole", 0.0, most))
        graph.terminals.append(Terminal(drawn, Finish()))
    filed = 1 - math.pi / 4
    wanted = want.thickness_mm * want.width_mm * (task.need.length_mm or from_node.length_mm)
    minutes = finish.minutes
    minutes += wanted * task.matter.density_g_cm3 / 1000 * filed / task.rules.file_g_min
    graph.terminals.append(
        Terminal(node, Finish("file", finish.pieces, finish.keep, filed, minutes))
    )


def _thickness(task: Task) -> float:
    """The thickness to roll to: that of the bar itself where it is within the tolerance."""
    want, have = task.need.section.thickness_mm, task.piece.height_mm
    close = abs(have - want) <= task.need.tolerance_mm and task.piece.shape == "flat"
    return have if close and task.window is None else want


def _sheet(graph: Graph, task: Task) -> None:
    need, rules = task.need, task.rules
    assert need.area_mm is not None
    along, across = need.area_mm
    trims = (along + 2 * rules.crop_mm, across + 2 * rules.edge_trim_mm)
    thick = _thickness(task)
    piece, start = task.piece, graph.nodes[0]
    if (
        piece.shape == "flat"
        and abs(start.height_mm - need.section.thickness_mm) <= need.tolerance_mm
        and min(start.width_mm, start.length_mm) >= min(along, across)
        and max(start.width_mm, start.length_mm) >= max(along, across)
    ):
        graph.terminals.append(Terminal(0, Finish()))
    entry = _block(graph, task) if piece.shape == "disc" else 0
    if entry is not None:
        ends = add_sheet_ways(graph, task.flat, thick, trims, entry)
        graph.terminals.extend(Terminal(end, Finish()) for end in ends)
    if need.disc_mm is not None:
        add_discs(graph, task.flat, need.disc_mm, thick, entry)


def _block(graph: Graph, task: Task) -> int | None:
    """A button hammered to a block with square corners, fit for the rolls."""
    start = graph.nodes[0]
    height = start.height_mm * _BLOCK_HEIGHT
    if height <= task.need.section.thickness_mm:
        return None
    side = math.sqrt(start.volume_mm3 / height)
    block = graph.add(
        Node("flat", height, side, height * side, -math.log(_BLOCK_HEIGHT), height,
             start.volume_mm3)
    )  # fmt: skip
    graph.run("hammer", None, range(1), block)
    return block[0]
