"""What a metal is: phases, enthalpy, density, working, standards, hazards.

Comes in: a `Composition`, a temperature, a strain, a fineness. Goes out: melting range,
phase shares, heat, density, hardness, standards met, cautions; each with grade, band and
source. May ask: tables and values only. Missing models answer with a wide band, never a stop.
"""

from lemel.metal.age_hardening import Ageing, ageing, orders_when_slow
from lemel.metal.colours import COLOURS, colour, colour_window, copper_share
from lemel.metal.curves import freezing, liquid_fraction_data, section_data
from lemel.metal.dangers import barred, contaminants, hazards
from lemel.metal.faces import (
    Freezing,
    HeatCurve,
    HeatLimits,
    LiquidData,
    Melting,
    PhaseShare,
    SectionData,
    Working,
)
from lemel.metal.families import FAMILIES, family, may_meet
from lemel.metal.fineness import (
    fineness_of,
    highest_mark,
    solder_least,
    standard,
    standards,
    standards_met,
    whole_article_least,
)
from lemel.metal.hardening import (
    flow_stress_mpa,
    heat_limits,
    hv_at,
    softening,
    strain_at_hv,
    working,
)
from lemel.metal.heat import enthalpy_j_g, heat_curve, heat_to_pour_j_g
from lemel.metal.many import melting_many
from lemel.metal.properties import (
    conductivity_w_mk,
    density_g_cm3,
    expansion_per_k,
    liquid_density_g_cm3,
    shrinkage,
)
from lemel.metal.ranges import liquid_fraction, melting, phases
from lemel.metal.report import AlloyReport, alloy_report
from lemel.metal.vapour import activities, pure_vapour_pa, vapour_pa
from lemel.metal.weighing import Weighed, Weighing, water_density_g_cm3, weigh

__all__ = [
    "COLOURS", "FAMILIES", "Ageing", "AlloyReport", "Freezing", "HeatCurve", "HeatLimits",
    "LiquidData", "Melting", "PhaseShare", "SectionData", "Weighed", "Weighing", "Working",
    "activities", "ageing", "alloy_report", "barred", "colour", "colour_window",
    "conductivity_w_mk", "contaminants", "copper_share", "density_g_cm3", "enthalpy_j_g",
    "expansion_per_k", "family", "fineness_of", "flow_stress_mpa", "freezing", "hazards",
    "heat_curve", "heat_limits", "heat_to_pour_j_g", "highest_mark", "hv_at",
    "liquid_density_g_cm3", "liquid_fraction", "liquid_fraction_data", "may_meet", "melting",
    "melting_many", "orders_when_slow", "phases", "pure_vapour_pa", "section_data", "shrinkage",
    "softening", "solder_least", "standard", "standards", "standards_met", "strain_at_hv",
    "vapour_pa", "water_density_g_cm3", "weigh", "whole_article_least", "working",
]  # fmt: skip
