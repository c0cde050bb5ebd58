"""Scrap: what each lot is believed to be, and whether it may be melted.

Comes in: lots, readings, assayed heats, consents. Goes out: a `BeliefSet` with every error
that lots share, objections with remedies, heat families and colour windows. May ask:
metal, tables and values. It solves nothing and mixes nothing: that is the blend room's.
"""

from lemel.scrap.believe import believe
from lemel.scrap.colours import (
    colour_additions,
    colour_window,
    colours_of,
    may_join,
    same_colour,
)
from lemel.scrap.density import density_of, fineness_from_density
from lemel.scrap.faces import (
    AssayedHeat,
    BelievedHeat,
    BelievedReading,
    BelieveReport,
    Health,
    PouredHeat,
    ReportedReading,
    ScrapAnswer,
    ScrapProblem,
    YieldAnswer,
)
from lemel.scrap.gates import gate_codes, may_melt, questions
from lemel.scrap.lots import scrap_classes
from lemel.scrap.methods import may_prove, method_codes, method_sd
from lemel.scrap.report import report
from lemel.scrap.yields import learn_yields

__all__ = [
    "AssayedHeat", "BelieveReport", "BelievedHeat", "BelievedReading", "Health", "PouredHeat",
    "ReportedReading", "ScrapAnswer", "ScrapProblem", "YieldAnswer", "believe",
    "colour_additions", "colour_window", "colours_of", "density_of", "fineness_from_density",
    "gate_codes", "learn_yields", "may_join", "may_melt", "may_prove", "method_codes",
    "method_sd", "questions", "report", "same_colour", "scrap_classes",
]  # fmt: skip
