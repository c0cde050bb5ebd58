"""From the solver's exact masses to masses that the balance can weigh out, checked again."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Sequence

from lemel.blend.build import Built, build
from lemel.blend.charge import Charged, cost, faults
from lemel.blend.faces import BlendProblem
from lemel.blend.parts import point
from lemel.solve import Program, Row, Solution, Variable, solve

__all__ = ["only_what_is_used", "read", "weigh_out"]

#: Balance steps up and down that the weighing may move a mass from its exact value.
REACH_STEPS = 60
#: Milligrams of fine metal by which the weighed plan must clear its promise, so that
#: the check in plain arithmetic does not hang on the last bit.
CLEAR_MG = (1e-3, 0.05)
WORK_MOST = 60_000


def read(problem: BlendProblem, built: Built, x: Sequence[float]) -> list[Charged]:
    """The masses in a point of the program, without crumbs of the solver's tolerance."""
    plan: list[Charged] = []
    for h in range(len(problem.heats)):
        lots: dict[int, float] = {}
        for i, (column, grams) in built.lots[h].items():
            mass = x[column] * grams
            if problem.lots[i].whole:
                mass = grams if x[column] > 0.5 else 0.0
            elif abs(mass - problem.lots[i].mass_g) < 1e-6:
                mass = problem.lots[i].mass_g
            if mass > 1e-6:
                lots[i] = mass
        added = {a: x[c] for a, c in built.additions[h].items() if x[c] > 1e-6}
        plan.append(Charged(h, lots, added))
    return plan


def weigh_out(problem: BlendProblem, exact: Sequence[Charged]) -> tuple[list[Charged], bool]:
    """The cheapest plan near an exact one in whole balance steps; and whether there is one.

    The choice of lots stays. Every divisible take and addition becomes a whole number of
    steps, found by a small search of its own and then checked in plain arithmetic. If
    there is none (a window narrower than the balance can serve), the exact masses come back.
    """
    exact = list(exact)
    if problem.options.balance_step_g <= 0:
        return exact, True
    small = only_what_is_used(problem, exact)
    built = build(small)
    x = point(small, built, exact)
    found: list[list[Charged]] = []
    for clear_mg, others in ((CLEAR_MG[0], False), (CLEAR_MG[0], True), (CLEAR_MG[1], True)):
        if found and (clear_mg > CLEAR_MG[0] or _near(problem, exact, found[0])):
            break
        plan = _on_balance(small, built, x, clear_mg, others)
        if plan is not None and faults(problem, plan):
            plan = None
        if plan is not None:
            found.append(plan)
    if not found:
        apart = _heat_by_heat(problem, exact)
        return (apart, True) if apart is not None else (exact, False)
    return min(found, key=lambda plan: cost(problem, plan)), True


def only_what_is_used(problem: BlendProblem, plan: Sequence[Charged]) -> BlendProblem:
    """The problem with each heat's lots cut down to those that the plan puts into it."""
    heats = list(problem.heats)
    for charged in plan:
        used = frozenset(problem.lots[i].id for i in charged.lots)
        heats[charged.heat] = dataclasses.replace(heats[charged.heat], lots_allowed=used)
    return dataclasses.replace(problem, heats=tuple(heats))


def _heat_by_heat(problem: BlendProblem, exact: list[Charged]) -> list[Charged] | None:
    """Each heat weighed out by itself, the others keeping what they have: for heats that share
    so many lots that one search over all their steps does not end."""
    plan = list(exact)
    for h, charged in enumerate(exact):
        if charged.mass_g <= 0:
            continue
        part = _part(problem, plan, h)
        built = build(part)
        x = _point(built, part, charged)
        weighed = next(
            (
                found
                for clear_mg, others in ((CLEAR_MG[0], False), (CLEAR_MG[0], True))
                if (found := _on_balance(part, built, x, clear_mg, others)) is not None
            ),
            None,
        )
        if weighed is None:
            return None
        plan[h] = Charged(h, weighed[0].lots, weighed[0].additions)
    return None if faults(problem, plan) else plan


def _part(problem: BlendProblem, plan: list[Charged], h: int) -> BlendProblem:
    """The problem of one heat: its own lots, and of each what the other heats leave."""
    step = problem.options.balance_step_g

    def left(total: float, taken: Iterable[float]) -> float:
        others = sum(math.ceil(grams / step - 1e-9) for grams in taken)
        return max(0.0, (math.floor(total / step + 1e-9) - others) * step)

    rest = [charged for k, charged in enumerate(plan) if k != h]

    lots = tuple(
        lot
        if lot.whole
        else dataclasses.replace(
            lot,
            mass_g=left(lot.mass_g, (c.lots.get(i, 0.0) for c in rest))
            if i in plan[h].lots
            else step,
            min_remainder_g=0.0,
        )
        for i, lot in enumerate(problem.lots)
    )
    additions = tuple(
        addition
        if addition.stock_g is None
        else dataclasses.replace(
            addition, stock_g=left(addition.stock_g, (c.additions.get(a, 0.0) for c in rest))
        )
        for a, addition in enumerate(problem.additions)
    )
    return dataclasses.replace(
        problem,
        lots=lots,
        additions=additions,
        heats=(dataclasses.replace(problem.heats[h], required=True),),
        demands=(),
        remainder_penalty=0.0,
    )


