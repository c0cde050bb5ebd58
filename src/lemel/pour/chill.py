"""The mould's heat: how warm a pour makes it and how long it takes to come back."""

from __future__ import annotations

from lemel import metal
from lemel.pour.figures import figure
from lemel.pour.heat import KELVIN, ROOM_C, STEFAN_BOLTZMANN_W_M2K4
from lemel.tables import Tables
from lemel.values import Composition, Mould

__all__ = ["mould_equilibrium_c", "mould_wait_s", "warm_up_min"]


def mould_equilibrium_c(
    mould: Mould,
    body: Composition,
    metal_g: float,
    pour_c: float,
    mould_c: float,
    *,
    tables: Tables | None = None,
) -> float:
    """Common temperature of mould and ingot once they are even, degC.

    m_mould c (T - T0) = m (h(T_pour) - h(T)); the heat lost to the air meanwhile is left out, so
    this is the upper end. Solved by bisection to 1e-6 K. Rule of the bench: about 33 K per
    100 g of silver in 2 kg of iron. Source: heat balance; unchecked against a printed example.
    """
    curve = metal.heat_curve(body, tables=tables)
    h_pour = curve.enthalpy_at(pour_c)
    mould_j_k = mould.mass_g * mould.c_j_gk
    low, high = mould_c, max(pour_c, mould_c)
    while high - low > 1e-6:
        middle = (low + high) / 2
        taken = mould_j_k * (middle - mould_c)
        if taken < metal_g * (h_pour - curve.enthalpy_at(middle)):
            low = middle
        else:
            high = middle
    return (low + high) / 2


def mould_wait_s(
    mould: Mould,
    from_c: float,
    to_c: float,
    *,
    room_c: float = ROOM_C,
    tables: Tables | None = None,
) -> float:
    """Seconds until an emptied mould has cooled in still air from one temperature to another.

    Integrates m c dT/dt = -A (h (T - Ta) + eps sigma (T^4 - Ta^4)) in steps of at most 1 K.
    0 where it is already there. Area from the table's reference mould (estimate).
    """
    if to_c >= from_c:
        return 0.0
    to_c = max(to_c, room_c + 1.0)
    area_m2 = figure("mould_area_cm2", tables) * 1e-4
    area_m2 *= (mould.mass_g / figure("mould_area_at_g", tables)) ** (2 / 3)
    air_w_m2k = figure("mould_h_w_m2k", tables)
    eps = figure("mould_emissivity", tables)
    steps = max(1, int(from_c - to_c) + 1)
    step_k = (from_c - to_c) / steps
    seconds = 0.0
    for i in range(steps):
        at_c = from_c - (i + 0.5) * step_k
        radiated = eps * STEFAN_BOLTZMANN_W_M2K4 * ((at_c + KELVIN) ** 4 - (room_c + KELVIN) ** 4)
        lost_w = area_m2 * (air_w_m2k * (at_c - room_c) + radiated)
        seconds += mould.mass_g * mould.c_j_gk * step_k / lost_w
    return seconds


def warm_up_min(
    mould: Mould, to_c: float, *, from_c: float = ROOM_C, tables: Tables | None = None
) -> float:
    """Minutes to bring a cold mould to its preheat and hold it there until its joints are dry.

    Heat of the mould over the heat that comes in (an estimate for a hotplate or soft flame),
    then the soak. A mould is proved by a thermometer, not by this figure.
    """
    if to_c <= from_c:
        return 0.0
    heat_j = mould.mass_g * mould.c_j_gk * (to_c - from_c)
    return heat_j / figure("mould_warm_w", tables) / 60 + figure("mould_soak_min", tables)
