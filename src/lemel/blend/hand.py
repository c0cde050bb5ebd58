"""The plan written out as a goldsmith would reckon it: medial, margin, and the lever."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lemel.blend.alligation import medial, to_raise
from lemel.blend.build import asked, kappa
from lemel.blend.faces import BlendAnswer, BlendHeat, BlendProblem, HeatBlend
from lemel.blend.whole_plan import per_heat
from lemel.values import Quantity, Saying

__all__ = ["hand_check"]


def hand_check(problem: BlendProblem, answer: BlendAnswer) -> tuple[Saying, ...]:
    """Each heat line by line: mass times fineness, the sum and the mean (alligation medial),
    the margin for doubt, the proof by alligation alternate, and by the lever how much of the
    richest addition that takes."""
    problem = per_heat(problem)
    specs = {heat.id: heat for heat in problem.heats}
    return tuple(
        line
        for heat in answer.heats
        if heat.formed
        for line in _heat(problem, specs[heat.id], heat)
    )


def _heat(problem: BlendProblem, spec: BlendHeat, heat: HeatBlend) -> Iterator[Saying]:
    bodies = [
        (name, grams, next(lot.mean for lot in problem.lots if lot.id == name).fineness(spec.main))
        for name, grams in heat.lots.items()
    ]
    metals = [
        (name, grams, next(a.composition for a in problem.additions if a.id == name))
        for name, grams in heat.additions.items()
    ]
    bodies += [(name, grams, metal.fineness(spec.main)) for name, grams, metal in metals]
    for name, grams, fineness in bodies:
        yield Saying(
            "blend.hand.line",
            {
                "body": name, "grams": Quantity(grams, "g"),
                "fineness": Quantity(fineness, "millesimal"),
                "fine": Quantity(grams * fineness / 1000, "g"),
            },
        )  # fmt: skip
    loss = heat.mass_g - heat.poured_g
    if loss > 1e-9:
        yield Saying("blend.hand.loss", {"heat": heat.id, "loss": Quantity(loss, "g")})
    pairs = [(grams, fineness) for _, grams, fineness in bodies]
    mean = medial(pairs) * heat.mass_g / heat.poured_g
    fine = math.fsum(grams * fineness for grams, fineness in pairs) / 1000
    yield Saying(
        "blend.hand.sum",
        {
            "heat": heat.id, "grams": Quantity(heat.poured_g, "g"), "fine": Quantity(fine, "g"),
            "mean": Quantity(mean, "millesimal"),
        },
    )  # fmt: skip
    factor = kappa(asked(problem, spec))
    yield Saying(
        "blend.hand.margin",
        {
            "heat": heat.id, "times": factor, "sd": Quantity(heat.sd * 1000, "millesimal"),
            "promised": Quantity(mean - factor * heat.sd * 1000, "millesimal"),
            "least": Quantity(spec.least * 1000, "millesimal"),
        },
    )  # fmt: skip
    yield from _alternate(heat, bodies)
    lever = _lever(heat, bodies, mean)
    if lever is not None:
        yield lever


def _alternate(heat: HeatBlend, bodies: list[tuple[str, float, float]]) -> Iterator[Saying]:
    """The poorer metals and the richer ones, each melted together on paper, linked crosswise:
    so many parts of the one as the other lies off the mean."""
    mean = medial([(grams, fineness) for _, grams, fineness in bodies])
    poorer = [(grams, fineness) for _, grams, fineness in bodies if fineness < mean]
    richer = [(grams, fineness) for _, grams, fineness in bodies if fineness > mean]
    if not poorer or not richer:
        return
    low, high = medial(poorer), medial(richer)
    yield Saying(
        "blend.hand.alternate",
        {
            "heat": heat.id, "mean": Quantity(mean, "millesimal"),
            "low": Quantity(low, "millesimal"), "high": Quantity(high, "millesimal"),
            "low_parts": Quantity(high - mean, "millesimal"),
            "high_parts": Quantity(mean - low, "millesimal"),
            "low_grams": Quantity(math.fsum(grams for grams, _ in poorer), "g"),
            "high_grams": Quantity(math.fsum(grams for grams, _ in richer), "g"),
            "ratio": (high - mean) / (mean - low),
        },
    )  # fmt: skip


def _lever(heat: HeatBlend, bodies: list[tuple[str, float, float]], target: float) -> Saying | None:
    """Leave the richest addition out, and put it back by alligation."""
    richer = [body for body in bodies if body[0] in heat.additions and body[2] > target]
    if not richer or heat.mass_g - heat.poured_g > 1e-9:
        return None
    name, _, content = max(richer, key=lambda body: body[2])
    rest = [(grams, fineness) for body, grams, fineness in bodies if body != name]
    if not rest:
        return None
    mass, poorer = math.fsum(grams for grams, _ in rest), medial(rest)
    if poorer > target:
        return None
    return Saying(
        "blend.hand.lever",
        {
            "heat": heat.id, "addition": name, "rest": Quantity(mass, "g"),
            "poorer": Quantity(poorer, "millesimal"), "target": Quantity(target, "millesimal"),
            "content": Quantity(content, "millesimal"),
            "grams": Quantity(to_raise(mass, poorer, target, content), "g"),
        },
    )  # fmt: skip
