"""A heat under the torch, in a dish."""

from __future__ import annotations

from dataclasses import replace

from lemel import metal
from lemel.melt.bath import bath_of
from lemel.melt.cautions import cautions
from lemel.melt.charging import heap_of
from lemel.melt.choose import dish_note, flame_fault, torch_warning
from lemel.melt.faces import ChargeFill, MeltCurve, MeltPlan, MeltProblem, MeltStep
from lemel.melt.figures import figure, gas_row, pot_row, torch_figure
from lemel.melt.loss import expected_loss
from lemel.melt.refuse import condition_faults, refused, stops
from lemel.melt.setpoint import heat_objections, setpoint_band_c
from lemel.melt.steps import opening_steps
from lemel.melt.torch import TorchMelt, torch_melt
from lemel.tables import Tables
from lemel.values import Objection, Quantity, Saying, SayingValue, Torch

__all__ = ["by_torch"]


def by_torch(problem: MeltProblem, torch: Torch, tables: Tables) -> MeltPlan:
    """A small heat under the flame: poured from the dish or left in it as a button."""
    charge = problem.charge
    body = charge.composition_mean
    bath = bath_of(body, tables)
    density = metal.liquid_density_g_cm3(body, bath.liquidus_c + 50, tables=tables)
    melted = torch_melt(
        bath, charge.mass_g, problem.pour_at_c, torch.flame_w,
        liquid_g_cm3=density, start_c=problem.start_c, tables=tables,
    )  # fmt: skip
    objections = [
        *flame_fault(torch, problem.pour_at_c, tables),
        *torch_warning(charge.mass_g, torch, tables),
        *dish_note(torch, problem.family, tables),
        *condition_faults(problem, tables),
        *heat_objections(replace(problem, furnace=None), problem.pour_at_c, tables),
    ]
    if melted.seconds is None:
        values: dict[str, SayingValue] = {"mass": Quantity(charge.mass_g, "g"), "torch": torch.id}
        way = Saying("melt.way.furnace_or_split")
        objections.append(Objection("melt.torch.cannot", torch.id, "stop", values, way))
    if stops(objections) or melted.seconds is None:
        return refused(problem, "torch", objections, tables)
    return _plan(problem, torch, melted, melted.seconds, objections, tables)


def _plan(
    problem: MeltProblem,
    torch: Torch,
    melted: TorchMelt,
    seconds: float,
    objections: list[Objection],
    tables: Tables,
) -> MeltPlan:
    charge = problem.charge
    bath = bath_of(charge.composition_mean, tables)
    heap = heap_of(charge, problem.piece_g, tables=tables)
    fill = ChargeFill(1, heap.tubs(0, len(heap.places) - 1), charge.mass_g, 0.0, 0.0)
    ready_s = seconds + torch_figure("settle_s", tables)
    loss = expected_loss(charge, tables)
    liquid_min = (melted.liquid_s or seconds) / 60
    held_g = torch_figure("skin_g", tables)
    poured_g = pot_row("clay_dish", tables).number("skin_g")
    keeps = {"held": Quantity(held_g, "g"), "poured": Quantity(poured_g, "g")}
    return MeltPlan(
        status="feasible",
        method="torch",
        setpoint_c=problem.pour_at_c,
        setpoint_band_c=setpoint_band_c(problem.pour_at_c, tables),
        fills=(fill,),
        steps=(
            *opening_steps("clay_dish", "torch", tables),
            MeltStep(0.0, "melt.step.warm_dish"),
            MeltStep(0.0, "melt.step.into_dish", charge.mass_g, fill=1),
            MeltStep(liquid_min, "melt.step.swirl", 0.0, bath.liquidus_c),
            MeltStep(ready_s / 60, "melt.step.pour_or_let_stand", charge.mass_g, problem.pour_at_c),
        ),
        minutes_to_pour=ready_s / 60,
        energy_kwh=0.0,
        gas_kg=torch.flame_w * ready_s / (1e6 * gas_row(torch.gas, tables).number("mj_kg")),
        loss_g=(loss.expected_g, loss.low_g, loss.high_g),
        cool_down_h=figure("dish_cool_h", tables),
        curve=MeltCurve(melted.t_s, melted.bath_c, melted.bath_c, melted.liquid),
        liquidus_c=bath.liquidus_c,
        solidus_c=bath.solidus_c,
        cautions=cautions(charge, "torch", "clay_dish", 1, tables),
        objections=tuple(objections),
        explain=(Saying("melt.dish.keeps", keeps), Saying("melt.torch.shape")),
        held_g=held_g,
        liquid_min=liquid_min,
    )
