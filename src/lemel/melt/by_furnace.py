"""A heat in the furnace: bias, division of the charge, the play of it, the plan on paper."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from lemel import metal
from lemel.melt.bath import Bath, bath_of
from lemel.melt.cautions import cautions
from lemel.melt.charging import Heap, heap_of
from lemel.melt.choose import crucible_faults
from lemel.melt.faces import ChargeFill, MeltPlan, MeltProblem, MeltStep
from lemel.melt.figures import figure, pot_row
from lemel.melt.fills import FillPlan, FillRules, fill_rules, plan_fills
from lemel.melt.fire import Played, bath_bias_k, cool_down_h, play
from lemel.melt.loss import expected_loss
from lemel.melt.model import FurnaceModel, furnace_model
from lemel.melt.refuse import condition_faults, fill_faults, refused, stops
from lemel.melt.setpoint import heat_objections, setpoint_band_c
from lemel.melt.steps import opening_steps, stand_s
from lemel.tables import Tables
from lemel.values import Crucible, Furnace, Objection, Quantity, Saying

__all__ = ["by_furnace"]


def by_furnace(problem: MeltProblem, furnace: Furnace, pot: Crucible, tables: Tables) -> MeltPlan:
    """The whole heat, or why not."""
    bath = bath_of(problem.charge.composition_mean, tables)
    density = metal.liquid_density_g_cm3(
        problem.charge.composition_mean, bath.liquidus_c + 50, tables=tables
    )
    objections = [
        *crucible_faults(pot, problem.family, tables),
        *fill_faults(problem, pot, density, tables),
        *condition_faults(problem, tables),
        *heat_objections(problem, problem.pour_at_c, tables),
    ]
    if stops(objections):
        return refused(problem, "furnace", objections, tables)
    model = furnace_model(furnace, pot, tables=tables)
    heap = heap_of(problem.charge, problem.piece_g, tables=tables)
    rules = _rules(problem, model, bath, pot, density, tables)
    plan, notes = _divide(problem, heap, rules)
    objections += notes
    if plan is None:
        return refused(problem, "furnace", objections, tables)
    bias_k = bath_bias_k(model, bath, problem.charge.mass_g, problem.pour_at_c)
    heat = _Heat(problem, pot, model, bath, heap, rules, plan, bias_k)
    played = play(
        model, bath, heap, heat.fills(), plan.cuts,
        setpoint_c=heat.setpoint_c, add_at_c=rules.bath_c, aim_c=problem.pour_at_c,
        stand_s=stand_s(heap, tables), start_c=problem.start_c, ambient_c=problem.ambient_c,
        tables=tables,
    )  # fmt: skip
    if not played.reached:
        way = Saying("melt.way.stronger_fire")
        objections.append(Objection("melt.never_hot", furnace.id, "stop", {}, way))
        return refused(problem, "furnace", objections, tables)
    return _plan(heat, played, objections, tables)


def _rules(
    problem: MeltProblem,
    model: FurnaceModel,
    bath: Bath,
    pot: Crucible,
    density: float,
    tables: Tables,
) -> FillRules:
    return fill_rules(
        bath,
        volume_cm3=pot.volume_cm3,
        pot_g=pot.mass_g,
        pot=model.pot,
        liquid_g_cm3=density,
        liquid_share=pot_row(pot.material, tables).number("liquid_share"),
        power_w=model.power_w,
        bath_c=min(bath.liquidus_c + figure("over_k", tables), problem.pour_at_c),
        bath_least=problem.bath_least,
        first_share=1.0 if problem.sequence == "full" else None,
        tables=tables,
    )


def _divide(
    problem: MeltProblem, heap: Heap, rules: FillRules
) -> tuple[FillPlan | None, list[Objection]]:
    """By the wanted limit, else letting the bath freeze to its solidus, else not at all."""
    plan = plan_fills(heap, rules)
    if plan is not None:
        return plan, []
    loose = replace(rules, bath_least_c=rules.bath.solidus_c, never_solid=False)
    plan = plan_fills(heap, loose)
    about = problem.charge.heat
    if plan is not None:
        way = Saying("melt.way.wait_liquid")
        return plan, [Objection("melt.charge.freezes", about, "note", {}, way)]
    way = Saying("melt.way.cut_pieces")
    return None, [Objection("melt.charge.piece_too_big", about, "stop", {}, way)]


@dataclass(frozen=True, slots=True)
class _Heat:
    """Everything that is settled before the heat is played."""

    problem: MeltProblem
    pot: Crucible
    model: FurnaceModel
    bath: Bath
    heap: Heap
    rules: FillRules
    plan: FillPlan
    bias_k: float

    @property
    def setpoint_c(self) -> float:
        """What to set so that the bath stands at the pouring heat."""
        return self.problem.pour_at_c + self.bias_k

    def fills(self) -> tuple[ChargeFill, ...]:
        """The fillings with their tubs and the levels that they make."""
        heap, rules = self.heap, self.rules
        fills = []
        for n, (start, end) in enumerate(pairwise(self.plan.cuts), start=1):
            a, b = heap.places[start], heap.places[end]
            pile_cm3 = a.mass_g / rules.liquid_g_cm3 + b.bulk_cm3 - a.bulk_cm3
            fills.append(
                ChargeFill(
                    n,
                    heap.tubs(start, end),
                    b.mass_g - a.mass_g,
                    pile_cm3 / rules.volume_cm3,
                    b.mass_g / rules.liquid_g_cm3 / rules.volume_cm3,
                    heap.pieces(start, end, self.problem.piece_g),
                )
            )
        return tuple(fills)


def _explain(heat: _Heat, energy_j: float, metal_j: float) -> tuple[Saying, ...]:
    problem = heat.problem
    return (
        Saying(
            "melt.set.parts",
            {"bath": Quantity(problem.pour_at_c, "degC"), "bias": Quantity(heat.bias_k, "K")},
        ),
        Saying("melt.fills.why", {"fills": heat.plan.fills, "sequence": problem.sequence}),
        Saying("melt.energy.share", {"share": Quantity(100 * metal_j / energy_j, "percent")}),
    )


def _plan(heat: _Heat, played: Played, objections: list[Objection], tables: Tables) -> MeltPlan:
    problem, pot, ledger = heat.problem, heat.pot, played.ledger
    cool_h = cool_down_h(played.run, figure("safe_c", tables))
    loss = expected_loss(problem.charge, tables)
    fills = heat.fills()
    closing = (
        MeltStep(played.pour_s / 60, "melt.step.off"),
        MeltStep(played.pour_s / 60 + 60 * cool_h, "melt.step.cold"),
    )
    return MeltPlan(
        status="feasible",
        method="furnace",
        setpoint_c=heat.setpoint_c,
        setpoint_band_c=setpoint_band_c(heat.setpoint_c, tables),
        fills=fills,
        steps=(*opening_steps(pot.material, "furnace", tables), *played.steps, *closing),
        minutes_to_pour=played.pour_s / 60,
        energy_kwh=played.energy_j / 3.6e6,
        gas_kg=0.0,
        loss_g=(loss.expected_g, loss.low_g, loss.high_g),
        cool_down_h=cool_h,
        curve=played.curve,
        liquidus_c=heat.bath.liquidus_c,
        solidus_c=heat.bath.solidus_c,
        cautions=cautions(problem.charge, "furnace", pot.material, len(fills), tables),
        objections=tuple(objections),
        explain=_explain(heat, played.energy_j, ledger.charge_j),
        held_g=pot_row(pot.material, tables).number("skin_g"),
        liquid_min=played.liquid_s / 60,
        heat_j={
            "element": ledger.element_j,
            "pot": ledger.pot_j,
            "metal": ledger.charge_j - ledger.with_metal_j,
            "lining": ledger.lining_j,
            "lost": ledger.off_top_j + ledger.off_outside_j,
        },
    )
