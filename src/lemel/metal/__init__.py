"""What a metal is: phases, enthalpy, density, working, standards, hazards.

Comes in: a `Composition`, a temperature, a strain, a fineness. Goes out: melting range,
phase shares, heat, density, hardness, standards met, cautions; each with grade, band and
source. May ask: tables and values only. Missing models answer with a wide band, never a stop.
"""

from lemel.metal.faces import HeatCurve, Melting, PhaseShare, Working
from lemel.metal.families import FAMILIES, family, may_meet
from lemel.metal.hazards import barred, contaminants, hazards
from lemel.metal.heat import enthalpy_j_g, heat_curve, heat_to_pour_j_g
from lemel.metal.melting import liquid_fraction, melting, phases
from lemel.metal.properties import (
    conductivity_w_mk,
    density_g_cm3,
    expansion_per_k,
    liquid_density_g_cm3,
    shrinkage,
)
from lemel.metal.report import AlloyReport, alloy_report
from lemel.metal.standards import (
    fineness_of,
    highest_mark,
    solder_least,
    standard,
    standards,
    standards_met,
)
from lemel.metal.vapour import activities, pure_vapour_pa, vapour_pa
from lemel.metal.working import flow_stress_mpa, hv_at, softening, strain_at_hv, working

__all__ = [
    "FAMILIES", "AlloyReport", "HeatCurve", "Melting", "PhaseShare", "Working", "activities",
    "alloy_report", "barred", "conductivity_w_mk", "contaminants", "density_g_cm3",
    "enthalpy_j_g", "expansion_per_k", "family", "fineness_of", "flow_stress_mpa", "hazards",
    "heat_curve", "heat_to_pour_j_g", "highest_mark", "hv_at", "liquid_density_g_cm3",
    "liquid_fraction", "may_meet", "melting", "phases", "pure_vapour_pa", "shrinkage",
    "softening", "solder_least", "standard", "standards", "standards_met", "strain_at_hv",
    "vapour_pa", "working",
]  # fmt: skip
