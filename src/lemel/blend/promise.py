"""What the promise costs, what evidence would save, and the three courses side by side."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

from lemel.blend.build import HOLD, PROVE, kappa
from lemel.blend.charge import Charged
from lemel.blend.explain import margin_shares
from lemel.blend.faces import BlendAnswer, BlendHeat, BlendOptions, BlendProblem
from lemel.blend.hold import mean_shortfall, mender
from lemel.blend.judge import judge
from lemel.blend.plan_heats import do
from lemel.blend.rules import rule
from lemel.blend.whole_plan import per_heat
from lemel.tables import Tables
from lemel.values import Saying, Watch, quiet

__all__ = [
    "CoursePrice", "CourseTerms", "EvidenceValue", "Stair", "courses", "evidence", "staircase",
]  # fmt: skip

LEVELS = (0.5, 0.9, 0.95, 0.99, 0.995, 0.999)
FIRST_LEVELS = (0.5, 0.8, 0.9, 0.95, 0.99)


@dataclass(frozen=True, slots=True)
class Stair:
    """The plan at one probability: its cost, and the fine metal tied up above the standard.

    `possible` False: there is no plan at this probability. `extra` is the cost above the
    even-odds plan.
    """

    probability: float
    possible: bool
    cost: float
    extra: float
    tied_fine_g: float


def staircase(
    problem: BlendProblem, levels: Sequence[float] = LEVELS, *, watch: Watch = quiet
) -> tuple[Stair, ...]:
    """The price of the promise: the whole problem solved again at each probability.

    A staircase, not a slope: where whole pieces change, no marginal price tells the step.
    A plan for a higher level also serves the lower ones, so that within the solver's gap
    costs are mended to never fall.
    """
    judge(problem)
    stairs: list[Stair] = []
    for level in sorted(levels):
        heats = tuple(dataclasses.replace(heat, probability=level) for heat in problem.heats)
        answer = do(_quick(dataclasses.replace(problem, heats=heats)), watch=watch)
        if answer.cost is None:
            stairs.append(Stair(level, False, math.inf, math.inf, 0.0))
            continue
        tied = math.fsum(heat.giveaway_fine_g for heat in answer.heats)
        stairs.append(Stair(level, True, answer.cost, 0.0, tied))
    cheapest = math.inf
    mended = []
    for stair in reversed(stairs):
        cheapest = min(cheapest, stair.cost)
        mended.append(dataclasses.replace(stair, cost=cheapest, possible=cheapest < math.inf))
    base = mended[-1].cost
    return tuple(dataclasses.replace(s, extra=s.cost - base) for s in reversed(mended))


@dataclass(frozen=True, slots=True)
class EvidenceValue:
    """What assaying one lot first would save, if the assay confirms the present mean.

    `margin_fine_g` is the fine metal that its doubt now costs; `saving` is the cost of the
    plan less that of the plan with the lot's spread at the assay's; `net` less the fee.
    """

    lot: str
    margin_fine_g: float
    saving: float
    fee: float
    net: float
    days: float


def evidence(
    problem: BlendProblem,
    answer: BlendAnswer,
    *,
    fee: float = 0.0,
    days: float = 0.0,
    assay_sd: float | None = None,
    most: int = 6,
    tables: Tables | None = None,
    watch: Watch = quiet,
) -> tuple[EvidenceValue, ...]:
    """Which lot to assay first: the `most` dearest doubts solved again, best saving first.

    Rests on the assay confirming the present estimate; the mean saving over all outcomes
    is somewhat larger, since surprises can be acted upon.
    """
    if answer.cost is None:
        return ()
    problem = per_heat(problem)
    spread = rule("assay_sd", tables) if assay_sd is None else assay_sd
    shares: dict[str, float] = {}
    place = {lot.id: i for i, lot in enumerate(problem.lots)}
    added = {addition.id: a for a, addition in enumerate(problem.additions)}
    for h, heat in enumerate(answer.heats):
        lots = {place[name]: grams for name, grams in heat.lots.items()}
        metals = {added[name]: grams for name, grams in heat.additions.items()}
        for name, share in margin_shares(problem, Charged(h, lots, metals)).items():
            if name in place:
                shares[name] = shares.get(name, 0.0) + share
    dearest = sorted(shares, key=lambda name: (-shares[name], name))[:most]
    values = []
    for name in dearest:
        if watch.cancelled():
            break
        lots_now = tuple(
            dataclasses.replace(lot, own_sd=spread, loading={}) if lot.id == name else lot
            for lot in problem.lots
        )
        surer = do(_quick(dataclasses.replace(problem, lots=lots_now)), watch=watch)
        saving = 0.0 if surer.cost is None else max(0.0, answer.cost - surer.cost)
        values.append(EvidenceValue(name, shares[name], saving, fee, saving - fee, days))
    return tuple(sorted(values, key=lambda value: (-value.net, value.lot)))


@dataclass(frozen=True, slots=True)
class CourseTerms:
    """What the courses cost beside metal. `own_instrument` False: nothing on the bench
    answers within the hold limit, so hold_and_correct is not to be had."""

    own_instrument: bool = True
    assay_fee: float = 0.0
    assay_days: float = 0.0
    assay_sd: float = 0.0006
    second_melt_cost: float = 0.0


@dataclass(frozen=True, slots=True)
class CoursePrice:
    """One course with its whole expected price.

    `cost` is the answer's cost with fees, the chance of a second melt and the expected
    correction; `tied_fine_g` the fine metal above the standard that stays in the bars (tied
    up, not lost); `bought_g` the additions, expected corrections included; `second_melt`
    the probability of one.
    """

    course: str
    possible: bool
    answer: BlendAnswer
    cost: float
    bought_g: float
    tied_fine_g: float
    fees: float
    days: float
    second_melt: float
    explain: tuple[Saying, ...] = ()


def courses(
    problem: BlendProblem, terms: CourseTerms | None = None, *, watch: Watch = quiet
) -> tuple[CoursePrice, ...]:
    """one_shot, hold_and_correct and pour_prove_remelt, each at its best, side by side."""
    terms, problem = terms or CourseTerms(), per_heat(problem)
    priced = [_one_shot(problem, watch)]
    if terms.own_instrument:
        priced.append(_held(problem, watch))
    priced.append(_proved(problem, terms, watch))
    return tuple(priced)


def _quick(problem: BlendProblem) -> BlendProblem:
    options: BlendOptions = dataclasses.replace(problem.options, explain=False)
    return dataclasses.replace(problem, options=options)


def _with(problem: BlendProblem, course: str, **options: float) -> BlendProblem:
    heats = tuple(dataclasses.replace(heat, course=course) for heat in problem.heats)
    quick = _quick(dataclasses.replace(problem, heats=heats))
    return dataclasses.replace(quick, options=dataclasses.replace(quick.options, **options))  # type: ignore[arg-type]


def _priced(course: str, answer: BlendAnswer, **more: float) -> CoursePrice:
    bought = math.fsum(g for heat in answer.heats for g in heat.additions.values())
    bought += math.fsum(heat.correction_g for heat in answer.heats)
    tied = math.fsum(heat.giveaway_fine_g for heat in answer.heats)
    fees, days = more.get("fees", 0.0), more.get("days", 0.0)
    extra, second = more.get("extra", 0.0), more.get("second_melt", 0.0)
    cost = math.inf if answer.cost is None else answer.cost + fees + extra
    return CoursePrice(
        course, answer.cost is not None, answer, cost, bought, tied, fees, days, second
    )


def _one_shot(problem: BlendProblem, watch: Watch) -> CoursePrice:
    return _priced("one_shot", do(_with(problem, "one_shot"), watch=watch))


def _held(problem: BlendProblem, watch: Watch) -> CoursePrice:
    return _priced(HOLD, do(_with(problem, HOLD), watch=watch))


def _proved(problem: BlendProblem, terms: CourseTerms, watch: Watch) -> CoursePrice:
    """The best first promise among a few: second melts against metal."""
    best: CoursePrice | None = None
    for level in FIRST_LEVELS:
        posed = _with(problem, PROVE, first_probability=level)
        answer = do(posed, watch=watch)
        found = _expected(posed, answer, terms)
        if best is None or found.cost < best.cost:
            best = found
    assert best is not None
    return best


def _expected(problem: BlendProblem, answer: BlendAnswer, terms: CourseTerms) -> CoursePrice:
    formed = [heat for heat in answer.heats if heat.formed]
    by_id: dict[str, BlendHeat] = {heat.id: heat for heat in problem.heats}
    extra, chance = 0.0, 0.0
    for heat in formed:
        spec = by_id[heat.id]
        margin = kappa(spec.probability) * terms.assay_sd
        over = (heat.mean - spec.least - margin) * heat.poured_g
        spread = heat.sd * heat.poured_g
        again = NormalDist().cdf(-over / spread) if spread > 0 else float(over < 0)
        mends = mender(problem, spec)
        per_g = 0.0 if mends is None else mends.net_per_g * mends.grams_per_fine_g
        extra += again * terms.second_melt_cost + per_g * mean_shortfall(over, spread)
        chance = 1 - (1 - chance) * (1 - again)
    return _priced(
        PROVE, answer, fees=terms.assay_fee * len(formed),
        days=terms.assay_days * (1 + chance), extra=extra, second_melt=chance,
    )  # fmt: skip
