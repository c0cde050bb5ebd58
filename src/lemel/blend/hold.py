"""The course hold_and_correct: what the sample will probably ask for, priced beforehand.

Let m be the surplus of fine metal over the standard, less the margin for the sample's own
spread, and t the spread of the fine metal before the sample. After the sample the shortfall
is max(0, -m - t Z) with Z standard normal; its mean is

    t phi(u) - m (1 - Phi(u)),   u = m / t,

convex and homogeneous in (m, t), and so the greatest of its tangents
phi(u0) t - (1 - Phi(u0)) m: plain rows in a linear model. (Unchecked against a printed
worked example; checked against simulation in the tests.)
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from lemel.blend.admit import bar_of_addition
from lemel.blend.faces import BlendAddition, BlendHeat, BlendProblem

__all__ = ["ROOM_PROBABILITY", "Mender", "mean_shortfall", "mender", "tangents"]

NORMAL = NormalDist()
#: Places u0 of the tangents; between them the loss is under-rated by a part in a thousand of t.
STEPS = [k / 8 for k in range(-32, 33)]
#: The crucible must have room for the correction of this share of melts.
ROOM_PROBABILITY = 0.99


@dataclass(frozen=True, slots=True)
class Mender:
    """The addition that mends a poor melt: its place, grams per gram of missing fine metal
    and the money that a gram costs beyond what it is worth in the bar."""

    addition: int
    id: str
    grams_per_fine_g: float
    net_per_g: float


def mean_shortfall(surplus: float, spread: float) -> float:
    """Mean of max(0, -surplus - spread Z), in the units of the two.

    >>> round(mean_shortfall(0.0, 1.0), 4)  # 1 / sqrt(2 pi)
    0.3989
    """
    if spread <= 0:
        return max(0.0, -surplus)
    u = surplus / spread
    return spread * NORMAL.pdf(u) - surplus * (1 - NORMAL.cdf(u))


def tangents() -> list[tuple[float, float]]:
    """(share of the spread, share of the surplus) of each tangent: a t - b m."""
    return [(NORMAL.pdf(u), 1 - NORMAL.cdf(u)) for u in STEPS]


def mender(problem: BlendProblem, heat: BlendHeat) -> Mender | None:
    """The cheapest way to bring fine metal into the pot; None if nothing is rich enough."""
    worth = problem.options.stock_worth_per_g
    worth = _usual_worth(problem, heat) if worth is None else worth
    best: tuple[float, int, BlendAddition] | None = None
    for a, addition in enumerate(problem.additions):
        content = addition.composition.share(heat.main)
        if content <= heat.least + 1e-9 or bar_of_addition(addition, heat) is not None:
            continue
        price = max(0.0, addition.price_per_g - worth) / (content - heat.least)
        if best is None or (price, a) < best[:2]:
            best = (price, a, addition)
    if best is None:
        return None
    _, place, addition = best
    gain = addition.composition.share(heat.main) - heat.least
    return Mender(place, addition.id, 1 / gain, max(0.0, addition.price_per_g - worth))


def _usual_worth(problem: BlendProblem, heat: BlendHeat) -> float:
    """What a gram at the standard is worth by the lots' own value of fine metal."""
    fine = [(lot.mean.share(heat.main) * lot.mass_g, lot) for lot in problem.lots]
    total = math.fsum(grams for grams, _ in fine)
    value = math.fsum(lot.value_per_g * lot.mass_g for _, lot in fine)
    return value / total * heat.least if total > 0 else 0.0
