"""A heat in the furnace, from cold: the plan of it on paper."""

from __future__ import annotations

from dataclasses import replace

from lemel.melt.cautions import cautions
from lemel.melt.faces import MeltPlan, MeltProblem, MeltStep
from lemel.melt.figures import figure, pot_row
from lemel.melt.fills import plan_fills
from lemel.melt.fire import Played, cool_down_h
from lemel.melt.life import between_owners, count_of
from lemel.melt.loss import expected_loss
from lemel.melt.refuse import refused
from lemel.melt.run import Run
from lemel.melt.setpoint import setpoint_band_c
from lemel.melt.settle import Heat, settle
from lemel.melt.steps import opening_steps
from lemel.tables import Tables
from lemel.values import Crucible, Furnace, Objection, Quantity, Saying

__all__ = ["by_furnace"]


def by_furnace(problem: MeltProblem, furnace: Furnace, pot: Crucible, tables: Tables) -> MeltPlan:
    """The whole heat, or why not."""
    heat, objections = settle(problem, furnace, pot, tables)
    if heat is None:
        return refused(problem, "furnace", objections, tables)
    run = Run(heat.model, heat.bath, 0.0, start_c=problem.start_c, ambient_c=problem.ambient_c)
    played = heat.play(run, tables)
    if not played.reached:
        way = Saying("melt.way.stronger_fire")
        objections.append(Objection("melt.never_hot", furnace.id, "stop", {}, way))
        return refused(problem, "furnace", objections, tables)
    return _plan(heat, played, objections, tables)


def _explain(heat: Heat, energy_j: float, metal_j: float, tables: Tables) -> tuple[Saying, ...]:
    values = {
        "bath": Quantity(heat.problem.pour_at_c, "degC"),
        "set": Quantity(heat.setpoint_c, "degC"),
        "bias": Quantity(abs(heat.bias_k), "K"),
    }
    share = Quantity(100 * metal_j / energy_j, "percent")
    return (
        Saying("melt.set.parts", values),
        _why_so_many(heat),
        Saying("melt.energy.share", {"share": share}),
        count_of(heat.pot, tables),
        *between_owners(heat.pot, heat.problem.last_owner, heat.problem.charge.owner, tables),
    )


def _why_so_many(heat: Heat) -> Saying:
    """How the charge is divided, and what filling as much as fits would win."""
    fills = heat.plan.fills
    fullest = plan_fills(heat.heap, replace(heat.rules, first_share=1.0))
    if fullest is None or fullest.fills >= fills:
        return Saying("melt.fills.fewest", {"fills": fills})
    won = Quantity((heat.plan.seconds - fullest.seconds) / 60, "min")
    return Saying("melt.fills.third", {"fills": fills, "fewest": fullest.fills, "won": won})


def _plan(heat: Heat, played: Played, objections: list[Objection], tables: Tables) -> MeltPlan:
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
        explain=_explain(heat, played.energy_j, ledger.charge_j, tables),
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
