"""Part of a problem, with the rest of the plan held: some heats, some lots."""

from __future__ import annotations

import dataclasses
import math
from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from lemel.blend.build import Built
from lemel.blend.charge import NOISE, Charged, figures
from lemel.blend.faces import BlendLot, BlendProblem

__all__ = ["Part", "part", "point"]

#: Grams by which an exact plan may miss a least take through the solver's tolerance.
CRUMB_G = 1e-5


@dataclass(frozen=True, slots=True)
class Part:
    """A smaller problem, and how its indices read in the whole one."""

    problem: BlendProblem
    heats: tuple[int, ...]
    lots: tuple[int, ...]

    def inside(self, charged: Charged) -> Charged:
        """A charge of the whole problem, in the part's indices."""
        place = {i: k for k, i in enumerate(self.lots)}
        lots = {place[i]: grams for i, grams in charged.lots.items()}
        return Charged(self.heats.index(charged.heat), lots, charged.additions)

    def outside(self, charged: Charged) -> Charged:
        """A charge of the part, in the whole problem's indices."""
        lots = {self.lots[i]: grams for i, grams in charged.lots.items()}
        return Charged(self.heats[charged.heat], lots, charged.additions)


def part(
    problem: BlendProblem, plan: Sequence[Charged], heats: Sequence[int], lots: Collection[int]
) -> Part:
    """The heats `heats` with the lots `lots`, less what the other heats of the plan use.

    A lot begun elsewhere keeps its state (what is left of it must be a good remainder and
    costs the remainder's penalty), so that the part's cost differs from the whole plan's by
    a constant. Demands are lowered by what the other heats already give.
    """
    used: dict[int, float] = defaultdict(float)
    stock: dict[int, float] = defaultdict(float)
    poured: dict[str, float] = {}
    for charged in plan:
        if charged.heat in heats:
            continue
        for i, grams in charged.lots.items():
            used[i] += grams
        for a, grams in charged.additions.items():
            stock[a] += grams
        poured[problem.heats[charged.heat].id] = figures(problem, charged).poured_g
    kept = [(i, _left(problem.lots[i], used[i])) for i in sorted(lots)]
    free = [(i, lot) for i, lot in kept if lot is not None]
    additions = tuple(
        addition
        if addition.stock_g is None
        else dataclasses.replace(addition, stock_g=max(0.0, addition.stock_g - stock[a]))
        for a, addition in enumerate(problem.additions)
    )
    names = {problem.heats[h].id for h in heats}
    demands = tuple(
        dataclasses.replace(
            demand,
            heats=tuple(heat for heat in demand.heats if heat in names),
            least_g=demand.least_g - math.fsum(poured.get(heat, 0.0) for heat in demand.heats),
        )
        for demand in problem.demands
        if names & set(demand.heats)
    )
    small = dataclasses.replace(
        problem,
        lots=tuple(lot for _, lot in free),
        additions=additions,
        heats=tuple(problem.heats[h] for h in heats),
        demands=demands,
    )
    return Part(small, tuple(heats), tuple(i for i, _ in free))


def _left(lot: BlendLot, used: float) -> BlendLot | None:
    """The lot as the rest of the plan leaves it; None if nothing may be taken any more."""
    if used <= NOISE:
        return lot
    left = lot.mass_g - used
    if lot.whole or left <= NOISE or left < min(lot.min_take_g, lot.mass_g) - CRUMB_G:
        return None
    return dataclasses.replace(lot, mass_g=left, opened=True)


def point(problem: BlendProblem, built: Built, plan: Sequence[Charged]) -> list[float]:
    """The plan as a point of the program (spreads left at zero)."""
    x = [variable.lo for variable in built.program.variables]
    total: dict[int, float] = defaultdict(float)
    for charged in plan:
        h = charged.heat
        if h in built.formed:
            x[built.formed[h]] = float(charged.mass_g > 0)
        for i, grams in charged.lots.items():
            column, per = built.lots[h][i]
            x[column] = grams / per
            total[i] += grams
            if i in built.takes[h]:
                x[built.takes[h][i]] = 1.0
        for a, grams in charged.additions.items():
            x[built.additions[h][a]] = grams
    for i, (opened, left) in built.remains.items():
        begun = problem.lots[i].opened or total[i] > NOISE
        x[opened] = float(begun)
        x[left] = float(begun and total[i] < problem.lots[i].mass_g - 1e-6)
    return x
