"""Several heats: a first plan from dealt pools, then one heat or two at a time made better."""

from __future__ import annotations

import dataclasses
import math
import random
from collections.abc import Sequence

from lemel.blend.admit import bar_of_lot
from lemel.blend.bounds import kinds
from lemel.blend.build import build
from lemel.blend.charge import Charged, cost, faults, figures
from lemel.blend.faces import BlendHeat, BlendProblem
from lemel.blend.parts import part, point
from lemel.blend.watching import Deaf, why
from lemel.blend.weigh import read
from lemel.solve import solve
from lemel.values import Watch

__all__ = ["Improver", "deal"]

#: Share of a lot above which the guide counts it as used.
USED_SHARE = 0.05
POOL_GAP = 1e-3
POOL_WORK = 20_000
ALL_WORK = 60_000
#: A pair sees its own lots and as many of the free ones as make this number.
SEEN_MANY, SEEN_FEW = 40, 60
PAIR_GAP = 3e-4
PAIR_WORK, MOST_PAIR_WORK = 8_000, 40_000
ONE_WORK = 4_000
RUN_WORK = 2_500
#: Grams of fine metal by which an exact plan may miss its cone before it is weighed out.
CONE_SLACK_G = 1e-5


def deal(problem: BlendProblem, guide: Sequence[float], watch: Watch) -> list[Charged] | None:
    """A first plan: every heat gets a pool of lots of equal richness and is solved alone.

    `guide[i]` is the share of lot i that a relaxation uses. Used and unused lots are sorted
    by their surplus of fine metal and dealt to the heats of each kind to and fro, so that
    no heat is left with what the others did not want. None if a heat finds nothing.
    """
    plan: list[Charged] = [Charged(h, {}, {}) for h in range(len(problem.heats))]
    pools = _pools(problem, guide)
    for h in range(len(problem.heats)):
        if watch.cancelled():
            return None
        heat = _needed(problem, plan, h)
        if heat is None:
            continue
        charged = _alone(problem, plan, heat, (h, pools[h]), POOL_WORK)
        if charged is None:
            taken = {i for c in plan for i in c.lots if problem.lots[i].whole}
            free = set(range(len(problem.lots))) - taken
            charged = _alone(problem, plan, heat, (h, free), ALL_WORK)
        if charged is None:
            return None
        plan[h] = charged
    return plan if not faults(problem, plan, CONE_SLACK_G) else None


def _needed(problem: BlendProblem, plan: Sequence[Charged], h: int) -> BlendHeat | None:
    """The heat as it must be formed now; None if it is optional and no demand waits for it."""
    heat = problem.heats[h]
    if heat.required:
        return heat
    lacking = 0.0
    for demand in problem.demands:
        if heat.id in demand.heats:
            places = [k for k, one in enumerate(problem.heats) if one.id in demand.heats]
            given = math.fsum(figures(problem, plan[k]).poured_g for k in places if plan[k].mass_g)
            waiting = sum(1 for k in places if k >= h)
            lacking = max(lacking, (demand.least_g - given) / waiting)
    if lacking <= 0:
        return None
    least = min(heat.most_g, max(heat.least_g, lacking))
    return dataclasses.replace(heat, required=True, least_g=least)


def _alone(
    problem: BlendProblem,
    plan: Sequence[Charged],
    heat: BlendHeat,
    pool: tuple[int, set[int]],
    work: int,
) -> Charged | None:
    h, lots = pool
    small = part(problem, plan, [h], lots)
    needed = dataclasses.replace(small.problem, demands=(), heats=(heat,))
    built = build(needed)
    solution = solve(built.program, gap=POOL_GAP, work_most=work, seed=problem.options.seed)
    if not solution.x:
        return None
    return small.outside(read(needed, built, solution.x)[0])


