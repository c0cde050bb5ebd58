"""The mill's answer: the printed route, and beside it the proven fewest passages."""

from __future__ import annotations

from dataclasses import replace

from lemel.errors import Stopped, require
from lemel.mill.attempt import Try, attempt, limits_of
from lemel.mill.build import Task
from lemel.mill.cautions import cautions_of
from lemel.mill.explain import explain
from lemel.mill.faces import MillProblem, Route
from lemel.mill.fewest import Fewest, fewest
from lemel.mill.field import Limits
from lemel.mill.grid import Grid
from lemel.mill.hardening import aged, hardening_row
from lemel.mill.level import level
from lemel.mill.reasons import refuse, too_wide_for
from lemel.mill.rules import rules_of
from lemel.mill.search import minutes_of
from lemel.mill.write import Written, write
from lemel.tables import Tables
from lemel.values import Objection, Proof, Quantity, Saying, Temper, Watch, quiet, stretch

__all__ = ["do"]


def do(problem: MillProblem, *, tables: Tables | None = None, watch: Watch = quiet) -> Route:
    """The way from the bar to the stock; infeasible is an answer with reasons and ways out.

    The printed route is the quickest in minutes at a comfortable load among settings that
    a hand can make (variant "easy") or the fewest passages at full load (variant
    "fewest"); proven optimal on its settings. Raises BadInput for a faulty kit or variant,
    Stopped where it is stopped before the route itself is found.
    """
    require(
        problem.variant in ("easy", "fewest"), "variant", problem.variant, "easy, fewest",
        "Ask for the easy route or for the fewest passages.",
    )  # fmt: skip
    for field, value, least_of in (
        ("pace", problem.pace, 0.0), ("mesh", problem.mesh or 2.0, 1.0),
        ("spread_factor", problem.spread_factor or 1.0, 0.0),
    ):  # fmt: skip
        require(value > least_of, field, value, f"more than {least_of:g}", "Mend the figure.")
    least: Fewest | None = None
    if problem.variant == "easy":
        grid = Grid(ratio=problem.mesh)
        costs = minutes_of(rules_of(tables))
        first = stretch(watch, 0.0, 0.4)
        best = attempt(problem, tables, grid, costs, full_load=False, watch=first)
    else:
        least = fewest(problem, tables, watch)
        best = least.best
    limits = limits_of(best.task, full_load=least is not None)
    if best.found.path is None:
        return _by_fire(problem, tables, watch) or _infeasible(problem, best, limits)
    route = _written(problem, best, limits, levelled=least is None)
    if least is None:
        try:
            least = fewest(problem, tables, stretch(watch, 0.4, 1.0))
        except Stopped:
            # The printed route is whole without the count that stands beside it.
            return replace(route, explain=(*route.explain, Saying("mill.explain.stopped")))
    return _with_fewest(route, least)


def _by_fire(problem: MillProblem, tables: Tables | None, watch: Watch) -> Route | None:
    """A hardness that no rolling gives, by ageing soft stock where the alloy answers to it."""
    temper = problem.need.temper
    row = hardening_row(problem.bar, temper, tables)
    if row is None or temper is None:
        return None
    soft = replace(problem, need=replace(problem.need, temper=Temper("soft")))
    route = do(soft, tables=tables, watch=watch)
    if route.status == "infeasible":
        return None
    return aged(route, row, temper, rules_of(tables).anneal_min)


def _written(problem: MillProblem, best: Try, limits: Limits, levelled: bool) -> Route:
    """The path as steps; the easy one with its drafts levelled."""
    task, path = best.task, best.found.path
    assert path is not None
    written = write(task, problem.bar, best.graph, path, limits)
    extra = 0.0
    if levelled:
        smooth = level(best.graph, task.matter, task.rules, limits, path)
        plain, written = written, write(task, problem.bar, best.graph, smooth, limits)
        extra = written.minutes - plain.minutes
    route = _route(problem, best, written, extra)
    route = replace(
        route, cautions=cautions_of(route.steps, task), explain=explain(route, task, problem)
    )
    return route if problem.pace == 1.0 else _paced(route, problem.pace)


def _paced(route: Route, pace: float) -> Route:
    """The minutes of this bench."""
    steps = tuple(replace(step, minutes=step.minutes * pace) for step in route.steps)
    return replace(route, steps=steps, minutes=route.minutes * pace)


def _route(problem: MillProblem, best: Try, written: Written, levelling: float) -> Route:
    """Levelled drafts may cost seconds over the cheapest path: the proof's gap says how much."""
    path = best.found.path
    assert path is not None
    cost = path.cost + max(0.0, levelling)
    proof = Proof(
        "optimal", cost, path.cost, (cost - path.cost) / max(abs(cost), 1e-9), best.found.states,
        seed=problem.seed,
    )  # fmt: skip
    return Route(
        "optimal", written.steps, written.passes, written.anneals, written.minutes, proof,
        written.stock, written.offcuts, written.loss_g,
        objections=best.task.piece.objections + _notes(problem, best.task),
        serves=min(1.0, written.cut.serves),
    )  # fmt: skip


def _notes(problem: MillProblem, task: Task) -> tuple[Objection, ...]:
    """Things to know that do not stop the work."""
    notes: list[Objection] = []
    bar, piece = problem.bar, task.piece
    thin = problem.need.section.thickness_mm * task.rules.sound_times
    if piece.cast and piece.height_mm < thin:
        notes.append(
            Objection(
                "mill.bar.keeps_cast_grain",
                bar.id,
                "note",
                {"have": Quantity(piece.height_mm, "mm"), "better": Quantity(thin, "mm")},
                Saying("mill.do.pour_thicker", {"better": Quantity(thin, "mm")}),
            )
        )
    if bar.suspect:
        notes.append(
            Objection(
                "mill.bar.suspect",
                bar.id,
                "ask",
                {"bar": bar.id},
                Saying("mill.do.roll_a_sample", {}),
            )
        )
    for wide in too_wide_for(problem.need, problem.kit, task.matter.density_g_cm3, task.rules):
        # The hammer does it; rolled sheet can be had too, but not in one piece.
        widest = wide.values["widest"]
        notes.append(
            replace(wide, remedy=Saying("mill.way.narrower_sheets", {"widest": widest}))
            if problem.need.disc_mm is None
            else wide
        )
    return tuple(notes)


def _with_fewest(route: Route, least: Fewest) -> Route:
    path = least.best.found.path
    if path is None:
        return route
    passes = sum(move.tool not in _NOT_PASSES for move in path.moves)
    anneals = sum(move.tool == "anneal" for move in path.moves)
    return replace(
        route, fewest=passes, fewest_anneals=anneals, fewest_cost=path.cost,
        fewest_bound=least.bound, fewest_over=least.over,
    )  # fmt: skip


_NOT_PASSES = frozenset({"enter", "anneal", "turn", "disc", "slit"})


def _infeasible(problem: MillProblem, best: Try, limits: Limits) -> Route:
    objections, ways = refuse(best.task, problem.bar, best.graph, best.found, limits)
    proof = Proof("infeasible", None, None, None, best.found.states, seed=problem.seed)
    return Route(
        "infeasible", (), 0, 0, 0.0, proof, (), (), 0.0,
        objections=best.task.piece.objections + objections, ways_out=ways, serves=0.0,
    )  # fmt: skip
