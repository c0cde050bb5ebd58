"""The six balances of the furnace and one step over them, for one furnace or many."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

__all__ = [
    "KELVIN", "QUICK_SHARE", "STEFAN_BOLTZMANN_W_M2K4", "HeunStep", "contact_w_k", "furnace_terms",
]  # fmt: skip

STEFAN_BOLTZMANN_W_M2K4 = 5.670374419e-8
KELVIN = 273.15
#: Longest step over the time in which a molten charge follows its pot (Heun is stable to 2).
QUICK_SHARE = 1.3


def furnace_terms(v: Mapping[str, Any], ambient_c: float) -> tuple[Any, ...]:
    """Products and inverses that stay the same over a run, in the order a step unpacks them.

    `v` holds the parameters of `FurnaceModel` by name, as numbers or as columns.
    """
    sigma, m2 = STEFAN_BOLTZMANN_W_M2K4, 1e-6
    mouth_m2 = m2 * v["lid_area_mm2"]
    return (
        sigma * m2 * v["radiation_mm2"], v["gas_w_k"], v["element_lining_w_k"], v["lining_w_k"],
        v["outside_w_k"], v["solid_w_k"], v["liquid_w_k"] - v["solid_w_k"],
        4 * sigma * m2 * v["charge_radiation_mm2"], sigma * mouth_m2 * v["lid_emissivity"],
        mouth_m2 * v["lid_h_w_m2k"], v["lid_on_w_k"], ambient_c, (ambient_c + KELVIN) ** 4,
        1 / v["element_j_k"], 1 / v["pot_g"], 1 / v["lining_inner_j_k"],
        1 / v["lining_outer_j_k"], v["display_weight"], 1 / v["display_lag_s"],
    )  # fmt: skip


def contact_w_k(v: Mapping[str, Any], contact: Any) -> Any:
    """The most that may pass between pot and molten charge for each kelvin, W.

    Radiation between them is taken at 1200 degC, the hottest that it will be.
    """
    return v["liquid_w_k"] * contact + 0.73e-3 * v["charge_radiation_mm2"]


class HeunStep:
    """One step of Heun's method over the six balances of a furnace.

    Element: P - q_ec - G_e1 (Te - T1). Pot: q_ec - q_cm - q_top. Charge: q_cm. Shells: in minus
    out. Display: lag behind a mean of element and pot. q_ec is radiation (fourth powers of
    kelvin) and conduction; q_cm grows from solid contact to liquid contact with the melted
    share; q_top is small with the lid on, radiation and air with the lid off.

    States, in order: element degC, pot J/g, charge J/g, inner shell degC, outer shell degC,
    display degC. They, the terms and the power are plain numbers for one furnace and columns for
    many: there is nothing here but arithmetic, and the two lookups (pot and charge by their
    enthalpy) are given by the caller.
    """

    __slots__ = ("_charge_at", "_pot_at", "_terms")

    def __init__(
        self,
        terms: tuple[Any, ...],
        pot_at: Callable[[Any], Any],
        charge_at: Callable[[Any], tuple[Any, Any]],
    ) -> None:
        self._terms, self._pot_at, self._charge_at = terms, pot_at, charge_at

    def __call__(
        self, state: Any, mass_g: float, contact: Any, power_w: Any, lid_off: bool, dt: float
    ) -> tuple[tuple[Any, ...], Any, Any]:
        """The state after `dt` seconds, and the joules lost at the top and outside meanwhile.

        `contact` is the share of full contact between pot and charge. One body, a loop over
        both stages, plain local names: that halves the time.
        """
        (
            radiation, gas, to_lining, between, outside, solid, more_liquid, to_charge,
            mouth_radiation, mouth_air, lid_on, room, room4, inv_element, inv_pot, inv_inner,
            inv_outer, weight, inv_lag,
        ) = self._terms  # fmt: skip
        pot_at, charge_at = self._pot_at, self._charge_at
        element, pot_h, charge_h, inner, outer, shown = state
        d_charge = into_charge = 0.0
        for second in (False, True):
            pot = pot_at(pot_h)
            element_k, pot_k, ahead = element + KELVIN, pot + KELVIN, element - pot
            element2, pot2 = element_k * element_k, pot_k * pot_k
            into_pot = radiation * (element2 * element2 - pot2 * pot2) + gas * ahead
            if lid_off:
                off_top = mouth_radiation * (pot2 * pot2 - room4) + mouth_air * (pot - room)
            else:
                off_top = lid_on * (pot - room)
            if mass_g > 0.0:
                charge, liquid = charge_at(charge_h)
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
