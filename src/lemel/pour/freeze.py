"""How fast the metal freezes in the mould, how far it runs before, and how fast to pour."""

from __future__ import annotations

import math

from lemel import metal
from lemel.pour.figures import figure, is_plate, kind_row
from lemel.pour.fill import cavity, wetted_mm
from lemel.tables import Tables
from lemel.values import Composition, Mould

__all__ = [
    "biot", "chvorinov_s", "freeze_time_s", "least_pour_rate_g_s", "modulus_mm", "riser_diameter",
    "run_length_mm", "sprue_fill_s", "sprue_flow_mm3_s",
]  # fmt: skip


def modulus_mm(mould: Mould) -> float:
    """Volume over cooled area of a long cavity, mm.

    >>> from lemel.values import Mould, Section
    >>> modulus_mm(Mould("B", "bar", Section.square(6), 90, 1500))
    1.5
    """
    return mould.cavity.area_mm2 / wetted_mm(mould)


def freeze_time_s(
    mould: Mould,
    body: Composition,
    pour_c: float,
    mould_c: float,
    *,
    surface_rise: bool = True,
    tables: Tables | None = None,
) -> float:
    """Time from full to frozen through, s; a factor of two either way until calibrated.

    The joint between metal and mould resists most: rho M [superheat / (h (T1 - Tm)) + heat of
    freezing / (h (T2 - Tm))] + B M^2, with B Chvorinov's constant for a thick mould (iron).
    `surface_rise` lets the mould's skin warm (2/3 of 2 q sqrt(t / (pi k rho c)), one
    iteration), which lengthens the time. The liquid fraction's heat is taken whole.
    Valid while Biot h M / k is well below 1. Source: Chvorinov (1940) for the last term, the
    rest from memory; h is an estimate that a logged mould replaces.
    """
    melting = metal.melting(body, tables=tables)
    curve = metal.heat_curve(body, tables=tables)
    h_w_m2k = mould.h_w_m2k.value
    rho_kg_m3 = metal.liquid_density_g_cm3(body, melting.liquidus_c, tables=tables) * 1000
    m_m = modulus_mm(mould) / 1000
    top_c = max(pour_c, melting.liquidus_c)
    # Half a kelvin either side takes in the whole step of a metal with one melting point.
    at_liquid = curve.enthalpy_at(melting.liquidus_c + 0.5) * 1000
    hot = max(0.0, curve.enthalpy_at(top_c) * 1000 - at_liquid)
    mushy = at_liquid - curve.enthalpy_at(melting.solidus_c - 0.5) * 1000
    mean_hot_c = (top_c + melting.liquidus_c) / 2
    mean_mushy_c = (melting.liquidus_c + melting.solidus_c) / 2

    def seconds(skin_c: float) -> float:
        sensible = hot / (h_w_m2k * (mean_hot_c - skin_c))
        freezing = mushy / (h_w_m2k * (mean_mushy_c - skin_c))
        return rho_kg_m3 * m_m * (sensible + freezing)

    wall = (
        figure("iron_k_w_mk", tables)
        * figure("iron_rho_g_cm3", tables)
        * 1000
        * figure("iron_c_j_gk", tables)
        * 1000
    )
    deep_s = math.pi / 4 * (rho_kg_m3 * mushy / (mean_mushy_c - mould_c)) ** 2 / wall * m_m**2
    first_s = seconds(mould_c)
    if not surface_rise:
        return first_s + deep_s
    flux = h_w_m2k * (mean_mushy_c - mould_c)
    rise_k = 2 / 3 * 2 * flux * math.sqrt(first_s / (math.pi * wall))
    return seconds(mould_c + min(rise_k, 0.5 * (mean_mushy_c - mould_c))) + deep_s


def biot(mould: Mould, body: Composition, tables: Tables | None = None) -> float:
    """h M / k: below 0.1 the metal has one temperature and the joint governs."""
    return (
        mould.h_w_m2k.value
        * modulus_mm(mould)
        / 1000
        / metal.conductivity_w_mk(body, tables=tables)
    )


