"""From a piece of metal and a need to the graph in which the route is searched."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lemel.mill.bench import Bench
from lemel.mill.flats import Flat, add_sheet_ways, add_strip
from lemel.mill.graph import Finish, Graph, Link, Node, Terminal
from lemel.mill.grid import Grid
from lemel.mill.matter import Matter
from lemel.mill.piece import Piece
from lemel.mill.rules import Rules
from lemel.mill.squares import add_rounds, add_squares
from lemel.values import StockNeed, Temper

__all__ = ["Task", "build"]


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


def _near_square(piece: Piece) -> bool:
    return piece.shape in ("square", "round", "disc") or piece.width_mm < 1.35 * piece.height_mm


def _squares(graph: Graph, task: Task, end_mm: float, exact: tuple[float, ...] = ()) -> range:
    """Square bar from whatever lies there; a plate is first cut into bars."""
    piece = task.piece
    if not _near_square(piece):
        return range(0)
    return add_squares(graph, piece, task.bench, task.rules, task.grid, end_mm, task.hammer, exact)


def _round(graph: Graph, task: Task) -> None:
    need, rules = task.need, task.rules
    want = need.section.dim("diameter")
    good = [d for d in task.bench.holes_mm if abs(d - want) <= need.tolerance_mm + 1e-9]
    piece = task.piece
    if piece.shape == "round" and abs(piece.height_mm - want) <= need.tolerance_mm:
        graph.terminals.append(Terminal(0, Finish()))
    if not good:
        return
    end = min(good, key=lambda d: (abs(d - want), d))
    least = math.sqrt(math.pi / 4 * end * end / (1 - rules.draw_least) / rules.corner_factor)
    squares = _squares(graph, task, least) if piece.area_mm2 > math.pi / 4 * end * end else range(0)
    rounds = add_rounds(graph, squares, task.bench, rules, end, piece.shape == "round")
    if end in rounds:
        graph.terminals.append(Terminal(rounds[end], Finish()))


def _square(graph: Graph, task: Task) -> None:
    want = task.need.section.dim("side")
    piece = task.piece
    if piece.shape == "square" and abs(piece.height_mm - want) <= task.need.tolerance_mm:
        graph.terminals.append(Terminal(0, Finish()))
    squares = _squares(graph, task, want, (want,))
    near = [i for i in squares if abs(graph.nodes[i].height_mm - want) <= task.need.tolerance_mm]
    for i in near:
        graph.terminals.append(Terminal(i, Finish()))


def _strip(graph: Graph, task: Task) -> None:
    """Strip from square bar that spreads to the width, or slit from wider sheet.

    Half round and oval are made from the strip that just holds them: drawn through such
    a hole where the plate has one, filed otherwise.
    """
    section = task.need.section
    thick = section.thickness_mm
    wide = section.width_mm
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
    flat = task.flat
    least = math.sqrt(thick * wide) * 0.8
    squares = _squares(graph, task, max(least, thick))
    entries = [i for i in squares if graph.nodes[i].closed]
    for i in ([0] if piece.shape in ("square", "round") else []) + entries:
        side = graph.nodes[i].height_mm
        if side > thick and flat.width_mm(graph.nodes[i].width_mm, side, thick) >= wide * 0.98:
            family = add_strip(graph, flat, i, thick)
            _end_strip(graph, task, family, wide)


def _end_strip(graph: Graph, task: Task, family: range, wide_mm: float) -> None:
    """The strip is wide enough: trim or slit it, and finish half rounds and ovals."""
    node, rules = graph.nodes[family[-1]], task.rules
    slack = max(task.need.tolerance_mm, 0.02 * wide_mm)
    if node.width_mm < wide_mm - slack:
        return
    room = math.floor((node.width_mm + rules.saw_kerf_mm + slack) / (wide_mm + rules.saw_kerf_mm))
    count = max(1, min(room, _strips_wanted(task, node)))
    over = node.width_mm - count * wide_mm > slack
    finish = Finish()
    if over or count > 1:
        cuts = count if over else count - 1
        finish = Finish("slit", count, min(1.0, count * wide_mm / node.width_mm), 0.0,
                        cuts * _cut_minutes(node.length_mm, node.height_mm, rules))  # fmt: skip
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


def _cut_minutes(length_mm: float, thickness_mm: float, rules: Rules) -> float:
    if thickness_mm <= rules.shear_mm:
        return length_mm / rules.shear_mm_min
    return length_mm * thickness_mm / rules.saw_mm2_min


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


def _sheet(graph: Graph, task: Task) -> None:
    need, rules = task.need, task.rules
    assert need.area_mm is not None
    along, across = need.area_mm
    trims = (along + 2 * rules.crop_mm, across + 2 * rules.edge_trim_mm)
    thick = need.section.thickness_mm
    piece, start = task.piece, graph.nodes[0]
    done = abs(start.height_mm - thick) <= need.tolerance_mm and piece.shape == "flat"
    if (
        done
        and min(start.width_mm, start.length_mm) >= min(along, across)
        and max(start.width_mm, start.length_mm) >= max(along, across)
    ):
        graph.terminals.append(Terminal(0, Finish()))
    if piece.shape == "disc":
        _button_to_plate(graph, task, trims)
    else:
        add_sheet_ways(graph, task.flat, thick, trims)


def _button_to_plate(graph: Graph, task: Task, trims: tuple[float, float]) -> None:
    """A button is forged to a block with sides in the ratio of the sheet, then rolled."""
    start = graph.nodes[0]
    thick = min(start.height_mm * 0.85, start.height_mm)
    block = math.sqrt(start.volume_mm3 / thick)
    if thick < task.need.section.thickness_mm:
        return
    graph.nodes[0] = Node(
        "disc", start.height_mm, block, start.volume_mm3 / block, 0.0, start.height_mm,
        start.volume_mm3,
    )  # fmt: skip
    add_sheet_ways(
        graph,
        Flat(task.bench, task.rules, task.grid, task.spread_factor, task.window, True),
        task.need.section.thickness_mm,
        trims,
    )
