"""A plan in plain arithmetic: its cost, its figures and every limit that it breaks.

Nothing here knows the solver or how the program was written, so that a plan is judged
twice, by two ways.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from lemel.blend.admit import bar_of_addition, bar_of_lot
from lemel.blend.build import HOLD, asked, kappa
from lemel.blend.faces import BlendHeat, BlendProblem
from lemel.blend.hold import ROOM_PROBABILITY, mean_shortfall, mender

__all__ = ["Charged", "Fault", "Figures", "cost", "faults", "figures"]

#: Grams and shares below this are noise of floating point, not a broken limit.
NOISE = 1e-7


@dataclass(frozen=True, slots=True)
class Charged:
    """What goes into one heat: grams by lot and by addition index; empty if not formed."""

    heat: int
    lots: Mapping[int, float]
    additions: Mapping[int, float]

    @property
    def mass_g(self) -> float:
        """Grams put in."""
        return math.fsum([*self.lots.values(), *self.additions.values()])


@dataclass(frozen=True, slots=True)
class Fault:
    """A limit that a plan breaks, by how much (grams of metal)."""

    kind: str
    heat: str
    about: str
    by_g: float


@dataclass(frozen=True, slots=True)
class Figures:
    """Grams and spread of one charge: poured, fine, sd of the fine grams, fine to promise.

    For hold_and_correct, `correction_g` is the mean and `correction_most_g` the 99 percent
    point of what the sample will ask for.
    """

    poured_g: float
    fine_g: float
    sd_g: float
    surplus_g: float
    correction_g: float = 0.0
    correction_most_g: float = 0.0


def figures(problem: BlendProblem, charged: Charged) -> Figures:
    """What is believed of a charge. `surplus_g` is the fine metal beyond the promise:
    mean - kappa sd - standard x poured mass; at least 0 if the promise is kept (with the
    course pour_prove_remelt: the lower promise of the first pour)."""
    heat = problem.heats[charged.heat]
    poured, fine, own = [], [], []
    shared: dict[str, float] = defaultdict(float)
    for i, grams in charged.lots.items():
        lot = problem.lots[i]
        poured.append(lot.yield_fraction * grams)
        fine.append(lot.mean.share(heat.main) * grams)
        own.append((lot.own_sd * grams) ** 2)
        for factor, loading in lot.loading.items():
            shared[factor] += loading * grams
    for a, grams in charged.additions.items():
        addition = problem.additions[a]
        poured.append(grams)
        fine.append(addition.composition.share(heat.main) * grams)
        own.append((addition.sd * grams) ** 2)
    sd = math.sqrt(math.fsum([*own, *(pull * pull for pull in shared.values())]))
    total, mean = math.fsum(poured), math.fsum(fine)
    surplus = mean - kappa(asked(problem, heat)) * sd - heat.least * total
    mends = mender(problem, heat) if heat.course == HOLD else None
    if mends is None:
        return Figures(total, mean, sd, surplus)
    margin = kappa(heat.probability) * problem.options.sample_sd
    over = mean - (heat.least + margin) * total
    usual = mean_shortfall(over, sd) * mends.grams_per_fine_g
    most = max(0.0, kappa(ROOM_PROBABILITY) * sd - over) * mends.grams_per_fine_g
    return Figures(total, mean, sd, surplus, usual, most)


def element_g(problem: BlendProblem, charged: Charged, element: str, k: float = 0.0) -> float:
    """Grams of one element in a charge, each lot at mean + k standard deviations."""
    return math.fsum(
        [
            *(
                grams
                * (
                    problem.lots[i].mean.share(element)
                    + k * problem.lots[i].other_sd.get(element, 0.0)
                )
                for i, grams in charged.lots.items()
            ),
            *(
                grams * problem.additions[a].composition.share(element)
                for a, grams in charged.additions.items()
            ),
        ]
    )


def cost(problem: BlendProblem, plan: Sequence[Charged]) -> float:
    """Lots at value less the credit for age, additions, fixed costs, remainders."""
    parts: list[float] = []
    used: dict[int, float] = defaultdict(float)
    for charged in plan:
        heat = problem.heats[charged.heat]
        if heat.required or charged.mass_g > 0:
            parts.append(heat.fixed_cost)
        mends = mender(problem, heat) if heat.course == HOLD else None
        if mends is not None and charged.mass_g > 0:
            parts.append(figures(problem, charged).correction_g * mends.net_per_g)
        for i, grams in charged.lots.items():
            lot = problem.lots[i]
            parts.append(grams * (lot.value_per_g - problem.age_credit_g_day * lot.age_days))
            used[i] += grams
        parts += [
            grams * problem.additions[a].price_per_g for a, grams in charged.additions.items()
        ]
    for i, lot in enumerate(problem.lots):
        grams = used.get(i, 0.0)
        begun = lot.opened or grams > NOISE
        if not lot.whole and begun and grams < lot.mass_g - NOISE:
            parts.append(problem.remainder_penalty)
    return math.fsum(parts)


def faults(
    problem: BlendProblem, plan: Sequence[Charged], fine_slack_g: float = NOISE
) -> list[Fault]:
    """Every limit that the plan breaks; empty if it is sound. `fine_slack_g` lets a plan that
    is not yet weighed out miss its promise by a solver's tolerance."""
    found = [
        fault
        for charged in plan
        for fault in _in_heat(problem, charged)
        if fault.kind != "fineness" or fault.by_g > fine_slack_g
    ]
    found += _of_lots(problem, plan)
    for a, addition in enumerate(problem.additions):
        total = math.fsum(charged.additions.get(a, 0.0) for charged in plan)
        if addition.stock_g is not None and total > addition.stock_g + NOISE:
            found.append(Fault("stock", "", addition.id, total - addition.stock_g))
    poured = {problem.heats[c.heat].id: figures(problem, c).poured_g for c in plan}
    for demand in problem.demands:
        total = math.fsum(poured[heat] for heat in demand.heats)
        if total < demand.least_g - NOISE:
            found.append(Fault("demand", "", " ".join(demand.heats), demand.least_g - total))
    return found


