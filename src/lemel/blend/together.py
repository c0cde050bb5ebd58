"""No single change is enough: the smallest set of changes that is, with its numbers.

Every limit that can be talked about gets a slack, and every slack a yes-or-no column that
opens it. First the fewest opened limits are sought, the mildest of equals (an elastic model:
J. W. Chinneck, *Feasibility and Infeasibility in Optimization*, 2008, chapter 6, from memory);
since no fewer will do, the set is irreducible. Then those alone are opened and the relative
slack is made least, which gives the numbers. A set that was found is forbidden, and the
search goes on for another way out. Assays are thinned out one after the other instead.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import NormalDist

from lemel.blend.admit import bar_of_lot
from lemel.blend.build import HOLD, MG_PER_G, Built, Tag, asked, build, kappa
from lemel.blend.faces import BlendLot, BlendProblem, Heal
from lemel.blend.rules import rule
from lemel.solve import Program, Row, Solution, Variable, solve
from lemel.tables import Tables
from lemel.values import Watch

__all__ = ["heal_together"]

#: Weight of mildness beside the number of opened limits.
MILD = 0.05
SETS_MOST = 3
GAP = 1e-4
WORK_MOST = 200_000
#: How far a limit may move, as a share of what it limits.
FARTHEST = 0.95
#: The widest spread that a promise is given up for, share of the heat.
WIDEST_SD = 0.05
FORBIDS_LESS = frozenset({"mass_least", "share_least", "demand", "fineness"})
LOOSE = FORBIDS_LESS | {"mass_most", "giveaway", "impurity", "share_most", "owner_limit"}


@dataclass(frozen=True, slots=True)
class _Slack:
    """A limit with its slack: `column` in the row's unit, `opened` its yes-or-no column,
    `most` the farthest it may go, `scale` what counts as going all the way."""

    tag: Tag
    column: int
    opened: int
    most: float
    scale: float


def heal_together(
    problem: BlendProblem, watch: Watch, tables: Tables | None = None
) -> tuple[tuple[Heal, ...], ...]:
    """Up to three smallest sets of changes that make the problem possible, each whole.

    Empty if not even all limits together, opened as far as is sensible, would do. The last
    set may be assays that confirm the present estimates.
    """
    elastic = _Elastic(problem)
    found: list[tuple[Heal, ...]] = []
    fewest = 0
    while len(found) < SETS_MOST and not watch.cancelled():
        chosen = elastic.fewest(watch)
        if not chosen or (fewest and len(chosen) > fewest):
            break
        fewest = len(chosen)
        mildest = elastic.mildest(chosen, watch)
        elastic.forbid(chosen)
        if mildest is not None:
            found.append(mildest)
    assays = _assays(problem, rule("assay_sd", tables), watch)
    return (*found, *((assays,) if assays else ()))


class _Elastic:
    """The problem with a slack on every limit that can be talked about."""

    def __init__(self, problem: BlendProblem) -> None:
        self.problem = problem
        self.strangers = [
            {lot.owner for lot in problem.lots} - {heat.owner} - heat.may_use_owners
            for heat in problem.heats
        ]
        loose = dataclasses.replace(
            problem,
            additions=tuple(dataclasses.replace(a, stock_g=None) for a in problem.additions),
            heats=tuple(
                dataclasses.replace(
                    heat, may_use_owners=heat.may_use_owners | strange,
                    most_g=heat.most_g * (1.0 if heat.course == HOLD else 1 + FARTHEST),
                )
                for heat, strange in zip(problem.heats, self.strangers, strict=True)
            ),
        )  # fmt: skip
        self.built: Built = build(loose)
        self.variables = [dataclasses.replace(v, cost=0.0) for v in self.built.program.variables]
        self.variables[0] = Variable("opened limits", 1.0, 1.0, 1.0)
        self.rows = list(self.built.program.rows)
        self.slacks: list[_Slack] = []
        self._place = {heat.id: h for h, heat in enumerate(problem.heats)}
        self._loosen()
        self._stocks()
        self._owners()

    def fewest(self, watch: Watch) -> list[_Slack]:
        """The smallest set of limits that must open, the mildest of equals."""
        costs = {s.opened: 1.0 for s in self.slacks}
        costs |= {s.column: MILD / len(self.slacks) / s.scale for s in self.slacks}
        solution = self._solve(costs, {}, watch)
        if not solution.x or solution.proof.stopped_by != "proof":
            return []
        return [s for s in self.slacks if solution.x[s.opened] > 0.5]

    def mildest(self, chosen: Sequence[_Slack], watch: Watch) -> tuple[Heal, ...] | None:
        """The set's own changes, together as small as they can be."""
        held = {s.opened: float(s in chosen) for s in self.slacks}
        solution = self._solve({s.column: 1 / s.scale for s in chosen}, held, watch)
        if not solution.x:
            return None
        return tuple(self._heal(s, solution.x) for s in chosen)

    def forbid(self, chosen: Sequence[_Slack]) -> None:
        """This set shall not be found again."""
        terms = tuple((s.opened, 1.0) for s in chosen)
        self.rows.append(Row("another way", terms, hi=len(chosen) - 1.0))

    def _solve(self, costs: dict[int, float], held: dict[int, float], watch: Watch) -> Solution:
        variables = tuple(
            dataclasses.replace(
                v, lo=held.get(k, v.lo), hi=held.get(k, v.hi), cost=costs.get(k, v.cost)
            )
            for k, v in enumerate(self.variables)
        )
        program = Program(variables, tuple(self.rows), self.built.program.cones)
        return solve(
            program, gap=GAP, work_most=WORK_MOST, seed=self.problem.options.seed, watch=watch,
            twins=self.built.twins,
        )  # fmt: skip

    def _slack(self, tag: Tag, most: float, scale: float) -> _Slack:
        column = len(self.variables)
        name = f"{tag.kind} {tag.heat} {tag.about}"
        self.variables += [Variable(f"slack {name}", 0.0, most), Variable(name, 0.0, 1.0, 0, True)]
        slack = _Slack(tag, column, column + 1, most, scale)
        self.rows.append(Row(f"opened {name}", ((column, 1.0), (column + 1, -most)), hi=0.0))
        self.slacks.append(slack)
        return slack

    def _loosen(self) -> None:
        for k, (row, tag) in enumerate(zip(self.built.program.rows, self.built.tags, strict=True)):
            if tag.kind not in LOOSE or (tag.kind == "fineness" and self._even(tag)):
                continue
            most, scale = self._reach(tag)
            slack = self._slack(tag, most, scale)
            sign = 1.0 if tag.kind in FORBIDS_LESS else -1.0
            asked_for = self._as_asked(row, tag) if tag.kind == "mass_most" else row
            terms = (*asked_for.terms, (slack.column, sign))
            self.rows[k] = dataclasses.replace(asked_for, terms=terms)
            if tag.kind == "fineness":
                h = self._place[tag.heat]
                even = ((slack.column, 1.0), (self.built.spread[h], -self._kappa(h)))
                self.rows.append(Row("even odds at least", even, hi=0.0))

    def _as_asked(self, row: Row, tag: Tag) -> Row:
        """The greatest mass as it was asked for, before it was let out to make columns wide."""
        h = self._place[tag.heat]
        most_g, formed = self.problem.heats[h].most_g, self.built.formed.get(h)
        if formed is None:
            return dataclasses.replace(row, hi=most_g)
        terms = tuple((k, -most_g if k == formed else value) for k, value in row.terms)
        return dataclasses.replace(row, terms=terms)

    def _even(self, tag: Tag) -> bool:
        h = self._place[tag.heat]
        return h not in self.built.spread or self._kappa(h) <= 0

    def _kappa(self, h: int) -> float:
        return kappa(asked(self.problem, self.problem.heats[h]))

    def _reach(self, tag: Tag) -> tuple[float, float]:
        """How far a limit may move in its row's unit, and what going all the way means."""
        if tag.kind == "demand":
            demand = next(d for d in self.problem.demands if " ".join(d.heats) == tag.about)
            return FARTHEST * demand.least_g, demand.least_g
        h = self._place[tag.heat]
        heat = self.problem.heats[h]
        if tag.kind in ("mass_least", "mass_most"):
            return FARTHEST * heat.least_g, heat.least_g
        if tag.kind == "owner_limit":
            return heat.most_g, heat.most_g
        milligrams = MG_PER_G * heat.most_g
        if tag.kind == "fineness":
            return self._kappa(h) * WIDEST_SD * milligrams, WIDEST_SD * milligrams
        limit = {
            "giveaway": 1 - heat.least,
            "impurity": heat.impurity_most.get(tag.about, 0.0),
            "share_least": heat.shares.get(tag.about, (0.0, 0.0))[0],
            "share_most": heat.shares.get(tag.about, (0.0, 0.0))[1],
        }[tag.kind]
        return milligrams, milligrams * max(limit, 1e-3)

    def _stocks(self) -> None:
        for a, addition in enumerate(self.problem.additions):
            uses = [(columns[a], 1.0) for columns in self.built.additions if a in columns]
            if addition.stock_g is None or not uses:
                continue
            whole = math.fsum(heat.most_g for heat in self.problem.heats)
            slack = self._slack(Tag("stock", "", addition.id), whole, whole)
            terms = (*uses, (slack.column, -1.0))
            self.rows.append(Row("stock", terms, hi=addition.stock_g))

    def _owners(self) -> None:
        for h, (heat, strange) in enumerate(zip(self.problem.heats, self.strangers, strict=True)):
            terms = [
                (column, grams)
                for i, (column, grams) in self.built.lots[h].items()
                if self.problem.lots[i].owner in strange
            ]
            terms += [
                (column, 1.0)
                for a, column in self.built.additions[h].items()
                if self.problem.additions[a].owner in strange - {""}
            ]
            if terms:
                tag = Tag("owner", heat.id, ", ".join(sorted(strange)))
                slack = self._slack(tag, heat.most_g * (1 + FARTHEST), heat.most_g)
                self.rows.append(Row("owner", (*terms, (slack.column, -1.0)), hi=0.0))

    def _heal(self, slack: _Slack, x: Sequence[float]) -> Heal:
        tag, moved = slack.tag, x[slack.column]
        if tag.kind in ("stock", "demand", "owner"):
            now, sign = self._plain_limit(tag), -1.0 if tag.kind == "demand" else 1.0
            return Heal(tag.kind, tag.about, tag.heat, now, now + sign * moved, sign * moved, "g")
        h = self._place[tag.heat]
        heat = self.problem.heats[h]
        if tag.kind in ("mass_least", "mass_most", "owner_limit"):
            limits = {"mass_least": heat.least_g, "mass_most": heat.most_g}
            now = limits.get(tag.kind, heat.owner_limit_g.get(tag.about, 0.0))
            change = -moved if tag.kind == "mass_least" else moved
            about = tag.about or heat.id
            return Heal(tag.kind, about, heat.id, now, now + change, change, "g")
        if tag.kind == "fineness":
            odds = NormalDist().cdf(self._kappa(h) - moved / max(x[self.built.spread[h]], 1e-12))
            asks = asked(self.problem, heat)
            return Heal("probability", heat.id, heat.id, asks, odds, odds - asks, "1")
        change = 1000 * moved / (MG_PER_G * self._poured(h, x))
        now, sign = {
            "giveaway": (1000 * (heat.giveaway_most or 0.0), 1.0),
            "impurity": (1000 * heat.impurity_most.get(tag.about, 0.0), 1.0),
            "share_least": (1000 * heat.shares.get(tag.about, (0.0, 0.0))[0], -1.0),
            "share_most": (1000 * heat.shares.get(tag.about, (0.0, 0.0))[1], 1.0),
        }[tag.kind]
        about = tag.about or heat.id
        return Heal(tag.kind, about, heat.id, now, now + sign * change, sign * change, "millesimal")

    def _plain_limit(self, tag: Tag) -> float:
        if tag.kind == "stock":
            stock = next(a.stock_g for a in self.problem.additions if a.id == tag.about)
            return stock or 0.0
        if tag.kind == "owner":
            return 0.0
        return next(d.least_g for d in self.problem.demands if " ".join(d.heats) == tag.about)

    def _poured(self, h: int, x: Sequence[float]) -> float:
        lots = math.fsum(
            x[column] * grams * self.problem.lots[i].yield_fraction
            for i, (column, grams) in self.built.lots[h].items()
        )
        return lots + math.fsum(x[column] for column in self.built.additions[h].values())