def run_length_mm(
    mould: Mould,
    body: Composition,
    pour_c: float,
    mould_c: float,
    *,
    speed_mm_s: float | None = None,
    tables: Tables | None = None,
) -> float:
    """How far metal runs along the cavity before its tip stops, mm.

    v rho M [c dT + share x heat of freezing] / (h (T - Tm)); an alloy stops when its tip is
    mushy, a pure metal runs until it is frozen through. Source: form after Flemings (1974),
    from memory; unchecked: no worked example.
    """
    melting = metal.melting(body, tables=tables)
    curve = metal.heat_curve(body, tables=tables)
    pure = melting.freezing_range_k <= figure("pure_range_k", tables)
    share = figure("run_freeze_pure" if pure else "run_freeze_share", tables)
    top_c = max(pour_c, melting.liquidus_c)
    at_liquid = curve.enthalpy_at(melting.liquidus_c + 0.5)
    superheat = max(0.0, curve.enthalpy_at(top_c) - at_liquid)
    mushy = at_liquid - curve.enthalpy_at(melting.solidus_c - 0.5)
    heat_j_kg = 1000 * (superheat + share * mushy)
    rho_kg_m3 = metal.liquid_density_g_cm3(body, top_c, tables=tables) * 1000
    speed_m_s = (speed_mm_s or figure("run_speed_mm_s", tables)) / 1000
    mean_c = (top_c + melting.liquidus_c) / 2
    flux = mould.h_w_m2k.value * (mean_c - mould_c)
    return 1000 * speed_m_s * rho_kg_m3 * modulus_mm(mould) / 1000 * heat_j_kg / flux


def least_pour_rate_g_s(
    mould: Mould,
    body: Composition,
    pour_c: float,
    mould_c: float,
    *,
    tables: Tables | None = None,
) -> float:
    """The slowest pour that still fills an upright mould, g/s: m / (beta t_freeze).

    beta (0.6 for bars, 0.4 for plates) is an estimate.
    """
    beta = kind_row(mould.kind, tables).number("fill_share")
    seconds = freeze_time_s(mould, body, pour_c, mould_c, tables=tables)
    return cavity(mould, body, tables=tables).full_g / (beta * seconds)


def chvorinov_s(
    volume_mm3: float, area_mm2: float, constant_s_mm2: float, power: float = 2.0
) -> float:
    """Freezing time in a thick mould: constant x (V / A)^power. Source: Chvorinov (1940).

    Steel plate 300 x 100 x 20 mm, constant 4 min/cm2 (Groover, problem 10.15):

    >>> round(chvorinov_s(600e3, 76e3, 240 / 100) / 60, 2)
    2.49
    """
    return float(constant_s_mm2 * (volume_mm3 / area_mm2) ** power)


def riser_diameter(
    constant_s_mm2: float, freeze_s: float, height_over_diameter: float = 1.0
) -> float:
    """Diameter, mm, of a cylinder cooled all round that freezes in `freeze_s` by Chvorinov's rule.

    V / A of a cylinder with height r D is D / (4 + 2 / r). Source: Groover, example 10.3 (type).
    """
    return math.sqrt(freeze_s / constant_s_mm2) * (4 + 2 / height_over_diameter)


def sprue_flow_mm3_s(area_mm2: float, height_mm: float, g_m_s2: float = 9.81) -> float:
    """Volume flow at the foot of a sprue without losses: area x sqrt(2 g h).

    Source: Torricelli's law. Some examination keys take g = 10 m/s2: hence the argument. A
    printed exercise gives 173 942 for a foot of 10 mm under 250 mm:

    >>> import math
    >>> round(sprue_flow_mm3_s(math.pi / 4 * 10**2, 250))
    173944
    """
    return area_mm2 * math.sqrt(2 * g_m_s2 * 1000 * height_mm)


def sprue_fill_s(
    volume_mm3: float, area_mm2: float, height_mm: float, g_m_s2: float = 9.81
) -> float:
    """Time to fill a cavity through a sprue, s."""
    return volume_mm3 / sprue_flow_mm3_s(area_mm2, height_mm, g_m_s2)


def runs_through(
    mould: Mould,
    body: Composition,
    pour_c: float,
    mould_c: float,
    tables: Tables | None = None,
) -> bool:
    """Whether a plate's thin wall lets the metal across its width with reserve.

    Bars fill along their axis under their own head and are judged by the pour rate.
    """
    if not is_plate(mould):
        return True
    run_mm = run_length_mm(mould, body, pour_c, mould_c, tables=tables)
    return run_mm >= figure("run_reserve", tables) * mould.cavity.width_mm
