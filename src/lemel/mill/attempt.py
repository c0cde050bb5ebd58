"""One try at a route: every bench of the kit, by machine first, by hammer where that fails."""

from __future__ import annotations

from dataclasses import dataclass

from lemel.mill.bench import Bench, benches
from lemel.mill.build import Task, build
from lemel.mill.faces import MillProblem
from lemel.mill.field import Limits
from lemel.mill.graph import Graph, Terminal
from lemel.mill.grid import Grid
from lemel.mill.matter import Matter, matter_of
from lemel.mill.piece import Piece, piece_of
from lemel.mill.rules import Rules, rules_of
from lemel.mill.search import Costs, Searched, search
from lemel.mill.yields import cut_of
from lemel.tables import Tables
from lemel.values import Watch, quiet, stretch

__all__ = ["Try", "attempt", "limits_of"]


@dataclass(frozen=True, slots=True)
class Try:
    """One bench tried: its task, graph, and what the search found."""

    task: Task
    graph: Graph
    found: Searched

    @property
    def cost(self) -> float:
        path = self.found.path
        return path.cost if path else float("inf")

    @property
    def deepest(self) -> float:
        """How much work the metal has had at the furthest place that was reached."""
        return max((self.graph.nodes[i].depth for i in self.found.furthest), default=0.0)


def limits_of(task: Task, *, full_load: bool) -> Limits:
    """Strain limits of the metal, the pull, and the share of the torque that may be used."""
    working, rules, mill = task.matter.working, task.rules, task.bench.mill
    factor = rules.unknown_leg_factor * (rules.suspect_factor if task.suspect else 1.0)
    return Limits(
        comfort=1.0 if full_load or mill is None else mill.comfort,
        strain_most=working.strain_most * factor,
        cast_strain_most=working.cast_strain_most * factor,
        anneal_least=min(working.anneal_strain_least, 0.6 * working.strain_most * factor),
        anneal_cast_least=min(rules.anneal_cast_least, 0.6 * working.cast_strain_most * factor),
        pull_n=task.bench.pull_n,
        stroke_mm=task.bench.stroke_mm,
        cast_reduction=1.0 if full_load else rules.cast_reduction,
    )


def _task_of(
    problem: MillProblem, bench: Bench, matter: Matter, rules: Rules, piece: Piece, grid: Grid,
    hammer: bool,
) -> Task:  # fmt: skip
    """The task of one bench."""
    factor = problem.spread_factor if problem.spread_factor is not None else rules.spread_factor
    return Task(
        piece, problem.need, bench, matter, rules, grid, factor, hammer, suspect=problem.bar.suspect
    )


def attempt(
    problem: MillProblem,
    tables: Tables | None,
    grid: Grid,
    costs: Costs,
    *,
    full_load: bool,
    watch: Watch = quiet,
) -> Try:
    """The best over the benches of the kit; the hammer only where nothing else gets there."""
    rules = rules_of(tables)
    matter = matter_of(problem.bar.body, tables)
    if problem.working is not None:
        matter = matter.hardening_as(problem.working)
    piece = piece_of(problem.bar, matter.density_g_cm3, rules, tables)
    tries: list[Try] = []
    at_hand = list(benches(problem.kit, rules))
    for hammer in (False, True):
        for number, bench in enumerate(at_hand):
            part = stretch(watch, number / len(at_hand), (number + 1) / len(at_hand))
            task = _task_of(problem, bench, matter, rules, piece, grid, hammer)
            graph = build(task)
            if not problem.accept_short:
                _part_short(graph, task)
            limits = limits_of(task, full_load=full_load)
            found = search(graph, matter, rules, limits, costs, problem.need.temper, part)
            tries.append(Try(task, graph, found))
        if any(one.found.path for one in tries):
            break
    # Where there is no route, the try that came furthest says best what is in the way.
    return min(tries, key=lambda one: (one.cost, -one.deepest))


def _part_short(graph: Graph, task: Task) -> None:
    """Set aside the ends at which too little metal is left for the whole need."""
    enough: list[Terminal] = []
    for end in graph.terminals:
        node = graph.nodes[end.node]
        drawn = node.shape in ("round", "half_round", "oval") and node.shape != task.piece.shape
        cut = cut_of(node, end.finish, task.need, task.rules, worked=end.node > 0, drawn=drawn)
        (enough if cut.serves >= 1 - 1e-9 else graph.short).append(end)
    graph.terminals[:] = enough
