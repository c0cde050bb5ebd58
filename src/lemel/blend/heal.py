"""Not possible as asked: which single changes would be enough, and how small they may be.

Each kind of limit is loosened alone. Where it then works, the mildest limit is found:
grams by minimising them, ratios (probability, give-away, shares) by Dinkelbach's method,
which solves min N/M as a short row of problems min N - q M.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from statistics import NormalDist

from lemel.blend.admit import bar_of_lot
from lemel.blend.build import Built, build
from lemel.blend.faces import BlendHeat, BlendLot, BlendProblem, Heal
from lemel.blend.rules import rule
from lemel.solve import Solution, Variable, solve
from lemel.tables import Tables
from lemel.values import Quantity, Saying, Watch

__all__ = ["heals", "say", "worth_saying"]

GAP = 2e-5
#: Keeps a cost that may pass through zero away from it, so that a relative gap means something.
OFFSET = 1000.0
ROUNDS_MOST = 12
WORK_MOST = 300_000
JUST_OVER_EVEN = 0.5 + 1e-9
OPEN_G = 1e6


def heals(problem: BlendProblem, watch: Watch, tables: Tables | None = None) -> tuple[Heal, ...]:
    """Every single change that makes the problem possible, with its mildest number."""
    work = _Work(problem, watch, rule("assay_sd", tables))
    found: list[Heal] = []
    tries = list(_tries(work))
    for k, attempt in enumerate(tries):
        if watch.cancelled():
            break
        heal = attempt()
        if heal is not None:
            found.append(heal)
        watch.tell((k + 1) / len(tries))
    return tuple(found)


def worth_saying(found: Sequence[Heal]) -> list[Heal]:
    """Without the tail: only the piece that needs the smallest cut, three assays at most."""
    cuts = sorted((h for h in found if h.kind == "whole"), key=lambda h: h.needed)[:1]
    assays = [h for h in found if h.kind == "evidence"][:3]
    return [h for h in found if h.kind not in ("whole", "evidence")] + assays + cuts


def say(heal: Heal) -> Saying:
    """The remedy as a Saying `blend.heal.<kind>`."""
    unit, times = ("percent", 100.0) if heal.unit == "1" else (heal.unit, 1.0)
    values: dict[str, Quantity | str | int | float] = {
        "about": heal.about, "heat": heal.heat, "needed": Quantity(heal.needed * times, unit),
        "change": Quantity(abs(heal.change) * times, unit),
    }  # fmt: skip
    if heal.now is not None:
        values["now"] = Quantity(heal.now * times, unit)
    return Saying(f"blend.heal.{heal.kind}", values)


class _Work:
    """Solves variants of one problem, each with a limited effort."""

    def __init__(self, problem: BlendProblem, watch: Watch, assay_sd: float) -> None:
        self.problem, self.watch, self.assay_sd = problem, watch, assay_sd

    def least(self, variant: BlendProblem, costs: Callable[[Built], dict[int, float]]) -> Solution:
        """Minimise other costs than the problem's own; the offset is in column 0."""
        built = build(variant)
        wanted = costs(built)
        variables = tuple(
            dataclasses.replace(v, cost=wanted.get(k, 0.0))
            for k, v in enumerate(built.program.variables)
        )
        variables = (Variable("offset", 1.0, 1.0, OFFSET), *variables[1:])
        program = dataclasses.replace(built.program, variables=variables)
        return solve(
            program, gap=GAP, work_most=WORK_MOST, seed=self.problem.options.seed,
            watch=self.watch, twins=built.twins,
        )  # fmt: skip

    def grams(
        self, variant: BlendProblem, costs: Callable[[Built], dict[int, float]]
    ) -> float | None:
        """The least of a sum of grams; None if the variant is impossible too."""
        solution = self.least(variant, costs)
        if not solution.x or solution.proof.cost is None:
            return None
        return solution.proof.cost - OFFSET

    def possible(self, variant: BlendProblem) -> bool:
        """Whether the variant has a plan at all."""
        return bool(self.least(variant, lambda _built: {}).x)

    def ratio(
        self,
        variant: BlendProblem,
        over: Callable[[Built], dict[int, float]],
        under: Callable[[Built], dict[int, float]],
        start: float,
    ) -> float | None:
        """The least over/under among all plans of the variant (Dinkelbach 1967)."""
        quotient = start
        for _ in range(ROUNDS_MOST):

            def costs(built: Built, q: float = quotient) -> dict[int, float]:
                total = dict(over(built))
                for column, value in under(built).items():
                    total[column] = total.get(column, 0.0) - q * value
                return total

            built, solution = build(variant), self.least(variant, costs)
            if not solution.x:
                return None
            top = sum(value * solution.x[k] for k, value in over(built).items())
            bottom = sum(value * solution.x[k] for k, value in under(built).items())
            if bottom <= 1e-9 or abs(top / bottom - quotient) < 1e-7:
                break
            quotient = top / bottom
        return quotient


