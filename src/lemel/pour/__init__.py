"""Moulds, fill, chill: which mould serves a need, and what one pour gives.

Comes in: an `IngotNeed` with moulds and a composition (`need`), or so much metal at such a heat
into one mould (`do`). Goes out: `PourNeed`, `PourPlan` with cold bars, feeder, rest and residue.
May ask: metal (melting range, heat, density), tables, values.
"""

from lemel.pour.backwards import BUTTON, need
from lemel.pour.chill import mould_equilibrium_c, mould_wait_s, warm_up_min
from lemel.pour.faces import Casting, MouldChoice, PourNeed, PourPlan, PourProblem, ingot_sections
from lemel.pour.fill import Cavity, button_size, cavity, cold_bar, fed_share, partial_length_mm
from lemel.pour.forwards import do
from lemel.pour.freeze import (
    biot,
    chvorinov_s,
    freeze_time_s,
    least_pour_rate_g_s,
    modulus_mm,
    riser_diameter,
    run_length_mm,
    sprue_fill_s,
    sprue_flow_mm3_s,
)
from lemel.pour.heat import (
    PourHeat,
    delta_f_to_k,
    lift_out_k_s,
    pour_heat,
    pour_window_s,
    stream_drop_k,
)
from lemel.pour.library import mould_library

__all__ = [
    "BUTTON", "Casting", "Cavity", "MouldChoice", "PourHeat", "PourNeed", "PourPlan",
    "PourProblem", "biot", "button_size", "cavity", "chvorinov_s", "cold_bar", "delta_f_to_k",
    "do", "fed_share", "freeze_time_s", "ingot_sections", "least_pour_rate_g_s",
    "lift_out_k_s", "modulus_mm", "mould_equilibrium_c", "mould_library", "mould_wait_s",
    "need", "partial_length_mm", "pour_heat", "pour_window_s", "riser_diameter",
    "run_length_mm", "sprue_fill_s", "sprue_flow_mm3_s", "stream_drop_k", "warm_up_min",
]  # fmt: skip
