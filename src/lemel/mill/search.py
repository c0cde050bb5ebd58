"""The shortest way through the graph: exact over (node, node at which the metal was last soft).

For each tool and each state the furthest step that the limits allow is found by halving;
every shorter step is then allowed too, so the states ahead are relaxed as one range. That
gives the answer of the plain programme over all single steps at a fraction of its work.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from lemel.errors import Stopped
from lemel.mill.field import SLACK, Field, Limits
from lemel.mill.graph import Graph, Link, Run
from lemel.mill.loads import draw_load, worst
from lemel.mill.matter import Matter
from lemel.mill.rules import Rules
from lemel.values import Mill, Temper, Watch, quiet

__all__ = [
    "Costs", "Move", "Path", "Searched", "grips", "minutes_of", "passages", "search",
]  # fmt: skip

Array = np.ndarray[Any, Any]


@dataclass(frozen=True, slots=True)
class Costs:
    """The price of each action.

    Set-up per tool and piece, whether the length that is fed counts, per mm drawn and per
    new grip, anneals, turns, per mJ of hammering; `links` weighs the minutes of cutting.
    """

    setup: dict[str, float]
    rolled_length: bool
    per_mm_drawn: float
    grip: float
    anneal: float
    anneal_early: float
    turn: float
    turn_hard: float
    per_mj: float
    links: float = 1.0


def minutes_of(rules: Rules) -> Costs:
    """Costs in minutes at the bench."""
    return Costs(
        {"flats": rules.pass_min, "turned": rules.pass_min, "groove": rules.pass_min,
         "hole": rules.hole_min, "hammer": rules.hammer_min},
        True,
        1 / rules.draw_feed_mm_s / 60,
        rules.grip_min,
        rules.anneal_min,
        rules.anneal_early_min,
        rules.turn_min,
        rules.turn_hard_min,
        1 / (1000 * rules.hammer_j * rules.hammer_per_min),
    )  # fmt: skip


def passages(rules: Rules) -> Costs:
    """Costs in passages: an anneal counts as so many of them."""
    n = rules.anneal_in_passes
    return Costs(
        {"flats": 1, "turned": 1, "groove": 1, "hole": 1, "hammer": 1},
        False,
        0.0,
        0.0,
        n,
        n / 2,
        0.01,
        n / 4,
        1 / (1000 * rules.hammer_j * rules.hammer_per_min),
        0.1,
    )


@dataclass(frozen=True, slots=True)
class Move:
    """One action of a path: from node to node (the same for an anneal), soft at `soft`."""

    tool: str
    source: int
    target: int
    soft: int
    mill: Mill | None = None
    reduction_most: float = 1.0


@dataclass(frozen=True, slots=True)
class Path:
    """The cheapest way: its moves, cost, and the terminal reached."""

    moves: tuple[Move, ...]
    cost: float
    terminal: int


@dataclass(frozen=True, slots=True)
class Searched:
    """The path (None: there is none), the states that were settled, and the furthest node."""

    path: Path | None
    states: int
    furthest: frozenset[int]


def search(
    graph: Graph,
    matter: Matter,
    rules: Rules,
    limits: Limits,
    costs: Costs,
    temper: Temper | None,
    watch: Watch = quiet,
    *,
    bound: bool = False,
) -> Searched:
    """The cheapest path from the first node to any terminal in the temper that is asked.

    With `bound` each node stands for its whole cell and every doubt is decided for the
    cheaper side: the cost is then a lower bound for all sizes, not only those of the mesh,
    as long as thinner entry and softer metal never reach less far.
    """
    field = Field(graph, matter, rules, limits, bound)
    states = _Sweep(field, costs).run(watch)
    reached = frozenset(int(v) for v in np.flatnonzero((field.cost < np.inf).any(axis=1)))
    return Searched(_best(field, costs, temper), states, reached)


class _Sweep:
    """One pass over the nodes in visiting order, relaxing what lies ahead of each."""

    def __init__(self, field: Field, costs: Costs) -> None:
        self.field, self.costs = field, costs
        self.runs = field.graph.runs
        self.reaches = [field.reach(run) for run in self.runs]
        self.prices = [_step_costs(field, costs, run) for run in self.runs]
        self.allowed = _links_allowed(field)
        self.link_prices = np.array([_link_cost(field, costs, link) for link in field.graph.links])
        self.bundles = _bundles(field.graph)

    def run(self, watch: Watch) -> int:
        """Settle every state; their number."""
        field, states = self.field, 0
        field.cost[0, field.n] = 0.0
        for v, node in enumerate(field.graph.nodes):
            if v % 64 == 0:
                watch.tell(v / field.n)
                if watch.cancelled():
                    raise Stopped("stopped before a route was found")
            rows = np.flatnonzero(field.cost[v] < np.inf)
            if len(rows) == 0:
                continue
            if node.closed and self._anneal(v, rows):
                rows = np.flatnonzero(field.cost[v] < np.inf)
            states += len(rows)
            for r, run in enumerate(self.runs):
                if v in run.sources:
                    self._relax_run(r, v, rows)
            for links, targets in self.bundles[v]:
                self._relax_links(links, targets, v, rows)
        return states

    def _anneal(self, v: int, rows: Array) -> bool:
        """Soften at v from the cheapest state; metal as cast must have been worked before."""
        field, costs = self.field, self.costs
        strain = field.depth[v] - field.thick[rows]
        early = strain < field.least[rows] - SLACK
        total = field.cost[v, rows] + costs.anneal + np.where(early, costs.anneal_early, 0.0)
        if field.graph.cast:
            total[early & (rows == field.n)] = np.inf
        best = int(np.argmin(total))
        if not total[best] < np.inf:
            return False
        field.cost[v, v] = total[best]
        field.origin[v, v] = rows[best]
        return True

    def _relax_run(self, r: int, v: int, rows: Array) -> None:
        field, run = self.field, self.runs[r]
        far = self.reaches[r][v - run.sources.start, rows]
        first = max(v + 1, run.targets.start)
        able = far >= first
        if not able.any():
            return
        rows, far = rows[able], far[able]
        last = int(far.max())
        price = self.prices[r][first - run.targets.start : last + 1 - run.targets.start]
        total = field.cost[v, rows][None, :] + price[:, None]
        if run.tool == "hammer":
            total += _blows(field, self.costs, rows, v, slice(first, last + 1))
        total[np.arange(first, last + 1)[:, None] > far[None, :]] = np.inf
        self._improve(np.arange(first, last + 1), rows, total, v, r)

    def _relax_links(self, links: Array, targets: Array, v: int, rows: Array) -> None:
        """Take all links of one bundle at once."""
        field, costs = self.field, self.costs
        able = self.allowed[rows[None, :], links[:, None]]
        some = able.any(axis=0)
        if not some.any():
            return
        rows, able = rows[some], able[:, some]
        total = field.cost[v, rows][None, :] + self.link_prices[links][:, None]
        for k, i in enumerate(links):
            if field.graph.links[i].tool == "turn":
                hard = field.thick[v] - field.depth[rows] > 0.02
                total[k] += np.where(hard, costs.turn_hard, 0.0)
        total[~able] = np.inf
        self._improve(targets, rows, total, v, len(self.runs) + links[:, None])

    def _improve(self, targets: Array, rows: Array, total: Array, v: int, by: Any) -> None:
        """Where the total is less than what was known, note it and how it came about.

        The tables are read and written by flat places: a chosen few of many.
        """
        field = self.field
        places = targets[:, None] * (field.n + 1) + rows[None, :]
        better = total < field.cost.take(places) - 1e-12
        if not better.any():
            return
        places = places[better]
        field.cost.put(places, total[better])
        way = np.broadcast_to(v * field.tools + by, better.shape)
        field.origin.put(places, way[better])


def grips(length_mm: float, stroke_mm: float) -> int:
    """How often a wire is gripped again while it is pulled through one hole."""
    return max(0, math.ceil(length_mm / stroke_mm - 1e-9) - 1)


def _step_costs(field: Field, costs: Costs, run: Run) -> Array:
    """The price of arriving at each target of a run, without blows."""
    u = slice(run.targets.start, run.targets.stop)
    setup = costs.setup[run.tool] * field.pieces[u]
    if run.mill is None or not costs.rolled_length:
        return np.asarray(setup, dtype=float)
    return np.asarray(setup + field.volume[u] / field.area[u] / run.mill.feed_mm_s / 60)


def _link_cost(field: Field, costs: Costs, link: Link) -> float:
    """The price of a link, but for what a turn costs on hard metal."""
    u, price = link.target, link.minutes * costs.links
    if link.tool == "turn":
        return price + costs.turn
    if link.tool != "hole":
        return price
    pieces = int(field.pieces[u])
    length = float(field.volume[u] / field.area[u])
    price += costs.setup["hole"] * pieces + costs.per_mm_drawn * length
    return price + costs.grip * grips(length / pieces, field.limits.stroke_mm)


def _bundles(graph: Graph) -> list[list[tuple[Array, Array]]]:
    """By source, links that lead to different nodes, and these: they can be taken at once."""
    found: list[list[dict[int, int]]] = [[] for _ in graph.nodes]
    for i, link in enumerate(graph.links):
        here = found[link.source]
        free = next((bundle for bundle in here if link.target not in bundle), None)
        if free is None:
            free = {}
            here.append(free)
        free[link.target] = i
    return [[(np.array(list(b.values())), np.array(list(b))) for b in bundles] for bundles in found]


def _blows(field: Field, costs: Costs, rows: Array, v: int, span: slice) -> Array:
    """The price of the work that the hammer puts in."""
    soft = field.depth[rows]
    done = field.matter.work_mpa(field.depth[v] - soft)[None, :]
    then = field.matter.work_mpa(field.depth[span][:, None] - soft[None, :])
    return np.asarray((then - done) * field.volume[v] * costs.per_mj)


def _links_allowed(field: Field) -> Array:
    """Table [a, link]: whether the limits allow the link on metal last soft at a."""
    links, depth = field.graph.links, field.depth
    ok = np.zeros((field.n + 1, len(links)), dtype=bool)
    holes = np.array([i for i, link in enumerate(links) if link.tool == "hole"], dtype=int)
    for i, link in enumerate(links):
        if link.tool != "hole":
            after = field.thick[link.target] - depth
            ok[:, i] = (after <= field.most + SLACK) | (link.tool == "enter")
    if len(holes) == 0:
        return ok
    u = np.array([links[i].target for i in holes])
    v = np.array([links[i].source for i in holes])
    most = np.array([links[i].reduction_most for i in holes])
    # Only where metal last soft at a can come to the hole at all is its pull reckoned.
    rows, cols = np.nonzero(field.above[:, v])
    after = field.thick[u][cols] - depth[rows]
    near = after <= field.most[rows] + SLACK
    rows, cols, after = rows[near], cols[near], after[near]
    before = np.maximum(field.thick[v][cols] - depth[rows], 0)
    load = draw_load(
        field.limits.pull_n, field.matter, field.rules, field.area[v][cols], field.area[u][cols],
        before, np.maximum(after, before + 1e-9), most[cols],
    )  # fmt: skip
    drawn = worst(load) <= 1 + SLACK
    ok[rows[drawn], holes[cols[drawn]]] = True
    return ok


def _best(field: Field, costs: Costs, temper: Temper | None) -> Path | None:
    best, where, cost = None, -1, np.inf
    for t, terminal in enumerate(field.graph.terminals):
        u = terminal.node
        least, most = field.thick[u] - field.depth, field.depth[u] - field.thick
        ok = field.cost[u] < np.inf
        ok &= _temper_met(least, most, temper, field.matter, np.arange(field.n + 1) == u)
        if field.graph.unknown and temper is not None:
            ok[field.n] = False
        total = np.where(ok, field.cost[u] + terminal.finish.minutes * costs.links, np.inf)
        a = int(np.argmin(total))
        if total[a] < cost - 1e-12:
            best, where, cost = a, t, float(total[a])
    if best is None:
        return None
    return Path(_trace(field, best, field.graph.terminals[where].node), cost, where)


def _temper_met(
    least: Array, most: Array, temper: Temper | None, matter: Matter, soft_here: Array
) -> Array:
    """Whether a strain between `least` and `most` (equal but for bounds) meets the temper."""
    if temper is None:
        return np.ones(len(least), dtype=bool)
    if temper.kind == "soft":
        return soft_here | (np.abs(least) < SLACK)
    lo, hi = matter.window(temper)
    return np.asarray((most >= lo - 1e-6) & (least <= hi + 1e-6))


def _trace(field: Field, a: int, u: int) -> tuple[Move, ...]:
    moves: list[Move] = []
    runs, links = field.graph.runs, field.graph.links
    while not (a == field.n and u == 0):
        if a == u:
            a = int(field.origin[u, u])
            moves.append(Move("anneal", u, u, a))
            continue
        v, by = divmod(int(field.origin[u, a]), field.tools)
        if by < len(runs):
            moves.append(Move(runs[by].tool, v, u, a, runs[by].mill))
        else:
            link = links[by - len(runs)]
            moves.append(Move(link.tool, v, u, a, None, link.reduction_most))
        u = v
    return tuple(reversed(moves))
