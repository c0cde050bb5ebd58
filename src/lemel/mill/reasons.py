"""Why there is no route, and the craft's ways out."""

from __future__ import annotations

import math
from collections.abc import Mapping

from lemel.mill.build import Task
from lemel.mill.graph import Graph
from lemel.mill.rolling import least_gauge_mm
from lemel.mill.search import Limits, Searched
from lemel.mill.yields import grams_least
from lemel.values import Bar, Objection, Quantity, Saying

__all__ = ["Refusal", "refuse", "too_light"]

#: The objections and the ways out.
Refusal = tuple[tuple[Objection, ...], tuple[Saying, ...]]


def refuse(task: Task, bar: Bar, graph: Graph, found: Searched, limits: Limits) -> Refusal:
    """The first reason that explains the lack of a route; the checks go from plain to subtle."""
    for check in (
        _too_light, _too_thin_already, _too_wide, _no_hole, _below_least_gauge, _thicker_start,
        _too_narrow,
    ):  # fmt: skip
        refusal = check(task, bar, limits)
        if refusal is not None:
            return refusal
    return _stuck(task, bar, graph, found, limits)


def _stop(code: str, bar: Bar, values: Mapping[str, Quantity], *ways: Saying) -> Refusal:
    objection = Objection(code, bar.id, "stop", values, ways[0] if ways else None)
    return (objection,), ways


def _mm(value: float) -> Quantity:
    return Quantity(value, "mm")


def _too_light(task: Task, bar: Bar, limits: Limits) -> Refusal | None:
    least = grams_least(task.need, task.matter.density_g_cm3, task.rules, ingot=bar.kind == "ingot")
    return None if bar.mass_g >= least * (1 - 1e-9) else too_light(task, bar, least)


def too_light(task: Task, bar: Bar, least: float) -> Refusal:
    """The bar weighs less than the need asks."""
    values = {"mass": Quantity(bar.mass_g, "g"), "least": Quantity(least, "g"),
              "short": Quantity(least - bar.mass_g, "g")}  # fmt: skip
    ways = [Saying("mill.way.two_bars", {"least": Quantity(least, "g")}),
            Saying("mill.way.smaller_stock", {"mass": Quantity(bar.mass_g, "g")}),
            Saying("mill.way.top_up", {"short": Quantity(least - bar.mass_g, "g")})]  # fmt: skip
    disc = task.need.disc_mm
    if disc is not None and task.need.area_mm is not None:
        beaten = _disc_grams(task, disc)
        if bar.mass_g >= beaten:
            ways.insert(0, Saying("mill.way.beat_disc",
                                  {"diameter": _mm(disc), "mass": Quantity(beaten, "g")}))  # fmt: skip
    return _stop("mill.bar.too_light", bar, values, *ways)


def _disc_grams(task: Task, disc_mm: float) -> float:
    volume = math.pi / 4 * disc_mm**2 * task.need.section.thickness_mm
    return volume * task.matter.density_g_cm3 / 1000 * (1 + task.rules.disc_trim_share)


def _too_thin_already(task: Task, bar: Bar, limits: Limits) -> Refusal | None:
    need, piece = task.need.section, task.piece
    have = piece.area_mm2 if need.kind in ("round", "square") else piece.height_mm
    want = need.area_mm2 if need.kind in ("round", "square") else need.thickness_mm
    if have >= want * (1 - 1e-9):
        return None
    return _stop(
        "mill.bar.too_thin", bar, {"have": _mm(piece.height_mm), "want": _mm(need.thickness_mm)},
        Saying("mill.way.thicker_bar", {"want": _mm(need.thickness_mm)}),
        Saying("mill.way.melt_and_pour_thicker", {}),
    )  # fmt: skip


def _too_wide(task: Task, bar: Bar, limits: Limits) -> Refusal | None:
    mill, area = task.bench.mill, task.need.area_mm
    if (
        mill is None
        or area is None
        or min(area) <= task.flat.widest_mm - 2 * task.rules.edge_trim_mm
    ):
        return None
    widest = task.flat.widest_mm
    ways = [
        Saying("mill.way.hammer_wide", {"widest": _mm(widest)}),
        Saying("mill.way.narrower_sheets", {"widest": _mm(widest - 2 * task.rules.edge_trim_mm)}),
        Saying("mill.way.buy_sheet", {"width": _mm(min(area)), "length": _mm(max(area))}),
    ]
    if task.need.disc_mm is not None:
        grams = Quantity(_disc_grams(task, task.need.disc_mm), "g")
        ways[0] = Saying("mill.way.beat_disc", {"diameter": _mm(task.need.disc_mm), "mass": grams})
    return _stop("mill.sheet.wider_than_barrel", bar,
                 {"width": _mm(min(area)), "barrel": _mm(mill.barrel_mm), "widest": _mm(widest)},
                 *ways)  # fmt: skip


