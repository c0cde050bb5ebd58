"""From a path through the graph to the steps of a route, with the metal accounted for."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from lemel.mill.build import Task
from lemel.mill.faces import Step
from lemel.mill.graph import Finish, Graph, Node, Terminal
from lemel.mill.loads import Load, draw_load, groove_load, roll_load
from lemel.mill.search import Limits, Move, Path
from lemel.mill.yields import Cut, cut_of
from lemel.values import Bar, Quantity, Saying, Section

__all__ = ["Written", "section_of", "write"]

ROOT2 = math.sqrt(2)


@dataclass(frozen=True, slots=True)
class Written:
    """Steps and where the metal went: stock + offcuts + loss is the mass of the bar."""

    steps: tuple[Step, ...]
    stock: tuple[Bar, ...]
    offcuts: tuple[Bar, ...]
    loss_g: float
    cut: Cut
    passes: int
    anneals: int
    minutes: float


def section_of(node: Node) -> Section:
    """The section of a node; rounded corners as the share of the sharp section."""
    fill = min(1.0, node.area_mm2 / (node.height_mm * node.width_mm))
    if node.shape == "round":
        return Section.round(node.height_mm)
    if node.shape in ("half_round", "oval"):
        return Section.of(node.shape, {"height": node.height_mm, "width": node.width_mm})
    if node.shape in ("square", "corner"):
        return Section.square(node.height_mm, fill)
    return Section.of("flat", {"thickness": node.height_mm, "width": node.width_mm}, fill)


def write(task: Task, bar: Bar, graph: Graph, path: Path, limits: Limits) -> Written:
    """The path as steps that a bench hand can follow, in order."""
    scribe = _Scribe(task, bar, graph, limits)
    scribe.prepare()
    for move in path.moves:
        scribe.move(move)
    return scribe.finish(graph.terminals[path.terminal])


class _Scribe:
    """Writes the steps one by one and keeps the running state."""

    def __init__(self, task: Task, bar: Bar, graph: Graph, limits: Limits) -> None:
        self.task, self.bar, self.graph, self.limits = task, bar, graph, limits
        self.steps: list[Step] = []
        self.node = graph.nodes[0]
        self.soft_depth = graph.soft_depth
        self.soft_section: Section | None = bar.soft_section
        self.cast = graph.cast
        self.screw: float | None = None
        self.drawn = False

    def _add(self, tool: str, size: float, *, limit: str = "none", effort: str = "easy",
             load: Load | None = None, minutes: float = 0.0, passes: int = 0, off_g: float = 0.0,
             screw_turn: float | None = None, note: Saying | None = None,
             unknown: bool = False) -> None:  # fmt: skip
        strain = max(0.0, self.node.depth - self.soft_depth)
        self.steps.append(
            Step(
                len(self.steps) + 1, tool, size, section_of(self.node), self.node.width_mm,
                self.node.length_mm, strain, self.task.matter.hv(strain),
                float(load.force_n) if load else 0.0, float(load.torque_nm) if load else 0.0,
                limit, effort, passes, screw_turn, off_g, minutes, note,
            )
        )  # fmt: skip

    def prepare(self) -> None:
        """File the skin of an ingot."""
        piece, rules = self.task.piece, self.task.rules
        if piece.filed_g > 0:
            note = Saying("mill.note.file_skin", {"mass": Quantity(piece.filed_g, "g")})
            self._add("file", self.node.height_mm, minutes=rules.prepare_min, note=note)

    def move(self, move: Move) -> None:
        """One move of the path."""
        if move.tool == "enter":
            self.node = self.graph.nodes[move.target]
        elif move.tool == "anneal":
            self._anneal()
        elif move.tool == "turn":
            self.node = self.graph.nodes[move.target]
            note = Saying("mill.note.turn", {"width": Quantity(self.node.width_mm, "mm")})
            self._add("turn", self.node.height_mm, minutes=self.task.rules.turn_min, note=note)
            self.screw = None
        elif move.tool == "hammer":
            self._hammer(move)
        else:
            self._pass(move)

    def _anneal(self) -> None:
        matter, rules = self.task.matter, self.task.rules
        solidus = matter.segregated_solidus_c if self.cast else matter.solidus_c
        lo, hi = matter.working.anneal_c
        top = min(hi, solidus - rules.anneal_below_solidus_k)
        values = {
            "from": Quantity(min(lo, top), "degC"),
            "to": Quantity(top, "degC"),
            "never": Quantity(solidus, "degC"),
            "sign": matter.working.anneal_sign,
            "cooling": matter.working.cooling,
        }
        self.soft_depth, self.cast = self.node.depth, False
        self.soft_section = section_of(self.node)
        self.screw = None
        self._add("anneal", self.node.height_mm, minutes=rules.anneal_min,
                  note=Saying("mill.note.anneal", values))  # fmt: skip

    def _hammer(self, move: Move) -> None:
        before, rules, matter = self.node, self.task.rules, self.task.matter
        self.node = self.graph.nodes[move.target]
        e0, e1 = before.depth - self.soft_depth, self.node.depth - self.soft_depth
        joules = (matter.work_mpa(e1) - matter.work_mpa(e0)) * before.volume_mm3 / 1000
        blows = math.ceil(float(joules) / rules.hammer_j)
        note = Saying("mill.note.hammer", {"blows": Quantity(blows, "count")})
        limit = "strain" if e1 > rules.binds_at * self._strain_most() else "size"
        self._add("hammer", self.node.height_mm, limit=limit, effort="firm", passes=1,
                  minutes=rules.hammer_min + blows / rules.hammer_per_min, note=note)  # fmt: skip

    def _pass(self, move: Move) -> None:
        load = self.load(move)
        before, rules = self.node, self.task.rules
        self.node = self.graph.nodes[move.target]
        limit, share = self._binding(load)
        size, turn, note = self.node.tool_mm, None, None
        total = self.node.length_mm * self.node.pieces
        if move.tool == "hole":
            self.drawn = True
            minutes = rules.hole_min * self.node.pieces + total / rules.draw_feed_mm_s / 60
            pulls = math.ceil(self.node.length_mm / self.task.bench.stroke_mm)
            if pulls > 1:
                note = Saying("mill.note.grip_again", {"pulls": Quantity(pulls, "count")})
            effort = self._effort(float(load.shares["pull"]))
        else:
            assert move.mill is not None
            minutes = rules.pass_min * self.node.pieces + total / move.mill.feed_mm_s / 60
            effort = self._effort(float(load.torque_nm) / (move.mill.torque_nm * move.mill.comfort))
            if move.tool == "flats":
                turn = self._screw_turn(float(load.screw_mm), move.mill.lead_mm)
            else:
                note = self._groove_note(move.tool)
        tool = {"turned": "flats"}.get(move.tool, move.tool)
        last = self.steps[-1] if self.steps else None
        if tool == "groove" and last and last.tool == "groove" and last.size_mm == size:
            self._merge(last, load, limit, effort, minutes, note)
            return
        del before, share
        self._add(tool, size, limit=limit, effort=effort, load=load, minutes=minutes, passes=1,
                  screw_turn=turn, note=note)  # fmt: skip

    def _merge(self, last: Step, load: Load, limit: str, effort: str, minutes: float,
               note: Saying | None) -> None:  # fmt: skip
        """Two passages through one groove stand on one line."""
        self.steps.pop()
        self._add("groove", last.size_mm, limit=limit if limit != "none" else last.limit,
                  effort=max(effort, last.effort, key=("easy", "firm", "two_hands").index),
                  load=load, minutes=minutes + last.minutes, passes=last.passes + 1, note=note)  # fmt: skip
        self.steps[-1] = replace(
            self.steps[-1],
            force_n=max(last.force_n, self.steps[-1].force_n),
            torque_nm=max(last.torque_nm, self.steps[-1].torque_nm),
        )

    def load(self, move: Move) -> Load:
        """The load of a rolling or drawing move from the present node."""
        task, u = self.task, self.graph.nodes[move.target]
        v = self.node
        e0, e1 = v.depth - self.soft_depth, u.depth - self.soft_depth
        if move.tool == "hole":
            return draw_load(task.bench.pull_n, task.matter, task.rules, v.area_mm2, u.area_mm2,
                             e0, max(e1, e0 + 1e-9), move.reduction_most)  # fmt: skip
        assert move.mill is not None
        if move.tool == "flats":
            load = roll_load(move.mill, self.limits.comfort, task.matter, task.rules, v.height_mm,
                             u.height_mm, u.width_mm, v.area_mm2, u.area_mm2, e0, e1)  # fmt: skip
        else:
            load = groove_load(move.mill, self.limits.comfort, task.matter, task.rules,
                               v.height_mm, u.height_mm, v.area_mm2, u.area_mm2, e0, e1,
                               move.tool == "groove")  # fmt: skip
        return replace(load, screw_mm=u.height_mm - load.force_n / move.mill.modulus_n_mm)

    def _strain_most(self) -> float:
        return self.limits.cast_strain_most if self.cast else self.limits.strain_most

    def _binding(self, load: Load) -> tuple[str, float]:
        shares = {name: float(share) for name, share in load.shares.items()}
        shares["strain"] = (self.node.depth - self.soft_depth) / self._strain_most()
        name = max(shares, key=lambda key: shares[key])
        bound = shares[name] >= self.task.rules.binds_at
        return (name if bound else "none"), shares[name]

    def _effort(self, share: float) -> str:
        rules = self.task.rules
        if share <= rules.effort_easy:
            return "easy"
        return "firm" if share <= rules.effort_firm * (1 + 1e-6) else "two_hands"

    def _screw_turn(self, screw_mm: float, lead_mm: float) -> float | None:
        turn = None if self.screw is None else (self.screw - screw_mm) / lead_mm
        self.screw = screw_mm
        return turn

    def _groove_note(self, tool: str) -> Saying | None:
        self.screw = None
        if tool == "turned":
            return Saying("mill.note.turn_bar", {})
        gap = (self.node.height_mm - self.node.tool_mm) * ROOT2
        if gap > 0.01:
            return Saying("mill.note.half_open", {"gap": Quantity(gap, "mm")})
        return None

    def finish(self, terminal: Terminal) -> Written:
        """Cut, trim, crop; make the bars."""
        task, rules = self.task, self.task.rules
        passes = sum(step.passes for step in self.steps)
        anneals = sum(step.tool == "anneal" for step in self.steps)
        worked = passes > 0
        cut = cut_of(self.node, terminal.finish, task.need, rules, worked, self.drawn)
        mass = task.piece.mass_g
        filed = mass * cut.filed_share
        stock_g = mass * cut.share
        off_g = mass - stock_g - filed
        self._finish_steps(terminal.finish, cut, off_g, filed)
        stock, offcuts = self._bars(cut, stock_g, off_g, anneals, terminal.finish)
        loss = self.bar.mass_g - sum(b.mass_g for b in stock) - sum(b.mass_g for b in offcuts)
        minutes = sum(step.minutes for step in self.steps)
        return Written(tuple(self.steps), stock, offcuts, loss, cut, passes, anneals, minutes)

    def _finish_steps(self, finish: Finish, cut: Cut, off_g: float, filed: float) -> None:
        if off_g > 1e-9:
            sheet = self.task.need.area_mm is not None
            note = Saying("mill.note.trim" if sheet else "mill.note.crop",
                          {"mass": Quantity(off_g, "g")})  # fmt: skip
            tool = "cut" if finish.kind == "slit" else ("trim" if sheet else "crop")
            if finish.kind == "slit":
                note = Saying("mill.note.slit", {"pieces": Quantity(cut.pieces, "count"),
                                                 "width": Quantity(cut.width_mm, "mm"),
                                                 "mass": Quantity(off_g, "g")})  # fmt: skip
            self._add(tool, cut.width_mm, off_g=off_g,
                      minutes=finish.minutes if finish.kind == "slit" else 0.5, note=note)  # fmt: skip
        if filed > 0:
            note = Saying("mill.note.file_shape", {"mass": Quantity(filed, "g")})
            self._add("file", cut.width_mm, minutes=finish.minutes, note=note)

    def _bars(self, cut: Cut, stock_g: float, off_g: float, anneals: int,
              finish: Finish) -> tuple[tuple[Bar, ...], tuple[Bar, ...]]:  # fmt: skip
        bar, need = self.bar, self.task.need
        section = section_of(self.node)
        if finish.kind == "slit":
            section = Section.of("flat", {"thickness": self.node.height_mm, "width": cut.width_mm},
                                 section.corner)  # fmt: skip
        elif finish.kind == "file":
            section = need.section
        elif need.area_mm is not None:
            section = Section.of("flat", {"thickness": self.node.height_mm, "width": cut.width_mm})
        base = replace(
            bar, section=section, soft_section=self.soft_section, anneals=bar.anneals + anneals,
            parents=(bar.id,), faults=() if self.steps else bar.faults,
        )  # fmt: skip
        stock = tuple(
            replace(base, id=_id(bar, need.id, i, cut.pieces), kind="stock",
                    mass_g=stock_g / cut.pieces, length_mm=cut.length_mm)
            for i in range(cut.pieces)
        ) if stock_g > 0 and cut.length_mm > 0 else ()  # fmt: skip
        if off_g <= 1e-9:
            return stock, ()
        per_mm = section_of(self.node).area_mm2 * self.task.matter.density_g_cm3 / 1000
        crop = replace(base, id=f"{bar.id}/{need.id}/crop", kind="offcut", mass_g=off_g,
                       section=section_of(self.node), length_mm=off_g / per_mm)  # fmt: skip
        return stock, (crop,)


def _id(bar: Bar, need: str, i: int, pieces: int) -> str:
    return f"{bar.id}/{need}" if pieces == 1 else f"{bar.id}/{need}/{i + 1}"