class Improver:
    """Makes a plan cheaper by solving one or two of its heats again with the rest held.

    A step is taken only if the whole plan, costed again in plain arithmetic, is cheaper and
    breaks no limit.
    """

    def __init__(self, problem: BlendProblem, plan: list[Charged], watch: Watch) -> None:
        self.problem, self.plan, self._watch = problem, plan, watch
        self.cost = cost(problem, plan)
        self.work = 0
        self._dice = random.Random(problem.options.seed)
        self._stale: set[tuple[int, ...]] = set()

    def run(self, work_most: int, bound: float) -> str:
        """Improve until nothing helps ("proof" if the bound is met), work or watch ends it."""
        heats = [h for h, charged in enumerate(self.plan) if charged.mass_g > 0]
        for h in heats:
            if self._stops(work_most):
                return self._why()
            self._step((h,), ONE_WORK)
        pairs = len(heats) * (len(heats) - 1) // 2
        fruitless, work = 0, PAIR_WORK
        while pairs and work <= MOST_PAIR_WORK:
            if self._stops(work_most):
                return self._why()
            if self.cost - bound <= self.problem.options.gap * abs(self.cost):
                return "proof"
            fruitless = 0 if self._step(self._pair(heats), work) else fruitless + 1
            if fruitless > 2 * pairs:
                fruitless, work = 0, 2 * work
                self._stale.clear()
            share = min(0.99, self.work / max(1, work_most))
            self._watch.tell(share, self.cost, bound)
        return "work"

    def _stops(self, work_most: int) -> bool:
        return self._watch.cancelled() or self.work >= work_most

    def _why(self) -> str:
        return why(self._watch) if self._watch.cancelled() else "work"

    def _pair(self, heats: list[int]) -> tuple[int, int]:
        """First the heats with the most bought metal or widest doubt against the least."""
        ranked = sorted(heats, key=lambda h: -self._trouble(h))
        for first in ranked[: max(2, len(heats) // 3)]:
            for second in reversed(ranked):
                pair = (min(first, second), max(first, second))
                if first != second and pair not in self._stale:
                    return pair
        one, two = self._dice.sample(heats, 2)
        return (min(one, two), max(one, two))

    def _trouble(self, h: int) -> float:
        charged = self.plan[h]
        bought = math.fsum(
            grams * self.problem.additions[a].price_per_g for a, grams in charged.additions.items()
        )
        return bought + figures(self.problem, charged).sd_g

    def _step(self, heats: tuple[int, ...], work: int) -> bool:
        small = part(self.problem, self.plan, heats, self._seen(heats))
        built = build(small.problem)
        here = [small.inside(self.plan[h]) for h in heats]
        start = point(small.problem, built, here)
        solution = solve(
            built.program, gap=PAIR_GAP, work_most=work, seed=self.problem.options.seed,
            watch=Deaf(self._watch), twins=built.twins, start=start, run_work=RUN_WORK,
        )  # fmt: skip
        self.work += solution.proof.work
        self._stale.add(heats)
        if not solution.x:
            return False
        plan = list(self.plan)
        for charged in read(small.problem, built, solution.x):
            new = small.outside(charged)
            plan[new.heat] = new
        total = cost(self.problem, plan)
        if total >= self.cost - 1e-7 * abs(self.cost) or faults(self.problem, plan, CONE_SLACK_G):
            return False
        self.plan, self.cost = plan, total
        self._stale = {pair for pair in self._stale if not set(pair) & set(heats)}
        return True

    def _seen(self, heats: tuple[int, ...]) -> set[int]:
        own = {i for h in heats for i in self.plan[h].lots}
        taken = {i for charged in self.plan for i in charged.lots if self.problem.lots[i].whole}
        free = [
            i
            for i, lot in enumerate(self.problem.lots)
            if i not in own
            and i not in taken
            and any(bar_of_lot(lot, self.problem.heats[h]) is None for h in heats)
        ]
        many = SEEN_MANY if len(self.plan) >= 5 else SEEN_FEW
        room = max(8, many - len(own))
        return own | set(self._dice.sample(free, min(room, len(free))))


def _pools(problem: BlendProblem, guide: Sequence[float]) -> list[set[int]]:
    pools: list[set[int]] = [set() for _ in problem.heats]
    groups = kinds(problem)
    for used in (True, False):
        lots = [i for i in range(len(problem.lots)) if (guide[i] > USED_SHARE) is used]
        turn = [0] * len(groups)
        main = problem.heats[0].main
        lots.sort(key=lambda i: (-_surplus(problem, i, main), i))
        for n, i in enumerate(lots):
            fits = [
                g
                for g, group in enumerate(groups)
                if bar_of_lot(problem.lots[i], problem.heats[group[0]]) is None
            ]
            if not fits:
                continue
            g = fits[n % len(fits)]
            group = groups[g]
            there, back = divmod(turn[g], len(group))
            place = back if there % 2 == 0 else len(group) - 1 - back
            pools[group[place]].add(i)
            turn[g] += 1
    return pools


def _surplus(problem: BlendProblem, i: int, main: str) -> float:
    lot = problem.lots[i]
    least = min(heat.least for heat in problem.heats)
    return (lot.mean.share(main) - least) * lot.mass_g