def _point(built: Built, part: BlendProblem, charged: Charged) -> list[float]:
    """The exact masses of one heat as a point of its own program."""
    x = [0.0] * len(built.program.variables)
    for i, grams in charged.lots.items():
        column, unit = built.lots[0][i]
        x[column] = min(grams, part.lots[i].mass_g) / unit
        if i in built.takes[0]:
            x[built.takes[0][i]] = 1.0
    for a, grams in charged.additions.items():
        x[built.additions[0][a]] = grams
    return x


def _near(problem: BlendProblem, exact: list[Charged], weighed: list[Charged]) -> bool:
    """Weighing costs so little that a further metal is not worth its trouble."""
    best = cost(problem, exact)
    return cost(problem, weighed) - best <= problem.options.gap / 2 * max(abs(best), 1e-9)


def _on_balance(
    problem: BlendProblem, built: Built, x: Sequence[float], clear_mg: float, others: bool
) -> list[Charged] | None:
    stepped = _stepped(problem, built, x, others)
    solution = _search(problem, built, stepped, clear_mg)
    if not solution.x:
        return None
    grams = [value * scale for value, scale in zip(solution.x, stepped.scale, strict=True)]
    plan = read(problem, built, grams)
    return [_on_steps(problem, charged) for charged in plan]


@dataclasses.dataclass(frozen=True, slots=True)
class _Stepped:
    variables: tuple[Variable, ...]
    scale: tuple[float, ...]


def _stepped(problem: BlendProblem, built: Built, x: Sequence[float], others: bool) -> _Stepped:
    """Choices fixed; masses counted in steps, but a lot used up keeps its exact mass.

    Additions that the exact plan does without stay out unless `others` says so: nobody
    wants to weigh out a hundredth of a gram of a third metal.
    """
    step = problem.options.balance_step_g
    variables = list(built.program.variables)
    scale = [1.0] * len(variables)
    for column, variable in enumerate(variables):
        if variable.whole:
            held = float(round(x[column]))
            variables[column] = dataclasses.replace(variable, lo=held, hi=held)
    for i, lot in enumerate(problem.lots):
        if lot.whole:
            continue
        columns = [c[i][0] for c in built.lots if i in c and x[c[i][0]] > 1e-6]
        idle = [c[i][0] for c in built.lots if i in c and x[c[i][0]] <= 1e-6]
        for column in idle:
            variables[column] = dataclasses.replace(variables[column], hi=0.0)
        used_up = i in built.remains and abs(sum(x[c] for c in columns) - lot.mass_g) < 1e-6
        if used_up and columns:
            # One heat takes "what is left", so that the lot is really used up.
            rest = max(columns, key=lambda column: (x[column], -column))
            columns.remove(rest)
            if not columns:
                variables[rest] = dataclasses.replace(variables[rest], lo=lot.mass_g)
        for column in columns:
            _count(variables, scale, column, x[column], step)
    for h in range(len(problem.heats)):
        for column in built.additions[h].values():
            if x[column] <= 1e-6 and not others:
                variables[column] = dataclasses.replace(variables[column], hi=0.0)
                continue
            _count(variables, scale, column, x[column], step)
    return _Stepped(tuple(variables), tuple(scale))


def _count(
    variables: list[Variable], scale: list[float], column: int, grams: float, step: float
) -> None:
    old = variables[column]
    lo = max(math.ceil(old.lo / step - 1e-9), math.floor(grams / step) - REACH_STEPS)
    hi = min(math.floor(old.hi / step + 1e-9), math.ceil(grams / step) + REACH_STEPS)
    variables[column] = Variable(old.name, float(lo), float(max(lo, hi)), old.cost * step, True)
    scale[column] = step


def _search(problem: BlendProblem, built: Built, stepped: _Stepped, clear_mg: float) -> Solution:
    scale = stepped.scale
    idle = {
        problem.heats[h].id
        for h, column in built.formed.items()
        if not stepped.variables[column].lo
    }
    rows = []
    for row, tag in zip(built.program.rows, built.tags, strict=True):
        terms = tuple((column, value * scale[column]) for column, value in row.terms)
        clears = tag.kind == "fineness" and tag.heat not in idle
        rows.append(Row(row.name, terms, clear_mg if clears else row.lo, row.hi))
    cones = [
        dataclasses.replace(cone, lines=tuple(_scaled(line, scale) for line in cone.lines))
        for cone in built.program.cones
    ]
    program = Program(stepped.variables, tuple(rows), tuple(cones))
    return solve(
        program,
        gap=problem.options.gap / 20,
        work_most=WORK_MOST,
        seed=problem.options.seed,
        cone_tolerance=1e-8,
    )


def _scaled(
    line: tuple[tuple[int, float], ...], scale: Sequence[float]
) -> tuple[tuple[int, float], ...]:
    return tuple((column, value * scale[column]) for column, value in line)


def _on_steps(problem: BlendProblem, charged: Charged) -> Charged:
    """Masses freed of the last bits of floating point."""
    step = problem.options.balance_step_g
    lots = {
        i: grams if problem.lots[i].whole else round(grams, 9) for i, grams in charged.lots.items()
    }
    added = {a: round(round(grams / step) * step, 9) for a, grams in charged.additions.items()}
    return Charged(charged.heat, lots, {a: grams for a, grams in added.items() if grams > 0})
