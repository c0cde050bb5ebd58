"""A promise for all heats together: shared out before solving, reckoned exactly after.

Before: each of n heats is planned to 1 - (1 - P) / n (Bonferroni's inequality), which is
safe whatever the heats share. After: the probability that all of them keep their standards
is an n-fold normal integral. Given what they share the heats are independent, so it is the
mean over the shared errors u of the product of Phi((surplus_h + load_h . u) / own_h),
taken over a seeded low-discrepancy set of u (A. Genz and F. Bretz, *Computation of
Multivariate Normal and t Probabilities*, 2009, chapter 4, from memory).
"""

from __future__ import annotations

import dataclasses
import math
import random
from collections import defaultdict
from collections.abc import Sequence
from statistics import NormalDist
from typing import TYPE_CHECKING

from lemel.blend.charge import Charged, figures
from lemel.blend.faces import BlendProblem
from lemel.values import is_positive

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["all_together", "per_heat", "per_heat_probability"]

#: Points of the integral: within 1e-4 for three heats, within 1e-3 for twenty.
POINTS = 8192
#: Spread (g of fine metal) below which a heat counts as certain.
CERTAIN_G = 1e-9


def per_heat_probability(probability: float, heats: int) -> float:
    """What each heat must promise so that all of them together keep `probability`.

    Bonferroni's inequality: safe whatever the heats share, a little more than needed where
    they share errors.

    >>> round(per_heat_probability(0.99, 3), 5)
    0.99667
    """
    is_positive("heats", heats)
    return 1 - (1 - probability) / heats


def per_heat(problem: BlendProblem) -> BlendProblem:
    """The same question with every heat's own share of a promise for the whole plan."""
    if problem.promise_per != "plan":
        return problem
    many = problem.promise_heats or len(problem.heats)
    heats = tuple(
        dataclasses.replace(heat, probability=per_heat_probability(heat.probability, many))
        for heat in problem.heats
    )
    return dataclasses.replace(problem, heats=heats, promise_per="heat")


def all_together(problem: BlendProblem, plan: Sequence[Charged]) -> float | None:
    """The probability that all formed heats keep their standards as charged.

    Errors that heats share (instruments, classes, a lot or an addition that goes into two of
    them) are counted once. None where nothing is formed, or where a course mends afterwards.
    """
    formed = [charged for charged in plan if charged.mass_g > 0]
    if not formed or any(problem.heats[c.heat].course != "one_shot" for c in formed):
        return None
    surplus = []
    for charged in formed:
        now = figures(problem, charged)
        surplus.append(now.fine_g - problem.heats[charged.heat].least * now.poured_g)
    own, shared = _loads(problem, formed)
    if len(formed) == 1 or not shared:
        spreads = [
            math.hypot(o, *(loads[h] for loads in shared)) for h, o in enumerate(own)
        ]  # fmt: skip
        return math.prod(_odds(s, t) for s, t in zip(surplus, spreads, strict=True))
    return _integral(surplus, own, shared, problem.options.seed)


def _loads(
    problem: BlendProblem, formed: Sequence[Charged]
) -> tuple[list[float], list[list[float]]]:
    """Each heat's own spread, and the loads of each shared error on the heats (g of fine)."""
    by_error: dict[str, dict[int, float]] = defaultdict(lambda: defaultdict(float))
    for h, charged in enumerate(formed):
        for i, grams in charged.lots.items():
            lot = problem.lots[i]
            by_error[f"lot {lot.id}"][h] += lot.own_sd * grams
            for factor, loading in lot.loading.items():
                by_error[f"factor {factor}"][h] += loading * grams
        for a, grams in charged.additions.items():
            addition = problem.additions[a]
            by_error[f"addition {addition.id}"][h] += addition.sd * grams
    own, shared = [0.0] * len(formed), []
    for loads in by_error.values():
        if len(loads) == 1:
            ((h, load),) = loads.items()
            own[h] = math.hypot(own[h], load)
        else:
            shared.append([loads.get(h, 0.0) for h in range(len(formed))])
    return own, shared


def _odds(surplus: float, spread: float) -> float:
    if spread <= CERTAIN_G:
        return float(surplus >= -CERTAIN_G)
    return NormalDist().cdf(surplus / spread)


def _integral(
    surplus: list[float], own: list[float], shared: list[list[float]], seed: int
) -> float:
    import numpy as np

    loads = np.array(shared).T
    values, vectors = np.linalg.eigh(loads @ loads.T)
    kept = values > 1e-12 * max(float(values[-1]), CERTAIN_G**2)
    root: Array = vectors[:, kept] * np.sqrt(values[kept])
    mean = np.array(surplus) + _normals(root.shape[1], seed) @ root.T
    spread = np.maximum(np.array(own), CERTAIN_G)
    odds = np.frompyfunc(NormalDist().cdf, 1, 1)(mean / spread).astype(float)
    return float(np.mean(np.prod(odds, axis=1)))


def _normals(dimensions: int, seed: int) -> Array:
    """Evenly laid standard normals: a lattice on the roots of the primes (Richtmyer), shifted
    by the seed, taken to normals in pairs (G. E. P. Box and M. E. Muller 1958)."""
    import numpy as np

    pairs = (dimensions + 1) // 2
    steps = np.sqrt(np.array(_primes(2 * pairs), float))
    dice = random.Random(seed)
    shift = np.array([dice.random() for _ in range(2 * pairs)])
    unit = (np.arange(1, POINTS + 1)[:, None] * steps + shift) % 1.0
    length = np.sqrt(-2 * np.log(np.clip(unit[:, :pairs], 1e-15, None)))
    angle = 2 * math.pi * unit[:, pairs:]
    return np.hstack([length * np.cos(angle), length * np.sin(angle)])[:, :dimensions]


def _primes(count: int) -> list[int]:
    found: list[int] = []
    number = 2
    while len(found) < count:
        if all(number % prime for prime in found):
            found.append(number)
        number += 1
    return found
