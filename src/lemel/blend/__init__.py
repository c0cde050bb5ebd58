"""Which lots and additions make which heat.

Comes in: a `BlendProblem` (lots with means and shared errors, additions, heats, demands).
Goes out: a `BlendAnswer` with a plan in balance steps, its proven gap and why.
May ask: `solve` and `tables` only; siblings are met in `plan`.
"""

from lemel.blend.alligation import alternate, medial, partial, to_lower, to_raise, total
from lemel.blend.correct import Correction, Melt, correct, grams_to_mend
from lemel.blend.faces import (
    BlendAddition,
    BlendAnswer,
    BlendHeat,
    BlendLot,
    BlendOptions,
    BlendProblem,
    Demand,
    Heal,
    HeatBlend,
)
from lemel.blend.hand import hand_check
from lemel.blend.instance import from_instance
from lemel.blend.plan_heats import do, preview
from lemel.blend.promise import (
    CoursePrice,
    CourseTerms,
    EvidenceValue,
    Stair,
    courses,
    evidence,
    staircase,
)
from lemel.blend.seams import SeamChoice, Soldered, seams
from lemel.blend.whole_plan import per_heat_probability

__all__ = [
    "BlendAddition", "BlendAnswer", "BlendHeat", "BlendLot", "BlendOptions", "BlendProblem",
    "Correction", "CoursePrice", "CourseTerms", "Demand", "EvidenceValue", "Heal", "HeatBlend",
    "Melt", "SeamChoice", "Soldered", "Stair", "alternate", "correct", "courses", "do", "evidence",
    "from_instance", "grams_to_mend", "hand_check", "medial", "partial", "per_heat_probability",
    "preview", "seams", "staircase", "to_lower", "to_raise", "total",
]  # fmt: skip
