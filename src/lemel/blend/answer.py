"""From charges to the answer's heats."""

from __future__ import annotations

from statistics import NormalDist

from lemel.blend.build import HOLD, kappa
from lemel.blend.charge import Charged, element_g, figures
from lemel.blend.faces import BlendProblem, HeatBlend
from lemel.blend.hold import mender
from lemel.values import REST, Composition

__all__ = ["heat_blend", "poured_composition"]

NOBLE = ("Ag", "Au", "Pt", "Pd", "Rh", "Ir", "Ru")


def heat_blend(problem: BlendProblem, charged: Charged) -> HeatBlend:
    """One heat as it will be charged, with what may be promised of it."""
    heat = problem.heats[charged.heat]
    if charged.mass_g <= 0:
        return HeatBlend(heat.id, False, 0.0, {}, {}, None, 0.0, 0.0, 0.0, 0.0)
    now = figures(problem, charged)
    mean, sd = now.fine_g / now.poured_g, now.sd_g / now.poured_g
    margin = mean - heat.least
    mends = mender(problem, heat) if heat.course == HOLD else None
    certain = 1.0 if margin >= -1e-12 else 0.0
    probability = NormalDist().cdf(margin / sd) if sd > 0 else certain
    return HeatBlend(
        id=heat.id,
        formed=True,
        mass_g=round(charged.mass_g, 9),
        lots={problem.lots[i].id: grams for i, grams in sorted(charged.lots.items())},
        additions={
            problem.additions[a].id: grams for a, grams in sorted(charged.additions.items())
        },
        composition=poured_composition(problem, charged),
        mean=mean,
        sd=sd,
        promised=mean - kappa(heat.probability) * sd,
        probability=probability,
        giveaway_fine_g=now.fine_g - heat.least * now.poured_g,
        poured_g=now.poured_g,
        correction_with=mends.id if mends is not None else "",
        correction_g=now.correction_g,
        correction_most_g=now.correction_most_g,
    )


def poured_composition(problem: BlendProblem, charged: Charged) -> Composition:
    """What is poured: every precious metal conserved, the loss taken from base metal and rest."""
    bodies = [problem.lots[i].mean for i in charged.lots]
    bodies += [problem.additions[a].composition for a in charged.additions]
    names = sorted({element for body in bodies for element in body.elements})
    grams = {element: element_g(problem, charged, element) for element in names}
    grams[REST] = element_g(problem, charged, REST)
    loss = charged.mass_g - figures(problem, charged).poured_g
    base = [name for name in grams if name not in NOBLE and grams[name] > 0]
    total = sum(grams[name] for name in base)
    if loss > 0 and total > 0:
        kept = max(0.0, 1 - loss / total)
        grams |= {name: grams[name] * kept for name in base}
    rest = grams.pop(REST)
    return Composition.of(grams, rest)