def _tries(work: _Work) -> Iterator[Callable[[], Heal | None]]:
    problem = work.problem
    for a, addition in enumerate(problem.additions):
        if addition.stock_g is not None:
            yield partial(_stock, work, a)
    for h, heat in enumerate(problem.heats):
        yield partial(_probability, work, h)
        yield partial(_mass_least, work, h)
        yield partial(_mass_most, work, h)
        if heat.giveaway_most is not None:
            yield partial(_giveaway, work, h)
        for element in sorted(heat.impurity_most):
            yield partial(_impurity, work, h, element)
        for element in sorted(heat.shares):
            yield partial(_share, work, h, element)
        for owner in sorted(heat.owner_limit_g):
            yield partial(_owner_limit, work, h, owner)
        yield partial(_owner, work, h)
    for d in range(len(problem.demands)):
        yield partial(_demand, work, d)
    for lot in _askable(problem):
        yield partial(_evidence, work, lot)
        if lot.whole:
            yield partial(_whole, work, lot)


def _askable(problem: BlendProblem) -> list[BlendLot]:
    """Candidates, those with the widest doubt in grams first."""
    inside = [
        lot for lot in problem.lots if any(bar_of_lot(lot, heat) is None for heat in problem.heats)
    ]
    inside.sort(key=lambda lot: -lot.mass_g * _sd(lot))
    return inside[: problem.options.explain_most]


def _sd(lot: BlendLot) -> float:
    return float((lot.own_sd**2 + sum(g * g for g in lot.loading.values())) ** 0.5)


def _with_heat(problem: BlendProblem, h: int, **changes: object) -> BlendProblem:
    heats = list(problem.heats)
    heats[h] = dataclasses.replace(heats[h], **changes)  # type: ignore[arg-type]
    return dataclasses.replace(problem, heats=tuple(heats))


def _with_lot(problem: BlendProblem, old: BlendLot, **changes: object) -> BlendProblem:
    lots = tuple(
        dataclasses.replace(lot, **changes) if lot.id == old.id else lot  # type: ignore[arg-type]
        for lot in problem.lots
    )
    return dataclasses.replace(problem, lots=lots)


def _per_gram(
    built: Built, h: int, lots: Sequence[float], added: Sequence[float]
) -> dict[int, float]:
    terms = {column: lots[i] * grams for i, (column, grams) in built.lots[h].items()}
    return terms | {column: added[a] for a, column in built.additions[h].items()}


def _poured(problem: BlendProblem, h: int) -> Callable[[Built], dict[int, float]]:
    yields = [lot.yield_fraction for lot in problem.lots]
    ones = [1.0] * len(problem.additions)
    return lambda built: _per_gram(built, h, yields, ones)


def _content(
    problem: BlendProblem, h: int, element: str, k: float = 0.0
) -> Callable[[Built], dict[int, float]]:
    lots = [lot.mean.share(element) + k * lot.other_sd.get(element, 0.0) for lot in problem.lots]
    added = [a.composition.share(element) for a in problem.additions]
    return lambda built: _per_gram(built, h, lots, added)