def _assays(problem: BlendProblem, assay_sd: float, watch: Watch) -> tuple[Heal, ...]:
    """The fewest assays, thinned out from the surest lot on, that are enough together if they
    confirm the present estimates; empty if all of them are not."""
    doubtful = [lot for lot in _candidates(problem) if _sd(lot) > assay_sd]
    doubtful.sort(key=lambda lot: (lot.mass_g * _sd(lot), lot.id))
    doubtful = doubtful[-problem.options.explain_most :]
    kept = list(doubtful)
    if not kept or not _possible(problem, kept, assay_sd, watch):
        return ()
    for lot in doubtful:
        fewer = [one for one in kept if one is not lot]
        if watch.cancelled():
            return ()
        if _possible(problem, fewer, assay_sd, watch):
            kept = fewer
    return tuple(
        Heal(
            "evidence", lot.id, "", 1000 * _sd(lot), 1000 * assay_sd,
            1000 * (assay_sd - _sd(lot)), "millesimal",
        )
        for lot in reversed(kept)
    )  # fmt: skip


def _candidates(problem: BlendProblem) -> Iterator[BlendLot]:
    for lot in problem.lots:
        if any(bar_of_lot(lot, heat) is None for heat in problem.heats):
            yield lot


def _sd(lot: BlendLot) -> float:
    return math.sqrt(lot.own_sd**2 + math.fsum(g * g for g in lot.loading.values()))


def _possible(
    problem: BlendProblem, assayed: Sequence[BlendLot], assay_sd: float, watch: Watch
) -> bool:
    names = {lot.id for lot in assayed}
    lots = tuple(
        dataclasses.replace(lot, own_sd=assay_sd, loading={}) if lot.id in names else lot
        for lot in problem.lots
    )
    built = build(dataclasses.replace(problem, lots=lots))
    variables = tuple(dataclasses.replace(v, cost=0.0) for v in built.program.variables)
    variables = (Variable("offset", 1.0, 1.0, 1.0), *variables[1:])
    found = solve(
        dataclasses.replace(built.program, variables=variables), gap=GAP, work_most=WORK_MOST,
        seed=problem.options.seed, watch=watch, twins=built.twins,
    )  # fmt: skip
    return bool(found.x)