def _no_hole(task: Task, bar: Bar, limits: Limits) -> Refusal | None:
    need = task.need.section
    if need.kind != "round":
        return None
    want, holes = need.dim("diameter"), task.bench.holes_mm
    if any(abs(d - want) <= task.need.tolerance_mm + 1e-9 for d in holes):
        return None
    near = sorted(holes, key=lambda d: abs(d - want))[:2]
    ways = [Saying("mill.way.other_hole", {"hole": _mm(d)}) for d in near]
    ways.append(Saying("mill.way.buy_wire", {"diameter": _mm(want)}))
    return _stop("mill.hole.missing", bar, {"want": _mm(want)}, *ways)


def _below_least_gauge(task: Task, bar: Bar, limits: Limits) -> Refusal | None:
    mill, need = task.bench.mill, task.need.section
    if mill is None or need.kind != "flat":
        return None
    stress = float(task.matter.stress_mpa(limits.strain_most))
    least = max(mill.least_mm, task.rules.least_gauge_times * least_gauge_mm(
        mill.roll_r_mm, mill.roll_mu, stress, task.rules.steel_e_mpa))  # fmt: skip
    if need.thickness_mm >= least:
        return None
    return _stop(
        "mill.sheet.below_least_gauge", bar,
        {"want": _mm(need.thickness_mm), "least": _mm(least)},
        Saying("mill.way.roll_a_pack", {"least": _mm(least)}),
        Saying("mill.way.thicker_stock", {"least": _mm(least)}),
        Saying("mill.way.buy_sheet_thin", {"want": _mm(need.thickness_mm)}),
    )  # fmt: skip


def _thicker_start(task: Task, bar: Bar, limits: Limits) -> Refusal | None:
    window = task.window
    if window is None:
        return None
    lo, hi = window
    if lo > limits.strain_most:
        return _stop(
            "mill.temper.out_of_reach", bar,
            {"most": Quantity(task.matter.hv(limits.strain_most), "HV")},
            Saying("mill.way.softer_temper",
                   {"most": Quantity(task.matter.hv(limits.strain_most), "HV")}),
            Saying("mill.way.age_harden", {}),
        )  # fmt: skip
    need, piece = task.need.section, task.piece
    flat = need.kind == "flat"
    have = piece.height_mm if flat else piece.area_mm2
    want = (need.thickness_mm if flat else need.area_mm2) * math.exp(lo)
    if have + 1e-9 >= want:
        return None
    start = want if flat else math.sqrt(want / task.rules.corner_factor)
    return _stop("mill.temper.thicker_start", bar,
                 {"have": _mm(piece.height_mm), "start": _mm(start)},
                 Saying("mill.way.start_at", {"start": _mm(start)}),
                 Saying("mill.way.leave_softer", {}))  # fmt: skip


def _too_narrow(task: Task, bar: Bar, limits: Limits) -> Refusal | None:
    need, piece = task.need.section, task.piece
    if need.kind not in ("flat", "half_round", "oval") or task.need.area_mm is not None:
        return None
    wide = task.flat.width_mm(piece.width_mm, piece.height_mm, need.thickness_mm)
    if wide >= need.width_mm * 0.98 or task.bench.mill is None:
        return None
    return _stop("mill.bar.too_narrow", bar, {"comes": _mm(wide), "want": _mm(need.width_mm)},
                 Saying("mill.way.wider_bar", {"want": _mm(need.width_mm)}),
                 Saying("mill.way.hammer_wider", {"want": _mm(need.width_mm)}))  # fmt: skip


def _stuck(task: Task, bar: Bar, graph: Graph, found: Searched, limits: Limits) -> Refusal:
    """Somewhere on the way a limit stops it: say at what size the bar stands."""
    last = max(found.furthest, key=lambda i: graph.nodes[i].depth, default=0)
    node = graph.nodes[last]
    ways = [Saying("mill.way.other_section", {})]
    if task.bench.mill is None:
        ways.insert(0, Saying("mill.way.other_mill", {}))
    return _stop("mill.route.stuck", bar,
                 {"size": _mm(node.height_mm), "width": _mm(node.width_mm)}, *ways,
                 Saying("mill.way.buy_stock", {}))  # fmt: skip