def _negative(terms: Callable[[Built], dict[int, float]]) -> Callable[[Built], dict[int, float]]:
    return lambda built: {column: -value for column, value in terms(built).items()}


def _stock(work: _Work, a: int) -> Heal | None:
    old = work.problem.additions[a]
    additions = list(work.problem.additions)
    additions[a] = dataclasses.replace(old, stock_g=None)
    variant = dataclasses.replace(work.problem, additions=tuple(additions))
    needed = work.grams(
        variant, lambda built: {columns[a]: 1.0 for columns in built.additions if a in columns}
    )
    if needed is None or old.stock_g is None:
        return None
    return Heal("stock", old.id, "", old.stock_g, needed, needed - old.stock_g, "g")


def _probability(work: _Work, h: int) -> Heal | None:
    """The greatest probability: the greatest mean surplus per spread."""
    heat = work.problem.heats[h]
    if heat.probability <= JUST_OVER_EVEN:
        return None
    variant = _with_heat(work.problem, h, probability=JUST_OVER_EVEN)
    lots = [
        -1000.0 * (lot.mean.share(heat.main) - heat.least * lot.yield_fraction)
        for lot in work.problem.lots
    ]
    added = [
        -1000.0 * (a.composition.share(heat.main) - heat.least) for a in work.problem.additions
    ]

    def lacking(built: Built) -> dict[int, float]:
        return _per_gram(built, h, lots, added)

    most = work.ratio(variant, lacking, lambda built: {built.spread[h]: 1.0}, 0.0)
    if most is None:
        return None
    possible = NormalDist().cdf(-most)
    change = possible - heat.probability
    return Heal("probability", heat.id, heat.id, heat.probability, possible, change, "1")


def _mass_least(work: _Work, h: int) -> Heal | None:
    heat = work.problem.heats[h]
    variant = _with_heat(work.problem, h, least_g=min(heat.least_g, 0.01))
    most = work.grams(variant, _negative(_poured(work.problem, h)))
    if most is None or -most <= 0.01:
        return None
    return Heal("mass_least", heat.id, heat.id, heat.least_g, -most, -most - heat.least_g, "g")


def _mass_most(work: _Work, h: int) -> Heal | None:
    heat = work.problem.heats[h]
    needed = work.grams(_with_heat(work.problem, h, most_g=OPEN_G), _poured(work.problem, h))
    if needed is None:
        return None
    return Heal("mass_most", heat.id, heat.id, heat.most_g, needed, needed - heat.most_g, "g")


def _giveaway(work: _Work, h: int) -> Heal | None:
    heat = work.problem.heats[h]
    content = _content(work.problem, h, heat.main)
    variant = _with_heat(work.problem, h, giveaway_most=None)
    needed = work.ratio(variant, content, _poured(work.problem, h), heat.least)
    if needed is None or heat.giveaway_most is None:
        return None
    above = (needed - heat.least) * 1000
    now = heat.giveaway_most * 1000
    return Heal("giveaway", heat.id, heat.id, now, above, above - now, "millesimal")


def _impurity(work: _Work, h: int, element: str) -> Heal | None:
    """A limit of nothing at all is a matter of health, and never offered for sale."""
    heat = work.problem.heats[h]
    limit = heat.impurity_most[element]
    if limit <= 0:
        return None
    others = {e: most for e, most in heat.impurity_most.items() if e != element}
    variant = _with_heat(work.problem, h, impurity_most=others)
    content = _content(work.problem, h, element, heat.impurity_k)
    return _ratio_heal(work, variant, h, ("impurity", element, limit), content)


def _share(work: _Work, h: int, element: str) -> Heal | None:
    heat = work.problem.heats[h]
    low, high = heat.shares[element]
    others = {e: window for e, window in heat.shares.items() if e != element}
    content = _content(work.problem, h, element)
    above = _with_heat(work.problem, h, shares=others | {element: (low, 1.0)})
    heal = _ratio_heal(work, above, h, ("share_most", element, high), content)
    if heal is not None:
        return heal
    below = _with_heat(work.problem, h, shares=others | {element: (0.0, high)})
    return _ratio_heal(work, below, h, ("share_least", element, low), _negative(content))


