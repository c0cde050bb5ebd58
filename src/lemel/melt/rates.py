"""The six balances of the furnace, stepped with plain floats."""

from __future__ import annotations

from bisect import bisect_right

from lemel.melt.bath import Bath
from lemel.melt.model import FurnaceModel

__all__ = ["KELVIN", "STEFAN_BOLTZMANN_W_M2K4", "HeunStep", "State"]

STEFAN_BOLTZMANN_W_M2K4 = 5.670374419e-8
KELVIN = 273.15

#: element degC, pot J/g, charge J/g, inner shell degC, outer shell degC, display degC
State = tuple[float, float, float, float, float, float]


def _constants(model: FurnaceModel, ambient_c: float) -> tuple[float, ...]:
    """Products and inverses that stay the same over a run, in the order a step unpacks them."""
    sigma, m2 = STEFAN_BOLTZMANN_W_M2K4, 1e-6
    mouth_m2 = m2 * model.lid_area_mm2
    return (
        sigma * m2 * model.radiation_mm2, model.gas_w_k, model.element_lining_w_k,
        model.lining_w_k, model.outside_w_k, model.solid_w_k, model.liquid_w_k - model.solid_w_k,
        4 * sigma * m2 * model.charge_radiation_mm2, sigma * mouth_m2 * model.lid_emissivity,
        mouth_m2 * model.lid_h_w_m2k, model.lid_on_w_k, (ambient_c + KELVIN) ** 4,
        1 / model.element_j_k, 1 / model.pot_g, 1 / model.lining_inner_j_k,
        1 / model.lining_outer_j_k, model.display_weight, 1 / model.display_lag_s,
    )  # fmt: skip


class HeunStep:
    """One step of Heun's method over the six balances of a furnace.

    Element: P - q_ec - G_e1 (Te - T1). Pot: q_ec - q_cm - q_top. Charge: q_cm. Shells: in minus
    out. Display: lag behind a mean of element and pot. q_ec is radiation (fourth powers of
    kelvin) and conduction; q_cm grows from solid contact to liquid contact with the melted
    share; q_top is small with the lid on, radiation and air with the lid off.
    """

    __slots__ = (
        "_ambient_c", "_constants", "_full_g", "_grid", "_inv_step", "_nodes", "_pieces", "_start"
    )  # fmt: skip

    def __init__(self, model: FurnaceModel, bath: Bath, ambient_c: float) -> None:
        self._constants, self._ambient_c = _constants(model, ambient_c), ambient_c
        self._full_g = model.full_contact_g
        self._nodes, self._pieces = bath.enthalpy_j_g, bath.pieces()
        self._grid, self._start = model.pot.by_enthalpy_c, model.pot.start_j_g
        self._inv_step = 1 / model.pot.step_j_g

    def __call__(
        self, state: State, mass_g: float, power_w: float, lid_off: bool, dt: float
    ) -> tuple[State, float, float]:
        """The state after `dt` seconds, and the joules lost at the top and outside meanwhile.

        One body, a loop over both stages, plain local names: that halves the time.
        """
        (
            radiation, gas, to_lining, between, outside, solid, more_liquid, to_charge,
            mouth_radiation, mouth_air, lid_on, room4, inv_element, inv_pot, inv_inner, inv_outer,
            weight, inv_lag,
        ) = self._constants  # fmt: skip
        grid, nodes, pieces = self._grid, self._nodes, self._pieces
        room, contact = self._ambient_c, min(1.0, mass_g / self._full_g)
        element, pot_h, charge_h, inner, outer, shown = state
        d_charge = into_charge = 0.0
        for second in (False, True):
            place = (pot_h - self._start) * self._inv_step
            i = int(place)
            pot = grid[i] + (grid[i + 1] - grid[i]) * (place - i)
            element_k, pot_k, ahead = element + KELVIN, pot + KELVIN, element - pot
            element2, pot2 = element_k * element_k, pot_k * pot_k
            into_pot = radiation * (element2 * element2 - pot2 * pot2) + gas * ahead
            if lid_off:
                off_top = mouth_radiation * (pot2 * pot2 - room4) + mouth_air * (pot - room)
            else:
                off_top = lid_on * (pot - room)
            if mass_g > 0.0:
                h0, charge, slope, liquid, gain = pieces[bisect_right(nodes, charge_h) - 1]
                charge, liquid = charge + slope * (charge_h - h0), liquid + gain * (charge_h - h0)
                touch = (solid + more_liquid * liquid) * contact + to_charge * pot2 * pot_k
                into_charge = touch * (pot - charge)
                d_charge = into_charge / mass_g
            into_lining, through = to_lining * (element - inner), between * (inner - outer)
            off_out = outside * (outer - room)
            d_element = (power_w - into_pot - into_lining) * inv_element
            d_pot = (into_pot - into_charge - off_top) * inv_pot
            d_inner, d_outer = (into_lining - through) * inv_inner, (through - off_out) * inv_outer
            d_shown = (pot + weight * ahead - shown) * inv_lag
            if second:
                break
            a_element, a_pot, a_charge, a_inner = d_element, d_pot, d_charge, d_inner
            a_outer, a_shown, a_top, a_out = d_outer, d_shown, off_top, off_out
            element, pot_h = element + dt * d_element, pot_h + dt * d_pot
            charge_h, inner = charge_h + dt * d_charge, inner + dt * d_inner
            outer, shown = outer + dt * d_outer, shown + dt * d_shown
        half = 0.5 * dt
        # From the end of the first slope back to the mean one: x + dt a + dt/2 (b - a).
        after = (
            element + half * (d_element - a_element), pot_h + half * (d_pot - a_pot),
            charge_h + half * (d_charge - a_charge), inner + half * (d_inner - a_inner),
            outer + half * (d_outer - a_outer), shown + half * (d_shown - a_shown),
        )  # fmt: skip
        return after, half * (a_top + off_top), half * (a_out + off_out)
