"""From a path through the graph to the steps of a route, with the metal accounted for."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from lemel.mill.build import Task
from lemel.mill.faces import Step
from lemel.mill.field import Limits
from lemel.mill.graph import Finish, Graph, Node, Terminal
from lemel.mill.lines import both_on_one_line, note_of
from lemel.mill.loads import Load, draw_load, groove_load, roll_load
from lemel.mill.search import Move, Path, grips
from lemel.mill.shapes import section_of
from lemel.mill.yields import Cut, cut_of
from lemel.values import Bar, Quantity, Saying, SayingValue, Section

__all__ = ["Written", "write"]

#: Rolls that stand apart by less are closed for all purposes.
_CLOSED_MM = 0.01


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


def write(task: Task, bar: Bar, graph: Graph, path: Path, limits: Limits) -> Written:
    """The path as steps that a bench hand can follow, in order."""
    scribe = _Scribe(task, bar, graph, limits)
    scribe.prepare()
    for move in path.moves:
        scribe.move(move)
    return scribe.finish(graph.terminals[path.terminal])


class _Scribe:
    """Writes the steps one by one and keeps the running state of the metal."""

    def __init__(self, task: Task, bar: Bar, graph: Graph, limits: Limits) -> None:
        self.task, self.bar, self.graph, self.limits = task, bar, graph, limits
        self.steps: list[Step] = []
        self.node = graph.nodes[0]
        self.soft_depth = graph.soft_depth
        self.soft_section: Section | None = bar.soft_section
        self.cast = graph.cast
        self.screw: float | None = None
        self.drawn = False
        self.mass_g = task.piece.mass_g
        self.rests: list[Bar] = []

    @property
    def anneals(self) -> int:
        """Anneals written so far."""
        return sum(step.tool == "anneal" for step in self.steps)

    def _add(
        self,
        tool: str,
        size: float,
        minutes: float,
        note: Saying | None = None,
        *,
        load: Load | None = None,
        limit: str = "none",
        effort: str = "easy",
        passes: int = 0,
        off_g: float = 0.0,
        turn: float | None = None,
    ) -> None:
        strain = max(0.0, self.node.depth - self.soft_depth)
        self.steps.append(
            Step(
                n=len(self.steps) + 1,
                tool=tool,
                size_mm=size,
                section=section_of(self.node),
                width_mm=self.node.width_mm,
                length_mm=self.node.length_mm,
                strain=strain,
                hv=self.task.matter.hv(strain),
                force_n=float(load.force_n) if load else 0.0,
                torque_nm=float(load.torque_nm) if load else 0.0,
                limit=limit,
                effort=effort,
                passes=passes,
                screw_turn=turn,
                off_g=off_g,
                minutes=minutes,
                note=note,
            )
        )

    def prepare(self) -> None:
        """Saw off a faulty end, file the skin of an ingot."""
        filed, cropped = self.task.piece.filed_g, self.task.piece.cropped_g
        if cropped > 0:
            self.rests.append(self._rest(self.node, cropped, "end"))
            note = note_of("crop_fault", mass=Quantity(cropped, "g"))
            self._add("crop", self.node.height_mm, self.task.rules.crop_min, note, off_g=cropped)
        if filed > 0:
            note = note_of("file_skin", mass=Quantity(filed, "g"))
            self._add("file", self.node.height_mm, self.task.rules.prepare_min, note)

    def move(self, move: Move) -> None:
        """One move of the path."""
        if move.tool == "enter":
            self.node = self.graph.nodes[move.target]
        elif move.tool == "anneal":
            self._anneal()
        elif move.tool == "turn":
            self._turn(move)
        elif move.tool == "hammer":
            self._hammer(move)
        elif move.tool in ("slit", "disc"):
            self._part(move)
        elif move.tool == "hole":
            self._draw(move)
        else:
            self._roll(move)

    def _anneal(self) -> None:
        """Below the solidus that applies: the segregated one while the metal is as cast."""
        matter, rules = self.task.matter, self.task.rules
        solidus = matter.segregated_solidus_c if self.cast else matter.solidus_c
        lo, hi = matter.working.anneal_c
        top = min(hi, solidus - rules.anneal_below_solidus_k)
        note = note_of(
            "anneal",
            lo=Quantity(min(lo, top), "degC"),
            hi=Quantity(top, "degC"),
            never=Quantity(solidus, "degC"),
            sign=matter.working.anneal_sign,
            cooling=matter.working.cooling,
        )
        self.soft_depth, self.cast = self.node.depth, False
        self.soft_section = section_of(self.node)
        self.screw = None
        self._add("anneal", self.node.height_mm, rules.anneal_min, note)

    def _turn(self, move: Move) -> None:
        self.node = self.graph.nodes[move.target]
        self.screw = None
        note = note_of("turn", width=Quantity(self.node.width_mm, "mm"))
        self._add("turn", self.node.height_mm, self.task.rules.turn_min, note)

    def _hammer(self, move: Move) -> None:
        before, rules, matter = self.node, self.task.rules, self.task.matter
        self.node = self.graph.nodes[move.target]
        e0, e1 = before.depth - self.soft_depth, self.node.depth - self.soft_depth
        joules = float(matter.work_mpa(e1) - matter.work_mpa(e0)) * before.volume_mm3 / 1000
        blows = math.ceil(joules / rules.hammer_j)
        minutes = rules.hammer_min + blows / rules.hammer_per_min
        limit = "strain" if e1 > rules.binds_at * self._strain_most else "size"
        self.screw = None
        note = note_of("hammer", blows=Quantity(blows, "count"))
        self._add(
            "hammer", self.node.height_mm, minutes, note, limit=limit, effort="firm", passes=1
        )

    def _part(self, move: Move) -> None:
        """Cut bars off a plate, or a round blank out of a sheet; the rest is offcut."""
        before, self.node = self.node, self.graph.nodes[move.target]
        link = next(
            one for one in self.graph.links
            if (one.source, one.target, one.tool) == (move.source, move.target, move.tool)
        )  # fmt: skip
        density = self.task.matter.density_g_cm3 / 1000
        kept = self.node.volume_mm3 * density
        rest = self.mass_g - kept
        values: dict[str, SayingValue] = {"width": Quantity(self.node.width_mm, "mm")}
        if move.tool == "slit":
            rest -= _sawdust_mm3(before, link.minutes, self.task) * density
            values["pieces"] = Quantity(self.node.pieces, "count")
        rest = max(rest, 0.0)
        values["mass"] = Quantity(rest, "g")
        self.mass_g = kept
        if rest > 1e-9:
            self.rests.append(self._rest(before, rest, f"rest{len(self.rests) + 1}"))
        one = "_one" if self.node.pieces == 1 and move.tool == "slit" else ""
        note = Saying(f"mill.note.cut_{move.tool}{one}", values)
        self._add("cut", self.node.width_mm, link.minutes, note, off_g=rest)

    def _rest(self, node: Node, mass_g: float, name: str) -> Bar:
        """What is left of a node's metal, as a bar of its own; an unworked ingot stays one."""
        section = section_of(node)
        per_mm = section.area_mm2 * self.task.matter.density_g_cm3 / 1000
        worked = any(step.passes or step.tool == "anneal" for step in self.steps)
        return replace(
            self.bar,
            id=f"{self.bar.id}/{self.task.need.id}/{name}",
            kind="offcut" if worked or self.bar.kind != "ingot" else "ingot",
            section=section,
            soft_section=self.soft_section,
            cast_section=self._cast_section if worked else self.bar.cast_section,
            length_mm=mass_g / per_mm,
            mass_g=mass_g,
            parents=(self.bar.id,),
            anneals=self.bar.anneals + self.anneals,
        )

    @property
    def _cast_section(self) -> Section | None:
        """What the metal was cast as, where it has been worked and not softened since."""
        if self.soft_section is not None or not self.cast:
            return None
        return self.bar.cast_section or section_of(self.graph.nodes[0])

    def _draw(self, move: Move) -> None:
        load = self.load(move)
        self.node = self.graph.nodes[move.target]
        rules, node = self.task.rules, self.node
        length = node.length_mm * node.pieces
        minutes = rules.hole_min * node.pieces + length / rules.draw_feed_mm_s / 60
        again = grips(node.length_mm, self.task.bench.stroke_mm)
        minutes += again * rules.grip_min
        limit = self._binding(load)
        note = None
        if not self.drawn:
            note = note_of("point", point=Quantity(rules.point_mm, "mm"))
        elif again:
            note = note_of("grip_again", pulls=Quantity(again + 1, "count"))
        if again and limit == "none":
            limit = "stroke"
        self.drawn = True
        self._add(
            "hole", node.tool_mm, minutes, note, load=load, limit=limit,
            effort=self._effort(float(load.shares["pull"])), passes=1,
        )  # fmt: skip

    def _roll(self, move: Move) -> None:
        load, mill = self.load(move), move.mill
        assert mill is not None
        self.node = self.graph.nodes[move.target]
        rules, node = self.task.rules, self.node
        length = node.length_mm * node.pieces
        minutes = rules.pass_min * node.pieces + length / mill.feed_mm_s / 60
        effort = self._effort(float(load.torque_nm) / (mill.torque_nm * mill.comfort))
        limit = self._binding(load)
        turn, note = None, None
        if move.tool == "flats":
            if self.screw is not None:
                turn = (self.screw - float(load.screw_mm)) / mill.lead_mm
            self.screw = float(load.screw_mm)
        else:
            self.screw = None
            note = self._groovenote_of(move.tool)
        tool = "flats" if move.tool == "turned" else move.tool
        last = self.steps[-1] if self.steps else None
        self._add(
            tool, node.tool_mm, minutes, note, load=load, limit=limit, effort=effort, passes=1,
            turn=turn,
        )  # fmt: skip
        if tool == "groove" and last and (last.tool, last.size_mm) == (tool, node.tool_mm):
            self.steps[-2:] = [both_on_one_line(last, self.steps[-1])]

    def load(self, move: Move) -> Load:
        """The load of a rolling or drawing move from the present node."""
        task, v, u = self.task, self.node, self.graph.nodes[move.target]
        e0, e1 = v.depth - self.soft_depth, u.depth - self.soft_depth
        if move.tool == "hole":
            return draw_load(
                task.bench.pull_n, task.matter, task.rules, v.area_mm2, u.area_mm2, e0,
                max(e1, e0 + 1e-9), move.reduction_most,
            )  # fmt: skip
        mill, comfort = move.mill, self.limits.comfort
        assert mill is not None
        if move.tool == "flats":
            load = roll_load(
                mill, comfort, task.matter, task.rules, v.height_mm, u.height_mm, u.width_mm, e0, e1
            )
        else:
            load = groove_load(
                mill, comfort, task.matter, task.rules, v.height_mm, u.height_mm, v.area_mm2,
                u.area_mm2, e0, e1, move.tool == "groove",
            )  # fmt: skip
        if self.cast and self.limits.cast_reduction < 1:
            load.shares["cast"] = (1 - u.area_mm2 / v.area_mm2) / self.limits.cast_reduction
        return replace(load, screw_mm=u.height_mm - load.force_n / mill.modulus_n_mm)

    @property
    def _strain_most(self) -> float:
        return self.limits.cast_strain_most if self.cast else self.limits.strain_most

    def _binding(self, load: Load) -> str:
        """The limit that is nearest, if it is near."""
        shares = {name: float(share) for name, share in load.shares.items()}
        shares["strain"] = (self.node.depth - self.soft_depth) / self._strain_most
        name = max(shares, key=lambda key: shares[key])
        return name if shares[name] >= self.task.rules.binds_at else "none"

    def _effort(self, share: float) -> str:
        rules = self.task.rules
        if share <= rules.effort_easy:
            return "easy"
        return "firm" if share <= rules.effort_firm * (1 + 1e-6) else "two_hands"

    def _groovenote_of(self, tool: str) -> Saying:
        gap = (self.node.height_mm - self.node.tool_mm) * math.sqrt(2)
        if tool == "turned" or gap < _CLOSED_MM:
            return note_of("turn_bar")
        return note_of("half_open", gap=Quantity(gap, "mm"))

    def finish(self, terminal: Terminal) -> Written:
        """Cut, trim, crop, file; make the bars. Loss takes what is left of the mass."""
        passes = sum(step.passes for step in self.steps)
        anneals, finish = self.anneals, terminal.finish
        cut = cut_of(
            self.node, finish, self.task.need, self.task.rules, worked=passes > 0, drawn=self.drawn
        )
        filed, stock_g = self.mass_g * cut.filed_share, self.mass_g * cut.share
        off_g = self.mass_g - stock_g - filed
        offcuts = list(self.rests)
        if off_g > 1e-9:
            offcuts.append(self._rest(self.node, off_g, "crop"))
        stock = self._stock(cut, stock_g, finish)
        self._finish_steps(finish, cut, off_g, filed)
        loss = self.bar.mass_g - sum(one.mass_g for one in (*stock, *offcuts))
        minutes = sum(step.minutes for step in self.steps)
        return Written(
            tuple(self.steps), stock, tuple(offcuts), loss, cut, passes, anneals, minutes
        )

    def _finish_steps(self, finish: Finish, cut: Cut, off_g: float, filed: float) -> None:
        rules, mass = self.task.rules, Quantity(off_g, "g")
        if finish.kind == "slit":
            pieces, width = Quantity(cut.pieces, "count"), Quantity(cut.width_mm, "mm")
            note = note_of("slit", pieces=pieces, width=width, mass=mass)
            if cut.pieces == 1:
                note = note_of("slit_one", width=width, mass=mass)
            self._add("cut", cut.width_mm, finish.minutes, note, off_g=off_g)
        elif off_g > 1e-9:
            tool = "trim" if self.task.need.area_mm is not None else "crop"
            note = note_of("crop_rest" if finish.kind == "file" else tool, mass=mass)
            self._add(tool, cut.width_mm, rules.crop_min, note, off_g=off_g)
        if filed > 0:
            note = note_of("file_shape", mass=Quantity(filed, "g"))
            self._add("file", cut.width_mm, finish.minutes, note)

    def _stock(self, cut: Cut, stock_g: float, finish: Finish) -> tuple[Bar, ...]:
        if stock_g <= 0 or cut.length_mm <= 0:
            return ()
        need, node = self.task.need, self.node
        section = section_of(node)
        if finish.kind == "file":
            section = need.section
        elif finish.kind == "slit" or (need.area_mm is not None and node.shape != "disc"):
            sides = {"thickness": node.height_mm, "width": cut.width_mm}
            section = Section.of("flat", sides, section.corner)
        one = replace(
            self.bar,
            id=f"{self.bar.id}/{need.id}",
            kind="stock",
            section=section,
            soft_section=self.soft_section,
            cast_section=self._cast_section,
            length_mm=cut.length_mm,
            mass_g=stock_g / cut.pieces,
            anneals=self.bar.anneals + self.anneals,
            parents=(self.bar.id,),
            faults=() if self.steps else self.bar.faults,
        )
        if cut.pieces == 1:
            return (one,)
        return tuple(replace(one, id=f"{one.id}/{n + 1}") for n in range(cut.pieces))


def _sawdust_mm3(plate: Node, minutes: float, task: Task) -> float:
    """Volume that the cuts turn into sawdust, none where the shears do it."""
    rules = task.rules
    if plate.height_mm <= rules.shear_mm:
        return 0.0
    return minutes * rules.saw_mm2_min * rules.saw_kerf_mm
