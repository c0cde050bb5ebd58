"""The six balances of the furnace, for plain floats."""

from __future__ import annotations

from collections.abc import Callable

from lemel.melt.bath import Bath
from lemel.melt.model import FurnaceModel

__all__ = ["KELVIN", "STEFAN_BOLTZMANN_W_M2K4", "Rates", "State", "rates_of"]

STEFAN_BOLTZMANN_W_M2K4 = 5.670374419e-8
KELVIN = 273.15

#: element degC, pot J/g, charge J/g, inner shell degC, outer shell degC, display degC
State = tuple[float, float, float, float, float, float]
#: the six slopes, then: heat lost at the top, heat lost outside (W), bath degC, liquid share
Rates = tuple[float, float, float, float, float, float, float, float, float, float]


def rates_of(
    model: FurnaceModel, bath: Bath, ambient_c: float
) -> Callable[[State, float, float, bool], Rates]:
    """The slopes at (state, charge mass in g, power in W, lid off).

    Element: P - q_ec - G_e1 (Te - T1). Pot: q_ec - q_cm - q_top. Charge: q_cm. Shells: in minus
    out. Display: lag behind a mean of element and pot. q_ec is radiation (fourth powers of
    kelvin) and conduction; q_cm grows from solid contact to liquid contact with the melted
    share; q_top is small with the lid on, radiation and air with the lid off.
    """
    sigma, k0 = STEFAN_BOLTZMANN_W_M2K4, KELVIN
    room4 = (ambient_c + k0) ** 4
    inv_element = 1.0 / model.element_j_k
    inv_pot = 1.0 / model.pot_g
    inv_inner, inv_outer = 1.0 / model.lining_inner_j_k, 1.0 / model.lining_outer_j_k
    inv_lag, weight = 1.0 / model.display_lag_s, model.display_weight
    radiation, gas = 1e-6 * sigma * model.radiation_mm2, model.gas_w_k
    to_lining, between, outside = model.element_lining_w_k, model.lining_w_k, model.outside_w_k
    solid, more_liquid = model.solid_w_k, model.liquid_w_k - model.solid_w_k
    to_charge = 4e-6 * sigma * model.charge_radiation_mm2
    full_g = model.full_contact_g
    mouth_m2 = 1e-6 * model.lid_area_mm2
    mouth_radiation = sigma * mouth_m2 * model.lid_emissivity
    mouth_air, lid_on = mouth_m2 * model.lid_h_w_m2k, model.lid_on_w_k
    grid, start, inv_step = model.pot.by_enthalpy_c, model.pot.start_j_g, 1 / model.pot.step_j_g
    top = len(grid) - 2
    at = bath.lookup()

    def rates(state: State, mass_g: float, power_w: float, lid_off: bool) -> Rates:
        element, pot_h, charge_h, inner, outer, display = state
        place = (pot_h - start) * inv_step
        i = int(place)
        i = 0 if i < 0 else min(i, top)
        low = grid[i]
        pot = low + (grid[i + 1] - low) * (place - i)
        element_k, pot_k = element + k0, pot + k0
        element2, pot2 = element_k * element_k, pot_k * pot_k
        to_pot = radiation * (element2 * element2 - pot2 * pot2) + gas * (element - pot)
        charge, liquid = at(charge_h)
        if mass_g > 0.0:
            touch = (solid + more_liquid * liquid) * (mass_g / full_g if mass_g < full_g else 1.0)
            into_charge = (touch + to_charge * pot2 * pot_k) * (pot - charge)
            charge_slope = into_charge / mass_g
        else:
            into_charge = charge_slope = 0.0
        if lid_off:
            off_top = mouth_radiation * (pot2 * pot2 - room4) + mouth_air * (pot - ambient_c)
        else:
            off_top = lid_on * (pot - ambient_c)
        into_lining = to_lining * (element - inner)
        through = between * (inner - outer)
        off_outside = outside * (outer - ambient_c)
        return (
            (power_w - to_pot - into_lining) * inv_element,
            (to_pot - into_charge - off_top) * inv_pot,
            charge_slope,
            (into_lining - through) * inv_inner,
            (through - off_outside) * inv_outer,
            (weight * element + (1.0 - weight) * pot - display) * inv_lag,
            off_top,
            off_outside,
            charge,
            liquid,
        )

    return rates
