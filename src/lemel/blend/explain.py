"""Why the plan is as it is: what binds, what the next gram would cost, who stays out."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence

from lemel.blend.admit import bar_of_lot
from lemel.blend.build import Tag, asked, build, kappa
from lemel.blend.charge import Charged, cost, figures
from lemel.blend.faces import BlendProblem
from lemel.blend.parts import part, point
from lemel.blend.watching import Deaf
from lemel.blend.weigh import only_what_is_used, read
from lemel.solve import Row, solve
from lemel.values import Quantity, Saying, Watch

__all__ = ["binding", "left_out", "margin_shares"]

#: Work that one forced re-solve may take, and its gap.
FORCED_WORK = 8_000
FORCED_RUN = 2_000
FORCED_GAP = 2e-4
#: Lots beside those of the plan that a forced re-solve of a large problem may use.
BESIDE = 40
#: A row is said to bind if it is tight to so many balance steps of metal.
TIGHT_STEPS = 3.0
#: Money below which two plans cost the same.
WORTH_NAMING_MONEY = 0.005
#: Grams of bought metal from which a forced lot counts as asking for it.
WORTH_NAMING_G = 0.05
BINDING = {
    "mass_least": ("g", 1.0), "mass_most": ("g", 1.0), "stock": ("g", 1.0), "demand": ("g", 1.0),
    "owner_limit": ("g", 1.0), "fineness": ("g", 1000.0), "giveaway": ("g", 1000.0),
    "impurity": ("mg", 1.0), "share_least": ("g", 1000.0), "share_most": ("g", 1000.0),
    "guard": ("g", 1000.0), "room": ("g", 1000.0), "lot_mass": ("g", 1.0),
}  # fmt: skip


def binding(problem: BlendProblem, plan: Sequence[Charged], watch: Watch) -> list[Saying]:
    """The limits that are tight, with the price of one unit more of each.

    The price is the dual of the model with the same pieces: right for small changes with
    the same pieces, and wrong across a change of pieces (see the promise's staircase).
    """
    small = only_what_is_used(problem, plan)
    built = build(small)
    x = point(small, built, plan)
    held = tuple(
        dataclasses.replace(v, lo=float(round(x[k])), hi=float(round(x[k])), whole=False)
        if v.whole
        else v
        for k, v in enumerate(built.program.variables)
    )
    program = dataclasses.replace(built.program, variables=held)
    exact = solve(program, seed=problem.options.seed, watch=Deaf(watch))
    if not exact.x:
        return []
    said = []
    for row, tag, price in zip(built.program.rows, built.tags, exact.duals, strict=True):
        if (
            tag.kind not in BINDING
            or abs(price) < 1e-9
            or not _is_tight(row, tag, exact.x, problem)
        ):
            continue
        unit, per = BINDING[tag.kind]
        values: dict[str, Quantity | str | int | float] = {
            "heat": tag.heat, "about": tag.about, "unit": unit,
            "price": Quantity(abs(price) * per, "money"),
        }  # fmt: skip
        said.append(Saying(f"blend.binding.{tag.kind}", values))
    return said


def _is_tight(row: Row, tag: Tag, x: Sequence[float], problem: BlendProblem) -> bool:
    value = math.fsum(coefficient * x[column] for column, coefficient in row.terms)
    room = TIGHT_STEPS * max(problem.options.balance_step_g, 1e-3) * BINDING[tag.kind][1]
    return value - row.lo <= room or row.hi - value <= room


def margin_shares(problem: BlendProblem, charged: Charged) -> dict[str, float]:
    """Grams of fine metal that each body's doubt costs in a heat; they sum to the margin.

    Euler's rule for a homogeneous function: share_i = kappa x_i (S x)_i / t with S the
    covariance and t = sqrt(x S x). A negative share makes the heat surer.
    """
    heat = problem.heats[charged.heat]
    factor, t = kappa(asked(problem, heat)), figures(problem, charged).sd_g
    if t <= 0 or factor <= 0:
        return {}
    pull: dict[str, float] = {}
    for i, grams in charged.lots.items():
        for name, loading in problem.lots[i].loading.items():
            pull[name] = pull.get(name, 0.0) + loading * grams
    shares = {}
    for i, grams in charged.lots.items():
        lot = problem.lots[i]
        shared = math.fsum(loading * pull[name] for name, loading in lot.loading.items())
        shares[lot.id] = factor * grams * (lot.own_sd**2 * grams + shared) / t
    for a, grams in charged.additions.items():
        addition = problem.additions[a]
        shares[addition.id] = factor * (addition.sd * grams) ** 2 / t
    return shares


def left_out(problem: BlendProblem, plan: Sequence[Charged], watch: Watch) -> list[Saying]:
    """A reason for each lot that no heat takes: barred, or what forcing it in would cost.

    Only lots that could have been taken are forced, the heaviest first and at most
    `explain_most`; the others are counted.
    """
    used = {i for charged in plan for i in charged.lots}
    said: list[Saying] = []
    askable = []
    for i, lot in enumerate(problem.lots):
        if i in used:
            continue
        bars = [(heat.id, bar_of_lot(lot, heat)) for heat in problem.heats]
        if all(bar is not None for _, bar in bars):
            heat, bar = bars[0]
            said.append(Saying(f"blend.lot_barred.{bar}", {"lot": lot.id, "heat": heat}))
        else:
            askable.append(i)
    askable.sort(key=lambda i: (-problem.lots[i].mass_g, i))
    most = problem.options.explain_most
    for i in askable[:most]:
        if watch.cancelled():
            break
        said.append(_forced(problem, plan, i, watch))
    if len(askable) > most:
        said.append(Saying("blend.lot_left_out.not_asked", {"count": len(askable) - most}))
    return said


def _forced(problem: BlendProblem, plan: Sequence[Charged], i: int, watch: Watch) -> Saying:
    """What happens if this lot must be used: the honest number for a whole piece."""
    lot = problem.lots[i]
    h = next(h for h, heat in enumerate(problem.heats) if bar_of_lot(lot, heat) is None)
    few = len(problem.lots) * len(problem.heats) <= 100
    heats = range(len(problem.heats)) if few else [h]
    small = part(problem, plan, list(heats), _near(problem, plan, i, h, few))
    built = build(small.problem)
    place = small.lots.index(i)
    takes = [(columns[place][0], columns[place][1]) for columns in built.lots if place in columns]
    least = lot.mass_g if lot.whole else min(lot.mass_g, max(lot.min_take_g, 1.0))
    row = Row("forced", tuple(takes), lo=least * (1 - 1e-9))
    program = dataclasses.replace(built.program, rows=(*built.program.rows, row))
    found = solve(
        program, gap=FORCED_GAP, work_most=FORCED_WORK, seed=problem.options.seed,
        watch=Deaf(watch), twins=built.twins, run_work=FORCED_RUN,
    )  # fmt: skip
    values: dict[str, Quantity | str | int | float] = {
        "lot": lot.id,
        "fineness": Quantity(lot.mean.share(problem.heats[h].main) * 1000, "millesimal"),
        "spread": Quantity(_total_sd(lot.own_sd, lot.loading) * 1000, "millesimal"),
    }
    if not found.x:
        proven = found.proof.stopped_by == "proof"
        return Saying(f"blend.lot_left_out.{'impossible' if proven else 'unknown'}", values)
    here = [small.inside(plan[k]) for k in heats]
    forced = read(small.problem, built, found.x)
    extra = max(0.0, cost(small.problem, forced) - cost(small.problem, here))
    grain = _bought(small.problem, forced) - _bought(small.problem, here)
    margin = _margin(small.problem, forced) - _margin(small.problem, here)
    values |= {
        "extra": Quantity(extra, "money"), "grain": Quantity(max(0.0, grain), "g"),
        "margin": Quantity(max(0.0, margin), "g"),
    }  # fmt: skip
    if extra < WORTH_NAMING_MONEY:
        return Saying("blend.lot_left_out.no_better", values)
    return Saying(f"blend.lot_left_out.{_reason(grain, margin)}", values)


def _reason(grain: float, margin: float) -> str:
    """Doubt if it eats most of the further metal bought, else poverty, else plain cost."""
    if margin > WORTH_NAMING_G and margin >= 0.5 * grain:
        return "doubtful"
    return "poor" if grain > WORTH_NAMING_G else "dearer"


def _near(
    problem: BlendProblem, plan: Sequence[Charged], i: int, h: int, few: bool
) -> Sequence[int]:
    if few:
        return range(len(problem.lots))
    taken = {k for charged in plan if charged.heat != h for k in charged.lots}
    free = [
        k
        for k, lot in enumerate(problem.lots)
        if k not in taken and bar_of_lot(lot, problem.heats[h]) is None
    ]
    own = set(plan[h].lots) | {i}
    return sorted(own | set([k for k in free if k not in own][:BESIDE]))


def _bought(problem: BlendProblem, plan: Sequence[Charged]) -> float:
    """Grams of additions richer than the standard."""
    return math.fsum(
        grams
        for charged in plan
        for a, grams in charged.additions.items()
        if problem.additions[a].composition.share(problem.heats[charged.heat].main)
        > problem.heats[charged.heat].least
    )


def _margin(problem: BlendProblem, plan: Sequence[Charged]) -> float:
    """Grams of fine metal that stand above the standard for the promise's sake."""
    return math.fsum(
        kappa(asked(problem, problem.heats[c.heat])) * figures(problem, c).sd_g for c in plan
    )


def _total_sd(own: float, loading: Mapping[str, float]) -> float:
    return math.sqrt(own * own + math.fsum(g * g for g in loading.values()))
