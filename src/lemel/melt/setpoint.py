"""What to set: the bath's heat for the pour, the display's bias, the caps, and a band for paper."""

from __future__ import annotations

import math

from lemel import metal
from lemel.melt.faces import MeltProblem
from lemel.melt.figures import figure
from lemel.tables import Tables
from lemel.values import Composition, Objection, Quantity, Saying

__all__ = ["heat_objections", "setpoint_band_c"]


def setpoint_band_c(setpoint_c: float, tables: Tables | None = None) -> tuple[float, float]:
    """The band of whole tens that the setpoint lies in: what a hand can set and hold.

    >>> setpoint_band_c(957.3)
    (950.0, 960.0)
    """
    wide_k = figure("band_k", tables)
    low = wide_k * math.floor(setpoint_c / wide_k)
    return low, low + wide_k


def heat_objections(
    problem: MeltProblem, setpoint_c: float, tables: Tables | None = None
) -> tuple[Objection, ...]:
    """Furnace, gas and zinc against the wanted heat, each with the way out."""
    found = []
    body = problem.charge.composition_mean
    wanted = Quantity(setpoint_c, "degC")
    if problem.furnace is not None:
        most_c = problem.furnace.top_c - figure("below_top_k", tables)
        if setpoint_c > most_c:
            values = {"setpoint": wanted, "most": Quantity(most_c, "degC")}
            way = Saying("melt.way.hotter_fire")
            found.append(
                Objection("melt.heat.above_furnace", problem.furnace.id, "stop", values, way)
            )
    gas_c = _gas_most_c(body, tables)
    if gas_c is not None and setpoint_c > gas_c:
        values = {"setpoint": wanted, "most": Quantity(gas_c, "degC")}
        grade = "note" if problem.may_be_hot else "ask"
        way = Saying("melt.way.less_heat")
        found.append(Objection("melt.heat.gas", problem.charge.heat, grade, values, way))
    zinc_pa = metal.vapour_pa(body, setpoint_c, tables=tables).get("Zn", 0.0)
    if body.share("Zn") > 0 and zinc_pa > figure("zinc_most_pa", tables):
        values = {"setpoint": wanted, "pressure": Quantity(zinc_pa, "Pa")}
        way = Saying("melt.way.zinc_last")
        found.append(Objection("melt.heat.zinc", problem.charge.heat, "ask", values, way))
    return tuple(found)


def _gas_most_c(body: Composition, tables: Tables | None) -> float | None:
    """The heat from which the alloy drinks gas; no figure for platinum and palladium."""
    name = {"Ag": "silver_most_c", "Au": "gold_most_c"}.get(body.main())
    return None if name is None else figure(name, tables)
