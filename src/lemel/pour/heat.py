"""How hot the bath must be when the pot leaves the fire, and what it loses on its way."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from lemel import metal
from lemel.pour.figures import figure, is_plate, kind_row, pot_row
from lemel.tables import Tables
from lemel.values import Composition, Crucible, Mould

__all__ = [
    "PourHeat", "delta_f_to_k", "lift_out_k_s", "pour_heat", "pour_window_s", "stream_drop_k",
]  # fmt: skip

STEFAN_BOLTZMANN_W_M2K4 = 5.670374419e-8
KELVIN = 273.15
ROOM_C = 20.0


def delta_f_to_k(difference_f: float) -> float:
    """A temperature *difference* in degrees Fahrenheit as kelvin: five ninths, never minus 32.

    Source: definition of the scales. 100 degF of superheat are 55.6 K; the "38 degrees" that
    circulates is 100 degF converted as if it were a temperature.

    >>> round(delta_f_to_k(100), 1)
    55.6
    """
    return difference_f * 5 / 9


@dataclass(frozen=True, slots=True)
class PourHeat:
    """The parts of the bath temperature at lift-out, all above the liquidus, in kelvin."""

    liquidus_c: float
    mould_k: float
    lift_out_k: float
    stream_k: float

    @property
    def bath_c(self) -> float:
        """What the bath must be when the pot leaves the fire."""
        return self.liquidus_c + self.mould_k + self.lift_out_k + self.stream_k


def _radiated_w_m2(temp_c: float, room_c: float = ROOM_C) -> float:
    return STEFAN_BOLTZMANN_W_M2K4 * ((temp_c + KELVIN) ** 4 - (room_c + KELVIN) ** 4)


@lru_cache(maxsize=512)
def liquid_j_gk(body: Composition, tables: Tables | None = None) -> float:
    """Heat capacity of the liquid just above its liquidus, J/gK.

    From two enthalpies: a whole heat curve would cost many times as much for this one slope.
    """
    low_c = metal.melting(body, tables=tables).liquidus_c + 10
    step_k = 40.0
    low, high = (metal.enthalpy_j_g(body, c, tables=tables) for c in (low_c, low_c + step_k))
    return (high - low) / step_k


def lift_out_k_s(
    body: Composition,
    mass_g: float,
    temp_c: float,
    pot: Crucible | None = None,
    *,
    tables: Tables | None = None,
) -> float:
    """How fast a lifted pot cools without a flame, K/s.

    [eps sigma A (T^4 - Ta^4) + h A (T - Ta)] / (m_pot c_pot + m c_liquid). `pot` None: the
    assumed graphite pot of the table. Valid for red-hot pots in still air. Area, emissivity
    and air are estimates: measure by lifting and returning a full pot. Unchecked: the source
    gives no worked example.
    """
    area_m2 = figure("lift_area_m2", tables)
    pot_g = pot.mass_g if pot else figure("pot_g", tables)
    pot_j_gk = pot_row(pot.material if pot else "graphite", tables).number("c_hot_j_gk")
    # A light dish shows less surface, a large pot more: area goes with mass to the power 2/3.
    area_m2 *= (pot_g / figure("pot_g", tables)) ** (2 / 3)
    lost_w: float = area_m2 * (
        figure("lift_emissivity", tables) * _radiated_w_m2(temp_c)
        + figure("lift_h_w_m2k", tables) * (temp_c - ROOM_C)
    )
    return lost_w / (pot_g * pot_j_gk + mass_g * liquid_j_gk(body, tables))


def stream_drop_k(
    body: Composition,
    temp_c: float,
    *,
    diameter_mm: float | None = None,
    fall_mm: float | None = None,
    emissivity: float | None = None,
    tables: Tables | None = None,
) -> float:
    """What a falling stream loses between lip and mould, K: 4 q t / (rho c d).

    q is radiation and air on the surface of the stream, t the time of a free fall from rest.
    Unchecked: the source gives no worked example.
    """
    d_m = (diameter_mm or figure("stream_diameter_mm", tables)) / 1000
    fall_m = (fall_mm or figure("stream_fall_mm", tables)) / 1000
    eps = figure("stream_emissivity", tables) if emissivity is None else emissivity
    start_m_s = figure("stream_start_mm_s", tables) / 1000
    g = 9.81
    seconds = (math.sqrt(start_m_s**2 + 2 * g * fall_m) - start_m_s) / g
    flux_w_m2 = eps * _radiated_w_m2(temp_c) + figure("stream_h_w_m2k", tables) * (temp_c - ROOM_C)
    rho_kg_m3 = metal.liquid_density_g_cm3(body, temp_c, tables=tables) * 1000
    return 4 * flux_w_m2 * seconds / (rho_kg_m3 * liquid_j_gk(body, tables) * 1000 * d_m)


def mould_superheat_k(mould: Mould | None, tables: Tables | None = None) -> float:
    """What the mould asks above the liquidus: more for thin plates, less for open troughs."""
    if mould is None:
        return kind_row("button", tables).number("superheat_k")
    if is_plate(mould) and mould.cavity.thickness_mm < figure("thin_plate_mm", tables):
        return figure("thin_superheat_k", tables)
    return kind_row(mould.kind, tables).number("superheat_k")


def pour_heat(
    body: Composition,
    mould: Mould | None,
    mass_g: float,
    *,
    pot: Crucible | None = None,
    lift_out_s: float | None = None,
    tables: Tables | None = None,
) -> PourHeat:
    """Liquidus + mould superheat + lift-out loss + stream loss, each apart.

    A button (mould None) is not lifted out: only its superheat counts. The usual sum is 40 to
    75 K above the liquidus (common practice, no source).
    """
    liquidus_c = metal.melting(body, tables=tables).liquidus_c
    mould_k = mould_superheat_k(mould, tables)
    if mould is None:
        return PourHeat(liquidus_c, mould_k, 0.0, 0.0)
    seconds = figure("lift_out_s", tables) if lift_out_s is None else lift_out_s
    at_mould_c = liquidus_c + mould_k
    rate = lift_out_k_s(body, mass_g, at_mould_c + 10, pot, tables=tables)
    return PourHeat(
        liquidus_c, mould_k, rate * seconds, stream_drop_k(body, at_mould_c, tables=tables)
    )


def pour_window_s(
    body: Composition,
    mass_g: float,
    bath_c: float,
    *,
    pot: Crucible | None = None,
    tables: Tables | None = None,
) -> float:
    """Seconds from lift-out in which the stream still arrives above the liquidus."""
    liquidus_c = metal.melting(body, tables=tables).liquidus_c
    spare_k = (
        bath_c
        - liquidus_c
        - figure("window_reserve_k", tables)
        - stream_drop_k(body, max(bath_c, liquidus_c), tables=tables)
    )
    return max(0.0, spare_k / lift_out_k_s(body, mass_g, max(bath_c, 200.0), pot, tables=tables))