def _ratio_heal(
    work: _Work,
    variant: BlendProblem,
    h: int,
    what: tuple[str, str, float],
    content: Callable[[Built], dict[int, float]],
) -> Heal | None:
    kind, element, limit = what
    found = work.ratio(variant, content, _poured(work.problem, h), limit)
    if found is None:
        return None
    needed = abs(found) * 1000
    heat = work.problem.heats[h].id
    return Heal(kind, element, heat, limit * 1000, needed, needed - limit * 1000, "millesimal")


def _owner_limit(work: _Work, h: int, owner: str) -> Heal | None:
    heat = work.problem.heats[h]
    others = {o: g for o, g in heat.owner_limit_g.items() if o != owner}
    variant = _with_heat(work.problem, h, owner_limit_g=others)
    needed = work.grams(variant, _of_owners(work.problem, h, {owner}))
    if needed is None:
        return None
    now = heat.owner_limit_g[owner]
    return Heal("owner_limit", owner, heat.id, now, needed, needed - now, "g")


def _owner(work: _Work, h: int) -> Heal | None:
    """The fewest grams of other owners' metal that would do, with their consent."""
    heat: BlendHeat = work.problem.heats[h]
    everyone = {lot.owner for lot in work.problem.lots} | {a.owner for a in work.problem.additions}
    strangers = everyone - {heat.owner, ""} - heat.may_use_owners
    if not strangers:
        return None
    allowed = heat.may_use_owners | strangers
    variant = _with_heat(work.problem, h, may_use_owners=frozenset(allowed))
    needed = work.grams(variant, _of_owners(work.problem, h, strangers))
    if needed is None:
        return None
    return Heal("owner", ", ".join(sorted(strangers)), heat.id, 0.0, needed, needed, "g")


def _of_owners(
    problem: BlendProblem, h: int, owners: set[str]
) -> Callable[[Built], dict[int, float]]:
    lots = [float(lot.owner in owners) for lot in problem.lots]
    added = [float(a.owner in owners) for a in problem.additions]
    return lambda built: _per_gram(built, h, lots, added)


def _demand(work: _Work, d: int) -> Heal | None:
    demand = work.problem.demands[d]
    demands = list(work.problem.demands)
    demands[d] = dataclasses.replace(demand, least_g=0.0)
    variant = dataclasses.replace(work.problem, demands=tuple(demands))
    places = [k for k, heat in enumerate(work.problem.heats) if heat.id in demand.heats]

    def lacking(built: Built) -> dict[int, float]:
        terms: dict[int, float] = {}
        for h in places:
            terms |= _negative(_poured(work.problem, h))(built)
        return terms

    most = work.grams(variant, lacking)
    if most is None:
        return None
    about = " ".join(demand.heats)
    return Heal("demand", about, "", demand.least_g, -most, -most - demand.least_g, "g")


def _evidence(work: _Work, lot: BlendLot) -> Heal | None:
    """An assay of this lot that confirms the present estimate."""
    now, assayed = _sd(lot), work.assay_sd
    if now <= assayed:
        return None
    variant = _with_lot(work.problem, lot, own_sd=assayed, loading={})
    if not work.possible(variant):
        return None
    change = (assayed - now) * 1000
    return Heal("evidence", lot.id, "", now * 1000, assayed * 1000, change, "millesimal")


def _whole(work: _Work, lot: BlendLot) -> Heal | None:
    """The fewest grams of this piece that would do if it could be cut."""
    place = next(k for k, one in enumerate(work.problem.lots) if one.id == lot.id)
    variant = _with_lot(work.problem, lot, whole=False, min_take_g=0.0, min_remainder_g=0.0)

    def taken(built: Built) -> dict[int, float]:
        return {lots[place][0]: 1.0 for lots in built.lots if place in lots}

    needed = work.grams(variant, taken)
    if needed is None or needed <= 1e-6 or needed >= lot.mass_g - 1e-6:
        return None
    return Heal("whole", lot.id, "", lot.mass_g, needed, needed - lot.mass_g, "g")
