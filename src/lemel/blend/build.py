"""The problem as a program for the solver.

Units inside: grams for metal, milligrams of fine metal for the fineness rows and the
spread `t`, money for cost. A whole lot is one yes-or-no column worth its mass.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from statistics import NormalDist

from lemel.blend.admit import bar_of_addition, bar_of_lot
from lemel.blend.faces import BlendHeat, BlendLot, BlendProblem
from lemel.blend.hold import ROOM_PROBABILITY, Mender, mender, tangents
from lemel.solve import Cone, Program, Row, Variable

__all__ = ["HOLD", "PROVE", "Built", "Tag", "asked", "build", "kappa"]

HOLD, PROVE = "hold_and_correct", "pour_prove_remelt"

MG_PER_G = 1000.0
INF = float("inf")
Terms = dict[int, float]


def kappa(probability: float) -> float:
    """How many standard deviations the mean must stand above the standard (normal law).

    >>> round(kappa(0.99), 4), kappa(0.5)
    (2.3263, 0.0)
    """
    return NormalDist().inv_cdf(probability)


def asked(problem: BlendProblem, heat: BlendHeat) -> float:
    """The probability that the first melting of a heat is planned to."""
    if heat.course == PROVE:
        return min(heat.probability, max(0.5, problem.options.first_probability))
    return heat.probability


@dataclass(frozen=True, slots=True)
class Tag:
    """What a row is about: kind, heat id ("" for none) and the element, lot or addition."""

    kind: str
    heat: str = ""
    about: str = ""


@dataclass(frozen=True, slots=True)
class Built:
    """The program with the way back: which column is what.

    `lots[h][i]` is (column, grams per unit), `additions[h][a]` a column, `formed[h]`
    the yes-or-no column of an optional heat, `spread[h]` the column of t (absent at even odds).
    `takes[h][i]` is the yes-or-no column of a lot, `remains[i]` those of opened and left.
    """

    program: Program
    tags: tuple[Tag, ...]
    lots: Sequence[Mapping[int, tuple[int, float]]]
    additions: Sequence[Mapping[int, int]]
    formed: Mapping[int, int]
    spread: Mapping[int, int]
    takes: Sequence[Mapping[int, int]]
    remains: Mapping[int, tuple[int, int]]
    twins: tuple[tuple[int, ...], ...]


@dataclass(slots=True)
class _Draft:
    problem: BlendProblem
    variables: list[Variable] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)
    tags: list[Tag] = field(default_factory=list)
    cones: list[Cone] = field(default_factory=list)
    lots: list[dict[int, tuple[int, float]]] = field(default_factory=list)
    takes: list[dict[int, int]] = field(default_factory=list)
    additions: list[dict[int, int]] = field(default_factory=list)
    formed: dict[int, int] = field(default_factory=dict)
    spread: dict[int, int] = field(default_factory=dict)
    remains: dict[int, tuple[int, int]] = field(default_factory=dict)

    def column(self, name: str, hi: float, cost: float = 0.0, whole: bool = False) -> int:
        self.variables.append(Variable(name, 0.0, hi, cost, whole))
        return len(self.variables) - 1

    def row(self, tag: Tag, terms: Terms, lo: float = -INF, hi: float = INF) -> None:
        kept = tuple((column, value) for column, value in sorted(terms.items()) if value)
        if kept or lo > 0 or hi < 0:
            self.rows.append(Row(f"{tag.kind} {tag.heat} {tag.about}".strip(), kept, lo, hi))
            self.tags.append(tag)

    def sums(self, h: int, per_lot: list[float], per_addition: list[float]) -> Terms:
        """Sum over what is in heat h of so much per gram."""
        terms = {column: per_lot[i] * grams for i, (column, grams) in self.lots[h].items()}
        return terms | {column: per_addition[a] for a, column in self.additions[h].items()}


def build(problem: BlendProblem) -> Built:
    """All columns, rows and cones of the problem (see docs/blend.md for the equations)."""
    draft = _Draft(problem)
    fixed = sum(heat.fixed_cost for heat in problem.heats if heat.required)
    draft.variables.append(Variable("fixed costs", 1.0, 1.0, fixed))
    for h in range(len(problem.heats)):
        _heat_columns(draft, h)
    for i, lot in enumerate(problem.lots):
        _lot_rows(draft, i, lot)
    for h, heat in enumerate(problem.heats):
        _HeatRows(draft, h, heat).add()
    _stock_rows(draft)
    _demand_rows(draft)
    program = Program(tuple(draft.variables), tuple(draft.rows), tuple(draft.cones))
    return Built(
        program, tuple(draft.tags), draft.lots, draft.additions, draft.formed, draft.spread,
        draft.takes, draft.remains, _twins(draft),
    )  # fmt: skip


def _heat_columns(draft: _Draft, h: int) -> None:
    problem, heat = draft.problem, draft.problem.heats[h]
    for columns in (draft.lots, draft.takes, draft.additions):
        columns.append({})
    if not heat.required:
        draft.formed[h] = draft.column(f"formed {heat.id}", 1.0, heat.fixed_cost, whole=True)
    for i, lot in enumerate(problem.lots):
        if bar_of_lot(lot, heat) is not None:
            continue
        per_gram = lot.value_per_g - problem.age_credit_g_day * lot.age_days
        if lot.whole:
            cost = per_gram * lot.mass_g
            column = draft.column(f"{lot.id} in {heat.id}", 1.0, cost, whole=True)
            draft.lots[h][i] = (column, lot.mass_g)
            draft.takes[h][i] = column
            continue
        draft.lots[h][i] = (draft.column(f"{lot.id} in {heat.id}", lot.mass_g, per_gram), 1.0)
        if lot.min_take_g > 0:
            draft.takes[h][i] = draft.column(f"{lot.id} taken in {heat.id}", 1.0, whole=True)
    for a, addition in enumerate(problem.additions):
        if bar_of_addition(addition, heat) is None:
            most = heat.most_g if addition.stock_g is None else min(heat.most_g, addition.stock_g)
            draft.additions[h][a] = draft.column(
                f"{addition.id} in {heat.id}", most, addition.price_per_g
            )


def _lot_rows(draft: _Draft, i: int, lot: BlendLot) -> None:
    heats = [h for h in range(len(draft.problem.heats)) if i in draft.lots[h]]
    if not heats:
        return
    for h in heats:
        if h in draft.formed and i in draft.takes[h]:
            terms = {draft.takes[h][i]: 1.0, draft.formed[h]: -1.0}
            draft.row(Tag("formed_first", draft.problem.heats[h].id, lot.id), terms, hi=0.0)
    if lot.whole:
        if len(heats) > 1:
            draft.row(Tag("once", "", lot.id), {draft.takes[h][i]: 1.0 for h in heats}, hi=1.0)
        return
    for h in heats:
        if i in draft.takes[h]:
            x, z = draft.lots[h][i][0], draft.takes[h][i]
            tag = Tag("take", draft.problem.heats[h].id, lot.id)
            draft.row(tag, {x: 1.0, z: -lot.mass_g}, hi=0.0)
            draft.row(tag, {x: 1.0, z: -min(lot.min_take_g, lot.mass_g)}, lo=0.0)
    _remainder_rows(draft, i, lot, heats)


def _remainder_rows(draft: _Draft, i: int, lot: BlendLot, heats: list[int]) -> None:
    """Used up, or at least the least remainder stays (and costs the remainder's penalty)."""
    takes = {draft.lots[h][i][0]: 1.0 for h in heats}
    penalty = draft.problem.remainder_penalty
    if lot.min_remainder_g <= 0 and penalty <= 0:
        if len(heats) > 1:
            draft.row(Tag("lot_mass", "", lot.id), takes, hi=lot.mass_g)
        return
    opened = draft.column(f"{lot.id} opened", 1.0, whole=True)
    if lot.opened:
        draft.variables[opened] = Variable(f"{lot.id} opened", 1.0, 1.0, 0.0, True)
    left = draft.column(f"{lot.id} left", 1.0, penalty, whole=True)
    draft.remains[i] = (opened, left)
    tag = Tag("remainder", "", lot.id)
    draft.row(tag, {left: 1.0, opened: -1.0}, hi=0.0)
    draft.row(tag, takes | {opened: -lot.mass_g, left: lot.mass_g}, lo=0.0)
    draft.row(tag, takes | {opened: -lot.mass_g, left: lot.min_remainder_g}, hi=0.0)
    for h in heats:
        if i in draft.takes[h] and len(heats) > 1:
            draft.row(tag, {draft.takes[h][i]: 1.0, opened: -1.0}, hi=0.0)


class _HeatRows:
    """The rows that belong to one heat."""

    def __init__(self, draft: _Draft, h: int, heat: BlendHeat) -> None:
        self.draft, self.h, self.heat = draft, h, heat
        self.lots, self.additions = draft.problem.lots, draft.problem.additions
        self.yields = [lot.yield_fraction for lot in self.lots]
        self.fine = [lot.mean.share(heat.main) for lot in self.lots]
        self.fine_added = [a.composition.share(heat.main) for a in self.additions]

    def add(self) -> None:
        self._mass()
        self._fineness()
        self._impurities()
        self._shares()
        self._owner_limits()
        self._guard()

    def _tag(self, kind: str, about: str = "") -> Tag:
        return Tag(kind, self.heat.id, about)

    def _mass(self) -> None:
        poured = self.draft.sums(self.h, self.yields, [1.0] * len(self.additions))
        formed = self.draft.formed.get(self.h)
        if formed is None:
            self.draft.row(self._tag("mass_least"), poured, lo=self.heat.least_g)
            self.draft.row(self._tag("mass_most"), poured, hi=self.heat.most_g)
            return
        least, most = {formed: -self.heat.least_g}, {formed: -self.heat.most_g}
        self.draft.row(self._tag("mass_least"), poured | least, lo=0.0)
        self.draft.row(self._tag("mass_most"), poured | most, hi=0.0)

    def _over(self, target: float) -> Terms:
        """Milligrams of fine metal above `target` times the poured mass."""
        lots = [
            MG_PER_G * (fine - target * kept)
            for fine, kept in zip(self.fine, self.yields, strict=True)
        ]
        return self.draft.sums(
            self.h, lots, [MG_PER_G * (fine - target) for fine in self.fine_added]
        )

    def _fineness(self) -> None:
        surplus = self._over(self.heat.least)
        if self.heat.giveaway_most is not None:
            above = self._over(self.heat.least + self.heat.giveaway_most)
            self.draft.row(self._tag("giveaway"), above, hi=0.0)
        factor = kappa(asked(self.draft.problem, self.heat))
        mends = mender(self.draft.problem, self.heat) if self.heat.course == HOLD else None
        if factor > 0 or mends is not None:
            t = self.draft.column(f"spread {self.heat.id}", INF)
            self.draft.spread[self.h] = t
            self.draft.cones.append(Cone(f"spread {self.heat.id}", t, self._lines()))
            if mends is not None:
                self._hold(t, mends)
                return
            surplus[t] = -factor
        self.draft.row(self._tag("fineness"), surplus, lo=0.0)

    def _hold(self, t: int, mends: Mender) -> None:
        """Price the correction to be expected, and keep room for it (see `hold`)."""
        draft, heat = self.draft, self.heat
        margin = kappa(heat.probability) * draft.problem.options.sample_sd
        surplus = self._over(heat.least + margin)
        price = mends.net_per_g * mends.grams_per_fine_g / MG_PER_G
        short = draft.column(f"to correct {heat.id}", INF, price)
        for of_spread, of_surplus in tangents():
            row = {column: of_surplus * value for column, value in surplus.items()}
            row |= {t: -of_spread, short: 1.0}
            draft.row(self._tag("correction"), row, lo=0.0)
        # Room for the correction: (most - poured) / grams per fine >= kappa t - surplus.
        gain = MG_PER_G / mends.grams_per_fine_g
        poured = draft.sums(self.h, self.yields, [1.0] * len(self.additions))
        row = {column: surplus[column] - gain * poured[column] for column in surplus}
        row[t] = -kappa(ROOM_PROBABILITY)
        formed = draft.formed.get(self.h)
        if formed is None:
            draft.row(self._tag("room"), row, lo=-gain * heat.most_g)
        else:
            draft.row(self._tag("room"), row | {formed: gain * heat.most_g}, lo=0.0)

    def _lines(self) -> tuple[tuple[tuple[int, float], ...], ...]:
        draft, h = self.draft, self.h
        own: list[tuple[tuple[int, float], ...]] = []
        shared: dict[str, dict[int, float]] = defaultdict(dict)
        for i, lot in enumerate(self.lots):
            if i not in draft.lots[h]:
                continue
            column, grams = draft.lots[h][i]
            if lot.own_sd > 0:
                own.append(((column, MG_PER_G * lot.own_sd * grams),))
            for factor, loading in lot.loading.items():
                if loading:
                    shared[factor][column] = MG_PER_G * loading * grams
        for a, addition in enumerate(self.additions):
            if a in draft.additions[h] and addition.sd > 0:
                own.append(((draft.additions[h][a], MG_PER_G * addition.sd),))
        return (*own, *(tuple(sorted(line.items())) for _, line in sorted(shared.items())))

    def _impurities(self) -> None:
        for element, limit in sorted(self.heat.impurity_most.items()):
            if limit <= 0:
                continue
            lots = [
                MG_PER_G
                * (
                    lot.mean.share(element)
                    + self.heat.impurity_k * lot.other_sd.get(element, 0.0)
                    - limit * lot.yield_fraction
                )
                for lot in self.lots
            ]
            added = [MG_PER_G * (a.composition.share(element) - limit) for a in self.additions]
            terms = self.draft.sums(self.h, lots, added)
            self.draft.row(self._tag("impurity", element), terms, hi=0.0)

    def _shares(self) -> None:
        for element, (low, high) in sorted(self.heat.shares.items()):
            for kind, target in (("share_least", low), ("share_most", high)):
                lots = [
                    MG_PER_G * (lot.mean.share(element) - target * lot.yield_fraction)
                    for lot in self.lots
                ]
                added = [MG_PER_G * (a.composition.share(element) - target) for a in self.additions]
                terms = self.draft.sums(self.h, lots, added)
                if kind == "share_least":
                    self.draft.row(self._tag(kind, element), terms, lo=0.0)
                else:
                    self.draft.row(self._tag(kind, element), terms, hi=0.0)

    def _owner_limits(self) -> None:
        for owner, most_g in sorted(self.heat.owner_limit_g.items()):
            lots = [float(lot.owner == owner) for lot in self.lots]
            added = [float(a.owner == owner) for a in self.additions]
            terms = self.draft.sums(self.h, lots, added)
            formed = self.draft.formed.get(self.h)
            if formed is None:
                self.draft.row(self._tag("owner_limit", owner), terms, hi=most_g)
            else:
                self.draft.row(self._tag("owner_limit", owner), terms | {formed: -most_g}, hi=0.0)

    def _guard(self) -> None:
        options = self.draft.problem.options
        if options.guard_drop <= 0:
            return
        for i, lot in enumerate(self.lots):
            if i in self.draft.lots[self.h] and lot.doubt > options.guard_doubt:
                terms = self._over(self.heat.least - options.guard_short)
                column, grams = self.draft.lots[self.h][i]
                terms[column] -= MG_PER_G * options.guard_drop * grams
                self.draft.row(self._tag("guard", lot.id), terms, lo=0.0)


def _stock_rows(draft: _Draft) -> None:
    for a, addition in enumerate(draft.problem.additions):
        uses = {columns[a]: 1.0 for columns in draft.additions if a in columns}
        if uses and addition.stock_g is not None:
            draft.row(Tag("stock", "", addition.id), uses, hi=addition.stock_g)


def _demand_rows(draft: _Draft) -> None:
    problem = draft.problem
    place = {heat.id: h for h, heat in enumerate(problem.heats)}
    yields = [lot.yield_fraction for lot in problem.lots]
    for demand in problem.demands:
        terms: Terms = {}
        for heat in demand.heats:
            terms |= draft.sums(place[heat], yields, [1.0] * len(problem.additions))
        draft.row(Tag("demand", "", " ".join(demand.heats)), terms, lo=demand.least_g)


def _twins(draft: _Draft) -> tuple[tuple[int, ...], ...]:
    """Groups of cones over the same lots and additions."""
    groups: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for place, h in enumerate(sorted(draft.spread)):
        groups[tuple(draft.lots[h]), tuple(draft.additions[h])].append(place)
    return tuple(tuple(group) for group in groups.values() if len(group) > 1)
