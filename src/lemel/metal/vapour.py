"""Activities in the liquid and the pressures that the volatile elements reach over it."""

from __future__ import annotations

import math

from lemel.metal.gibbs import LIQUID
from lemel.metal.kelvin import to_k
from lemel.metal.model import model_of
from lemel.metal.ranges import range_of
from lemel.tables import Tables, shipped
from lemel.values import Composition

__all__ = ["activities", "vapour_pa"]

_PA_PER_ATM = 101325.0  # exact, by definition of the standard atmosphere


def activities(
    body: Composition, temp_c: float, *, tables: Tables | None = None
) -> dict[str, float]:
    """Activity of each modelled element in the (if need be supercooled) liquid.

    Reference: the pure liquid element at the same temperature. Elements outside the model
    are missing from the answer.
    """
    tables = tables or shipped()
    model, span = model_of(body, tables), range_of(body, tables)
    temp_k = max(span.to_model_k(to_k(temp_c)), 400.0)
    liquid = model.system.phase(LIQUID, temp_k)
    mu = liquid.potentials(model.x)
    rt = liquid.gas_j_molk * temp_k
    return {
        e: math.exp((m - end) / rt)
        for e, m, end in zip(model.system.elements, mu, liquid.ends, strict=True)
    }


def pure_vapour_pa(element: str, temp_c: float, *, tables: Tables | None = None) -> float:
    """Pressure over the pure liquid, Pa: log10(p/atm) = A + B/T + C log10 T.

    C. B. Alcock, V. P. Itkin, M. K. Horrigan, Can. Metall. Q. 23 (1984) 309. Zinc and cadmium
    are extrapolated above 480 degC and come out 12 to 15 percent high at their boiling points.
    """
    row = (tables or shipped()).row("metal_vapour", element)
    temp_k = to_k(temp_c)
    power = row.number("a") + row.number("b_k") / temp_k + row.number("c") * math.log10(temp_k)
    return float(_PA_PER_ATM * 10**power)


def vapour_pa(
    body: Composition, temp_c: float, *, tables: Tables | None = None
) -> dict[str, float]:
    """Partial pressure of each volatile element over the melt, Pa: p_i = a_i p_i(pure).

    A factor of two either way; for an element outside the model (cadmium, lead) its mole
    fraction stands for its activity.
    """
    tables = tables or shipped()
    known = activities(body, temp_c, tables=tables)
    masses = tables.table("metal_element")
    moles = {e: w / masses[e].number("molar_mass_g") for e, w in body.parts}
    total = sum(moles.values())
    pressures = {}
    for row in tables.rows("metal_vapour"):
        element = row.key
        if element not in moles:
            continue
        activity = known.get(element, moles[element] / total)
        pressures[element] = activity * pure_vapour_pa(element, temp_c, tables=tables)
    return pressures
