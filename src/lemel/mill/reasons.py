"""Why there is no route, and the craft's ways out."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from lemel.mill.build import Task
from lemel.mill.faces import MillKit
from lemel.mill.field import Limits
from lemel.mill.graph import Graph, Node
from lemel.mill.loads import draw_load
from lemel.mill.rolling import least_gauge_mm
from lemel.mill.rules import Rules
from lemel.mill.search import Searched
from lemel.mill.yields import grams_least
from lemel.values import Bar, Objection, Quantity, Saying, StockNeed

__all__ = ["Refusal", "refuse", "too_light", "too_wide_for"]

#: The objections and the ways out.
Refusal = tuple[tuple[Objection, ...], tuple[Saying, ...]]
#: Holes that are proposed are named to this.
_HOLE_STEP_MM = 0.05


@dataclass(frozen=True, slots=True)
class _Case:
    task: Task
    bar: Bar
    limits: Limits

    def stop(self, code: str, values: Mapping[str, Quantity], *ways: Saying) -> Refusal:
        """A refusal whose first way out is the remedy."""
        return (Objection(code, self.bar.id, "stop", values, ways[0]),), ways


def refuse(task: Task, bar: Bar, graph: Graph, found: Searched, limits: Limits) -> Refusal:
    """The first reason that explains the lack of a route; the checks go from plain to subtle."""
    case = _Case(task, bar, limits)
    for check in (
        _too_light, _too_thin_already, _too_wide, _no_hole, _below_least_gauge,
        _temper_out_of_reach, _thicker_start, _too_narrow,
    ):  # fmt: skip
        refusal = check(case)
        if refusal is not None:
            return refusal
    if graph.short:
        return _too_short(case, graph)
    reached = sorted((graph.nodes[i] for i in found.furthest), key=lambda node: node.depth)
    return _at_the_plate(case, reached) or _stuck(case, (reached or graph.nodes)[-1])


def _mm(value: float) -> Quantity:
    return Quantity(value, "mm")


def _g(value: float) -> Quantity:
    return Quantity(value, "g")


def _too_light(case: _Case) -> Refusal | None:
    task, bar = case.task, case.bar
    least = grams_least(task.need, task.matter.density_g_cm3, task.rules, ingot=bar.kind == "ingot")
    return None if bar.mass_g >= least * (1 - 1e-9) else too_light(task, bar, least)


def too_light(task: Task, bar: Bar, least_g: float) -> Refusal:
    """The bar weighs less than the need asks."""
    short = least_g - bar.mass_g
    ways = [
        Saying("mill.way.two_bars", {"least": _g(least_g)}),
        Saying("mill.way.smaller_stock", {"mass": _g(bar.mass_g)}),
        Saying("mill.way.top_up", {"short": _g(short)}),
    ]
    disc = task.need.disc_mm
    if disc is not None:
        # A disc grows by hammer, so its width goes with the root of its mass.
        smaller = disc * math.sqrt(bar.mass_g / least_g)
        ways = [Saying("mill.way.smaller_disc", {"diameter": _mm(smaller)}), *ways[2:]]
    values = {"mass": _g(bar.mass_g), "least": _g(least_g), "short": _g(short)}
    objection = Objection("mill.bar.too_light", bar.id, "stop", values, ways[0])
    return (objection,), tuple(ways)


def _too_thin_already(case: _Case) -> Refusal | None:
    need, piece = case.task.need.section, case.task.piece
    by_area = need.kind in ("round", "square")
    have = piece.area_mm2 if by_area else piece.height_mm
    want = need.area_mm2 if by_area else need.thickness_mm
    slack = 1 - case.task.need.tolerance_mm / need.thickness_mm
    if have >= want * min(slack, 1 - 1e-9):
        return None
    return case.stop(
        "mill.bar.too_thin",
        {"have": _mm(piece.height_mm), "want": _mm(need.thickness_mm)},
        Saying("mill.way.thicker_bar", {"want": _mm(need.thickness_mm)}),
        Saying("mill.way.pour_thicker"),
    )


def _too_wide(case: _Case) -> Refusal | None:
    task = case.task
    mill, area = task.bench.mill, task.need.area_mm
    if mill is None or area is None:
        return None
    widest = task.flat.widest_mm - 2 * task.rules.edge_trim_mm
    if min(area) <= widest:
        return None
    return case.stop(
        "mill.sheet.wider_than_barrel",
        {"width": _mm(min(area)), "barrel": _mm(mill.barrel_mm), "widest": _mm(widest)},
        Saying("mill.way.narrower_sheets", {"widest": _mm(widest)}),
        Saying("mill.way.hammer_wide", {"width": _mm(min(area))}),
        Saying("mill.way.buy_sheet", {"width": _mm(min(area)), "length": _mm(max(area))}),
    )


def too_wide_for(
    need: StockNeed, kit: MillKit, density_g_cm3: float, rules: Rules
) -> tuple[Objection, ...]:
    """A note where a sheet fits none of the mills; a disc may be beaten out of less metal."""
    if need.area_mm is None or not kit.mills:
        return ()
    barrel = max(mill.barrel_mm for mill in kit.mills)
    widest = barrel - rules.barrel_margin_mm - 2 * rules.edge_trim_mm
    if min(need.area_mm) <= widest:
        return ()
    remedy = Saying("mill.way.hammer_wide", {"width": _mm(min(need.area_mm))})
    if need.disc_mm is not None:
        sheet = replace(need, disc_mm=None)
        remedy = Saying(
            "mill.way.beat_disc",
            {
                "diameter": _mm(need.disc_mm),
                "mass": _g(grams_least(need, density_g_cm3, rules, ingot=True)),
                "sheet": _g(grams_least(sheet, density_g_cm3, rules, ingot=True)),
            },
        )
    values = {"width": _mm(min(need.area_mm)), "barrel": _mm(barrel), "widest": _mm(widest)}
    return (Objection("mill.sheet.wider_than_barrel", need.id, "note", values, remedy),)


def _no_hole(case: _Case) -> Refusal | None:
    need = case.task.need
    if need.section.kind != "round":
        return None
    want, holes = need.section.dim("diameter"), case.task.bench.holes_mm
    if any(abs(d - want) <= need.tolerance_mm + 1e-9 for d in holes):
        return None
    near = sorted(holes, key=lambda d: abs(d - want))[:2]
    ways = [Saying("mill.way.other_hole", {"hole": _mm(d)}) for d in near]
    ways.append(Saying("mill.way.buy_wire", {"diameter": _mm(want)}))
    return case.stop("mill.hole.missing", {"want": _mm(want)}, *ways)


def _below_least_gauge(case: _Case) -> Refusal | None:
    task, need = case.task, case.task.need.section
    mill, rules = task.bench.mill, task.rules
    if mill is None or need.kind != "flat":
        return None
    # Even just annealed metal must not be thinner; hard metal stops sooner.
    stress = float(task.matter.stress_mpa(0.0))
    stone = least_gauge_mm(mill.roll_r_mm, mill.roll_mu, stress, rules.steel_e_mpa)
    least = max(mill.least_mm, rules.least_gauge_times * stone)
    if need.thickness_mm >= least:
        return None
    return case.stop(
        "mill.sheet.below_least_gauge",
        {"want": _mm(need.thickness_mm), "least": _mm(least)},
        Saying("mill.way.roll_a_pack", {"least": _mm(least)}),
        Saying("mill.way.thicker_stock", {"least": _mm(least)}),
        Saying("mill.way.buy_thin_sheet", {"want": _mm(need.thickness_mm)}),
    )


def _temper_out_of_reach(case: _Case) -> Refusal | None:
    window, most = case.task.window, case.limits.strain_most
    if window is None or window[0] <= most:
        return None
    hardest = Quantity(case.task.matter.hv(most), "HV")
    return case.stop(
        "mill.temper.out_of_reach",
        {"most": hardest},
        Saying("mill.way.softer_temper", {"most": hardest}),
        Saying("mill.way.age_harden"),
    )


def _thicker_start(case: _Case) -> Refusal | None:
    task, window = case.task, case.task.window
    if window is None:
        return None
    need, piece = task.need.section, task.piece
    flat = need.kind == "flat"
    have = piece.height_mm if flat else piece.area_mm2
    want = (need.thickness_mm if flat else need.area_mm2) * math.exp(window[0])
    if have + 1e-9 >= want:
        return None
    start = want if flat else math.sqrt(want / task.rules.corner_factor)
    return case.stop(
        "mill.temper.thicker_start",
        {"have": _mm(piece.height_mm), "start": _mm(start)},
        Saying("mill.way.start_at", {"start": _mm(start)}),
        Saying("mill.way.leave_softer"),
    )


def _too_narrow(case: _Case) -> Refusal | None:
    task, need, piece = case.task, case.task.need, case.task.piece
    if need.section.kind not in ("flat", "half_round", "oval") or need.area_mm is not None:
        return None
    wide = task.flat.width_mm(piece.width_mm, piece.height_mm, need.section.thickness_mm)
    if wide >= need.section.width_mm * 0.98 or task.bench.mill is None:
        return None
    want = _mm(need.section.width_mm)
    return case.stop(
        "mill.bar.too_narrow",
        {"comes": _mm(wide), "want": want},
        Saying("mill.way.wider_bar", {"want": want}),
        Saying("mill.way.hammer_wider", {"want": want}),
    )


def _too_short(case: _Case, graph: Graph) -> Refusal:
    """It can be made, but no piece of it is long enough, or not all of it together."""
    need = case.task.need
    ends = [graph.nodes[end.node] for end in graph.short]
    longest = max(node.length_mm for node in ends)
    least = need.least_mm or (need.length_mm or max(need.area_mm or (0.0,))) / need.count
    return case.stop(
        "mill.bar.too_short",
        {"comes": _mm(longest), "want": _mm(least)},
        Saying("mill.way.longer_bar", {"want": _mm(least)}),
        Saying("mill.way.shorter_pieces", {"comes": _mm(longest)}),
        Saying("mill.way.join_pieces"),
    )


def _at_the_plate(case: _Case, reached: list[Node]) -> Refusal | None:
    """The last wire or closed square before the plate: the next hole takes too much, or the
    pull is too weak for it even just after an anneal."""
    task = case.task
    if task.need.section.kind != "round":
        return None
    final = math.pi / 4 * task.need.section.dim("diameter") ** 2
    square = final / (1 - task.rules.draw_least)
    ready = [
        node for node in reached
        if node.shape == "round" or (node.shape == "square" and node.closed
                                     and node.area_mm2 >= square * (1 - 1e-9))
    ]  # fmt: skip
    if not ready:
        return None
    node = ready[-1]
    smaller = [d for d in task.bench.holes_mm if math.pi / 4 * d * d < node.area_mm2 * (1 - 1e-9)]
    if not smaller:
        return None
    hole, most = max(smaller), task.rules.hole_reduction_next
    area = math.pi / 4 * hole * hole
    taken = 1 - area / node.area_mm2
    if taken > most:
        return _hole_too_far(case, node, hole, taken)
    strain = math.log(node.area_mm2 / area)
    pull = case.limits.pull_n
    load = draw_load(pull, task.matter, task.rules, node.area_mm2, area, 0.0, strain, most)
    if load.force_n <= pull:
        return None
    forces = {"force": Quantity(float(load.force_n), "N"), "pull": Quantity(pull, "N")}
    return case.stop(
        "mill.hole.pull",
        {"size": _mm(node.height_mm), "hole": _mm(hole), **forces},
        Saying("mill.way.stronger_pull", {"force": forces["force"]}),
        Saying("mill.way.holes_between", {"hole": _mm(hole)}),
        Saying("mill.way.buy_stock"),
    )


def _hole_too_far(case: _Case, node: Node, hole: float, taken: float) -> Refusal:
    most = case.task.rules.hole_reduction_next
    first = math.sqrt(4 / math.pi * node.area_mm2 * (1 - most))
    first = math.ceil(first / _HOLE_STEP_MM) * _HOLE_STEP_MM
    shares = {"taken": Quantity(100 * taken, "percent"), "most": Quantity(100 * most, "percent")}
    return case.stop(
        "mill.hole.too_far",
        {"size": _mm(node.height_mm), "hole": _mm(hole), **shares},
        Saying("mill.way.hole_between", {"first": _mm(first), "hole": _mm(hole)}),
        Saying("mill.way.buy_stock"),
    )


def _stuck(case: _Case, node: Node) -> Refusal:
    """Somewhere on the way a limit stops it: say at what size the bar stands."""
    return case.stop(
        "mill.route.stuck",
        {"size": _mm(node.height_mm), "width": _mm(node.width_mm)},
        Saying("mill.way.other_section"),
        Saying("mill.way.buy_stock"),
    )
