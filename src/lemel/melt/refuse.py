"""The answer when a heat may not or cannot be run, and what speaks against a charge."""

from __future__ import annotations

import math

from lemel.melt.bath import bath_of
from lemel.melt.cautions import cautions
from lemel.melt.choose import pot_holds_g
from lemel.melt.faces import MeltCurve, MeltPlan, MeltProblem
from lemel.melt.figures import figure
from lemel.melt.loss import expected_loss
from lemel.melt.setpoint import setpoint_band_c
from lemel.tables import Tables
from lemel.values import Crucible, Objection, Quantity, Saying, SayingValue

__all__ = ["condition_faults", "fill_faults", "refused", "stops"]


def stops(objections: list[Objection]) -> bool:
    """Whether any of them stops the heat."""
    return any(objection.grade == "stop" for objection in objections)


def condition_faults(problem: MeltProblem, tables: Tables) -> tuple[Objection, ...]:
    """Damp or closed bodies: never into the pot."""
    dry_it = Saying("melt.way.dry_it", {"warm": Quantity(figure("preheat_c", tables), "degC")})
    found = []
    for line in problem.charge.lines:
        state = problem.condition.get(line.body)
        if state == "damp":
            found.append(Objection("melt.charge.damp", line.body, "stop", {}, dry_it))
        elif state == "closed":
            found.append(
                Objection("melt.charge.closed", line.body, "stop", {}, Saying("melt.way.open_it"))
            )
    return tuple(found)


def fill_faults(
    problem: MeltProblem, pot: Crucible, density: float, tables: Tables
) -> list[Objection]:
    """Too much for the pot, or too little to cover its floor."""
    holds_g = pot_holds_g(pot, density, tables)
    mass = Quantity(problem.charge.mass_g, "g")
    if problem.charge.mass_g > holds_g + 1e-9:
        heats = math.ceil(problem.charge.mass_g / holds_g - 1e-9)
        most = Quantity(holds_g, "g")
        way = Saying("melt.way.split", {"heats": heats, "most": most})
        return [Objection("melt.pot.overfull", pot.id, "stop", {"mass": mass, "most": most}, way)]
    share = problem.charge.mass_g / (pot.volume_cm3 * density)
    if share < pot.least_fill:
        values: dict[str, SayingValue] = {"share": Quantity(100 * share, "percent"), "pot": pot.id}
        way = Saying("melt.way.smaller_pot")
        return [Objection("melt.pot.thin_pool", pot.id, "note", values, way)]
    return []


def refused(
    problem: MeltProblem, method: str, objections: list[Objection], tables: Tables
) -> MeltPlan:
    """No steps and no curve, but every reason with its way out, and what loss would be."""
    bath = bath_of(problem.charge.composition_mean, tables)
    loss = expected_loss(problem.charge, tables)
    return MeltPlan(
        status="infeasible",
        method=method,
        setpoint_c=problem.pour_at_c,
        setpoint_band_c=setpoint_band_c(problem.pour_at_c, tables),
        fills=(),
        steps=(),
        minutes_to_pour=0.0,
        energy_kwh=0.0,
        gas_kg=0.0,
        loss_g=(loss.expected_g, loss.low_g, loss.high_g),
        cool_down_h=0.0,
        curve=MeltCurve((), (), (), ()),
        liquidus_c=bath.liquidus_c,
        solidus_c=bath.solidus_c,
        cautions=cautions(problem.charge, method, "", 0, tables),
        objections=tuple(objections),
    )
