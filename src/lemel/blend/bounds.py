"""A lower bound for several heats together that knows what it costs to part the metal.

Heats of one kind are interchangeable, so their relaxation may be averaged: one block per
kind, each lot's mass shared among its heats. On its own that bound is weak: it spreads
every lot evenly and gives each heat the averaging of the whole box. But a whole piece is
in a heat or not, so its variance enters once or not at all: with z = z^2 the variance of
the whole pieces, V = sum (s m)^2 z, is linear in z. The spread sqrt(V) is concave, so it is
bounded from below by chords, each over an interval of V; a heat lies in one interval. The
block is therefore split into one copy per interval, weighted with the share of the heats
that lie in it (the convex hull of a union of polyhedra, Balas 1998), with the cone of the
shared errors kept in each copy.
"""

from __future__ import annotations

import dataclasses
import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from lemel.blend.build import MG_PER_G, Built, build
from lemel.blend.charge import Charged
from lemel.blend.faces import BlendProblem
from lemel.blend.watching import Deaf
from lemel.solve import Cone, Program, Row, Variable, relax
from lemel.values import Watch

__all__ = ["JointBound", "even_bound", "joint_bound", "kinds", "own_variance"]

INF = float("inf")
#: Ratio between the ends of an interval of V, and how many there are around the plan's V.
RATIO = 2.2
AROUND = 5
GAP = 3e-5


@dataclass(frozen=True, slots=True)
class JointBound:
    """A lower bound of the cost, and the share of each lot that the relaxed plan uses."""

    cost: float
    use: Sequence[float]
    work: int


def kinds(problem: BlendProblem) -> list[list[int]]:
    """Heats that differ in nothing but their id (and so may be swapped), by index."""
    groups: dict[object, list[int]] = defaultdict(list)
    served = {heat: k for k, demand in enumerate(problem.demands) for heat in demand.heats}
    for h, heat in enumerate(problem.heats):
        key = (
            heat.owner, heat.main, heat.least, heat.probability, heat.least_g, heat.most_g,
            heat.giveaway_most, tuple(sorted(heat.impurity_most.items())), heat.impurity_k,
            heat.forbid_flags, heat.required, heat.fixed_cost, heat.lots_allowed,
            heat.may_use_owners, tuple(sorted(heat.owner_limit_g.items())),
            tuple(sorted(heat.shares.items())), heat.course, heat.family, served.get(heat.id),
        )  # fmt: skip
        groups[key].append(h)
    return list(groups.values())


def own_variance(problem: BlendProblem, charged: Charged) -> float:
    """V of a charge: the summed variance of its whole pieces' own errors, in mg^2."""
    lots = (problem.lots[i] for i in charged.lots)
    return math.fsum((MG_PER_G * lot.own_sd * lot.mass_g) ** 2 for lot in lots if lot.whole)


def even_bound(problem: BlendProblem, watch: Watch) -> JointBound | None:
    """The plain averaged relaxation, with whole pieces' own spread scaled up by the root of
    the number of heats: no bound (`cost` is -inf), but a better guide to the lots than one.
    None if even that has no plan."""
    heats = max(1, len(problem.heats))
    lots = tuple(
        dataclasses.replace(lot, own_sd=lot.own_sd * math.sqrt(heats)) if lot.whole else lot
        for lot in problem.lots
    )
    found = _Blocks(dataclasses.replace(problem, lots=lots), [None]).solve(watch, 1e-3)
    return None if found is None else dataclasses.replace(found, cost=-INF)