def _in_heat(problem: BlendProblem, charged: Charged) -> Iterator[Fault]:
    heat = problem.heats[charged.heat]
    if charged.mass_g <= 0:
        if heat.required:
            yield Fault("mass_least", heat.id, "", heat.least_g)
        return
    for i, grams in charged.lots.items():
        bar = bar_of_lot(problem.lots[i], heat)
        if bar:
            yield Fault(bar, heat.id, problem.lots[i].id, grams)
    for a, grams in charged.additions.items():
        bar = bar_of_addition(problem.additions[a], heat)
        if bar:
            yield Fault(bar, heat.id, problem.additions[a].id, grams)
    for kind, about, by in _excesses(problem, charged, heat):
        if by > NOISE:
            yield Fault(kind, heat.id, about, by)


def _excesses(
    problem: BlendProblem, charged: Charged, heat: BlendHeat
) -> Iterator[tuple[str, str, float]]:
    now = figures(problem, charged)
    yield "mass_least", "", heat.least_g - now.poured_g
    yield "mass_most", "", now.poured_g - heat.most_g
    if heat.course == HOLD and mender(problem, heat) is not None:
        yield "room", "", now.poured_g + now.correction_most_g - heat.most_g
    else:
        yield "fineness", "", -now.surplus_g
    if heat.giveaway_most is not None:
        yield "giveaway", "", now.fine_g - (heat.least + heat.giveaway_most) * now.poured_g
    for element, limit in heat.impurity_most.items():
        if limit > 0:
            content = element_g(problem, charged, element, heat.impurity_k)
            yield "impurity", element, content - limit * now.poured_g
    for element, (low, high) in heat.shares.items():
        content = element_g(problem, charged, element)
        yield "share_least", element, low * now.poured_g - content
        yield "share_most", element, content - high * now.poured_g
    for owner, most_g in heat.owner_limit_g.items():
        total = math.fsum(g for i, g in charged.lots.items() if problem.lots[i].owner == owner)
        total += math.fsum(
            g for a, g in charged.additions.items() if problem.additions[a].owner == owner
        )
        yield "owner_limit", owner, total - most_g
    options = problem.options
    if options.guard_drop > 0:
        floor = now.fine_g - (heat.least - options.guard_short) * now.poured_g
        for i, grams in charged.lots.items():
            if problem.lots[i].doubt > options.guard_doubt:
                yield "guard", problem.lots[i].id, options.guard_drop * grams - floor


def _of_lots(problem: BlendProblem, plan: Sequence[Charged]) -> Iterator[Fault]:
    takes: dict[int, list[float]] = defaultdict(list)
    for charged in plan:
        for i, grams in charged.lots.items():
            takes[i].append(grams)
    for i, taken in sorted(takes.items()):
        lot, total = problem.lots[i], math.fsum(taken)
        left = lot.mass_g - total
        if left < -NOISE:
            yield Fault("lot_mass", "", lot.id, -left)
        if lot.whole and (len(taken) > 1 or abs(left) > NOISE):
            yield Fault("whole", "", lot.id, abs(left))
        if not lot.whole and min(taken) < min(lot.min_take_g, lot.mass_g) - NOISE:
            yield Fault("take", "", lot.id, lot.min_take_g - min(taken))
        if not lot.whole and NOISE < left < lot.min_remainder_g - NOISE:
            yield Fault("remainder", "", lot.id, lot.min_remainder_g - left)
