"""Which start: the least mass for a need, and a quick verdict on each bar."""

from __future__ import annotations

from dataclasses import replace

from lemel.metal import Working
from lemel.mill.attempt import Try, attempt, limits_of
from lemel.mill.faces import BarVerdict, MillKit, MillNeed, MillProblem
from lemel.mill.grid import Grid
from lemel.mill.matter import matter_of
from lemel.mill.reasons import refuse, too_light, too_wide_for
from lemel.mill.rules import rules_of
from lemel.mill.search import minutes_of
from lemel.mill.write import write
from lemel.mill.yields import grams_least, grams_net
from lemel.tables import Tables
from lemel.values import Bar, Composition, Objection, Saying, StockNeed, Watch, quiet, stretch

__all__ = ["need"]

#: Coarse settings nested in those that are printed: what they reach, those reach.
_QUICK = Grid(coarse=2)


def need(
    stock: StockNeed,
    bars: tuple[Bar, ...],
    kit: MillKit,
    body: Composition,
    *,
    spread_factor: float | None = None,
    working: Working | None = None,
    pace: float = 1.0,
    tables: Tables | None = None,
    watch: Watch = quiet,
) -> MillNeed:
    """The grams that a need asks of an ingot of `body`, and a verdict on each of the bars.

    A verdict comes from the same search on coarser settings, so its passes and minutes are
    an upper estimate. Where no bar fits, the reasons and ways out of all are gathered. A
    sheet that is wider than every barrel is noted in any case. `spread_factor`, `working`
    and `pace` are what the bench has learnt, as in `MillProblem`.
    """
    density = matter_of(body, tables).density_g_cm3
    least = grams_least(stock, density, rules_of(tables), ingot=True)
    verdicts = []
    for number, bar in enumerate(bars):
        part = stretch(watch, number / len(bars), (number + 1) / len(bars))
        problem = MillProblem(
            bar, stock, kit, spread_factor=spread_factor, working=working, pace=pace,
            accept_short=True,
        )  # fmt: skip
        verdicts.append(_verdict(problem, tables, part))
    wide = too_wide_for(stock, kit, density, rules_of(tables))
    if not bars or any(verdict.fits for verdict in verdicts):
        return MillNeed(least, tuple(verdicts), wide, tuple(o.remedy for o in wide if o.remedy))
    objections = (*wide, *(o for verdict in verdicts for o in verdict.objections))
    ways: list[Saying] = []
    for objection in objections:
        if objection.remedy is not None and objection.remedy not in ways:
            ways.append(objection.remedy)
    return MillNeed(least, tuple(verdicts), objections, tuple(ways))


def _verdict(problem: MillProblem, tables: Tables | None, watch: Watch) -> BarVerdict:
    bar, stock = problem.bar, problem.need
    costs = minutes_of(rules_of(tables))
    best = attempt(problem, tables, _QUICK, costs, full_load=False, watch=watch)
    if best.found.path is None:
        best = attempt(problem, tables, Grid(), costs, full_load=False, watch=watch)
    if best.found.path is None:
        return _refused(stock, bar, best)
    task = best.task
    written = write(task, bar, best.graph, best.found.path, limits_of(task, full_load=False))
    serves = written.cut.serves
    share = sum(one.mass_g for one in written.stock) / bar.mass_g
    net = grams_net(stock, task.matter.density_g_cm3)
    short = () if serves >= 1 - 1e-9 else _why_short(problem, best, tables, net / (share or 1.0))
    return BarVerdict(
        bar.id, not short, net / share if share else net, written.passes, written.anneals,
        written.minutes * problem.pace, task.piece.objections + short, True, min(1.0, serves),
        share,
    )  # fmt: skip


def _why_short(
    problem: MillProblem, best: Try, tables: Tables | None, wanted_g: float
) -> tuple[Objection, ...]:
    """Too little metal, or enough of it in pieces that are too short."""
    bar = problem.bar
    if bar.mass_g < wanted_g:
        return too_light(best.task, bar, wanted_g)[0]
    whole = replace(problem, accept_short=False)
    costs = minutes_of(rules_of(tables))
    strict = attempt(whole, tables, Grid(), costs, full_load=False)
    if strict.found.path is not None:
        return ()
    limits = limits_of(strict.task, full_load=False)
    return refuse(strict.task, bar, strict.graph, strict.found, limits)[0]


def _refused(stock: StockNeed, bar: Bar, best: Try) -> BarVerdict:
    task = best.task
    limits = limits_of(task, full_load=False)
    objections, _ = refuse(task, bar, best.graph, best.found, limits)
    least = grams_least(stock, task.matter.density_g_cm3, task.rules, bar.kind == "ingot")
    return BarVerdict(bar.id, False, least, 0, 0, 0.0, task.piece.objections + objections)