def joint_bound(
    problem: BlendProblem, plan: Sequence[Charged], watch: Watch, *, fine: bool = True
) -> JointBound | None:
    """The bound with intervals of V laid around those of a plan (`fine`), or without any.

    None: the relaxation has no plan, so there is none.
    """
    variances = [own_variance(problem, c) for c in plan if c.lots]
    if not fine or not variances or max(variances) <= 0:
        return _Blocks(problem, [None]).solve(watch, GAP)
    middle = math.exp(math.fsum(math.log(max(v, 1e-6)) for v in variances) / len(variances))
    low = middle / RATIO ** (AROUND // 2 + 0.5)
    ends = [0.0, *(low * RATIO**k for k in range(AROUND + 1))]
    top = math.fsum((MG_PER_G * lot.own_sd * lot.mass_g) ** 2 for lot in problem.lots if lot.whole)
    ends.append(max(top, ends[-1]) * 1.001)
    return _Blocks(problem, list(pairwise(ends))).solve(watch, GAP)


class _Blocks:
    """The averaged relaxation: a block for each kind of heat and interval of V."""

    def __init__(
        self, problem: BlendProblem, intervals: Sequence[tuple[float, float] | None]
    ) -> None:
        self.problem = problem
        self.groups = kinds(problem)
        self.blocks = [(g, piece) for g in range(len(self.groups)) for piece in intervals]
        parted = intervals[0] is not None
        loose = tuple(
            dataclasses.replace(
                lot, whole=False, min_take_g=0.0, min_remainder_g=0.0, opened=False,
                own_sd=0.0 if parted and lot.whole else lot.own_sd,
            )
            for lot in problem.lots
        )  # fmt: skip
        heats = tuple(
            dataclasses.replace(problem.heats[self.groups[g][0]], id=f"block {b}", required=False)
            for b, (g, _) in enumerate(self.blocks)
        )
        self.built: Built = build(
            dataclasses.replace(
                problem, lots=loose, heats=heats, demands=(), remainder_penalty=0.0,
                additions=tuple(dataclasses.replace(a, stock_g=None) for a in problem.additions),
            )
        )  # fmt: skip
        self.variables = list(self.built.program.variables)
        self.rows = [
            row
            for row, tag in zip(self.built.program.rows, self.built.tags, strict=True)
            if tag.kind != "lot_mass"
        ]
        self.cones = list(self.built.program.cones)

    def solve(self, watch: Watch, gap: float) -> JointBound | None:
        self._weights()
        self._capacities()
        for b, (_, piece) in enumerate(self.blocks):
            if piece is not None and b in self.built.spread:
                self._interval(b, piece)
        program = Program(tuple(self.variables), tuple(self.rows), tuple(self.cones))
        found = relax(program, gap=gap, watch=Deaf(watch), seed=self.problem.options.seed)
        if not found.x or found.proof.bound is None:
            return None
        used = [0.0] * len(self.problem.lots)
        for b, (g, _) in enumerate(self.blocks):
            for i, (column, _) in self.built.lots[b].items():
                used[i] += len(self.groups[g]) * found.x[column]
        shares = [u / lot.mass_g for u, lot in zip(used, self.problem.lots, strict=True)]
        return JointBound(found.proof.bound, shares, found.proof.work)

    def _times(self, b: int) -> int:
        return len(self.groups[self.blocks[b][0]])

    def _weights(self) -> None:
        """Costs count once per heat of the kind; the intervals' weights sum to one."""
        for b in range(len(self.blocks)):
            columns = [self.built.formed[b], *self.built.additions[b].values()]
            columns += [column for column, _ in self.built.lots[b].values()]
            for column in columns:
                old = self.variables[column]
                self.variables[column] = dataclasses.replace(old, cost=old.cost * self._times(b))
        for g, group in enumerate(self.groups):
            terms = tuple(
                (self.built.formed[b], 1.0) for b, (k, _) in enumerate(self.blocks) if k == g
            )
            least = 1.0 if self.problem.heats[group[0]].required else 0.0
            self.rows.append(Row("weights", terms, least, 1.0))

    def _capacities(self) -> None:
        """Each lot once over all heats, and in no heat more than once; stocks; demands."""
        for i, lot in enumerate(self.problem.lots):
            uses = []
            for b, lots in enumerate(self.built.lots):
                if i in lots:
                    column = lots[i][0]
                    uses.append((column, float(self._times(b))))
                    inside = ((column, 1.0), (self.built.formed[b], -lot.mass_g))
                    self.rows.append(Row("inside", inside, hi=0.0))
            if uses:
                self.rows.append(Row("capacity", tuple(uses), hi=lot.mass_g))
        for a, addition in enumerate(self.problem.additions):
            stocks = tuple(
                (columns[a], float(self._times(b)))
                for b, columns in enumerate(self.built.additions)
                if a in columns
            )
            if stocks and addition.stock_g is not None:
                self.rows.append(Row("stock", stocks, hi=addition.stock_g))
        for demand in self.problem.demands:
            self._demand(set(demand.heats), demand.least_g)

    def _demand(self, heats: set[str], least_g: float) -> None:
        terms: dict[int, float] = {}
        for b, (g, _) in enumerate(self.blocks):
            if self.problem.heats[self.groups[g][0]].id not in heats:
                continue
            for i, (column, _) in self.built.lots[b].items():
                terms[column] = self._times(b) * self.problem.lots[i].yield_fraction
            terms |= {column: float(self._times(b)) for column in self.built.additions[b].values()}
        self.rows.append(Row("demand", tuple(terms.items()), lo=least_g))

    def _interval(self, b: int, piece: tuple[float, float]) -> None:
        """V between the ends; the root of V at least the chord; that root joins the cone."""
        low, high = piece
        formed = self.built.formed[b]
        root = len(self.variables)
        self.variables.append(Variable(f"own spread {b}", 0.0, INF))
        variance = {
            column: (MG_PER_G * self.problem.lots[i].own_sd) ** 2 * self.problem.lots[i].mass_g
            for i, (column, _) in self.built.lots[b].items()
            if self.problem.lots[i].whole and self.problem.lots[i].own_sd > 0
        }
        ends = math.sqrt(low) + math.sqrt(high)
        chord = {column: value / ends for column, value in variance.items()}
        chord |= {formed: math.sqrt(low * high) / ends, root: -1.0}
        self.rows.append(Row("chord", tuple(chord.items()), hi=0.0))
        over = {column: value / high for column, value in variance.items()} | {formed: -1.0}
        self.rows.append(Row("variance", tuple(over.items()), hi=0.0))
        if low > 0:
            under = {column: value / low for column, value in variance.items()} | {formed: -1.0}
            self.rows.append(Row("variance", tuple(under.items()), lo=0.0))
        place = sorted(self.built.spread).index(b)
        cone: Cone = self.cones[place]
        self.cones[place] = dataclasses.replace(cone, lines=(*cone.lines, ((root, 1.0),)))
