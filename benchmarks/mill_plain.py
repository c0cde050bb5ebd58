"""The plain programme that the mill's search is measured against.

Every step from every size to every smaller one is tried by itself, with arrays only over
the places at which the metal was last soft. Same sizes, same limits, same prices.
"""

from __future__ import annotations

import numpy as np

from lemel.mill.build import Task, build
from lemel.mill.field import SLACK, Field, Limits
from lemel.mill.loads import draw_load, worst
from lemel.mill.search import Costs


def plain_cost(task: Task, limits: Limits, costs: Costs) -> float:
    """The least cost by the full programme over all single steps; only for passages."""
    graph = build(task)
    field = Field(graph, task.matter, task.rules, limits)
    n = field.n
    cost = np.full((n, n + 1), np.inf)
    cost[0, n] = 0.0
    for v in range(n):
        if graph.nodes[v].closed:
            _anneal(field, costs, cost, v)
        soft = np.flatnonzero(cost[v] < np.inf)
        if len(soft) == 0:
            continue
        for run in graph.runs:
            if v not in run.sources:
                continue
            for u in range(max(v + 1, run.targets.start), run.targets.stop):
                strain = field.depth[u] - field.depth[soft]
                ok = strain <= field.most[soft] + SLACK
                if not ok.any():
                    break
                at, to = np.full(len(soft), v), np.full(len(soft), u)
                ok &= worst(field.load(run, soft, at, to)) <= 1 + SLACK
                price = costs.setup[run.tool] * graph.nodes[u].pieces
                total = np.where(ok, cost[v, soft] + price, np.inf)
                cost[u, soft] = np.minimum(cost[u, soft], total)
        _links(field, costs, cost, v, soft)
    return _least(field, costs, cost, task)


def _anneal(field: Field, costs: Costs, cost: np.ndarray, v: int) -> None:  # type: ignore[type-arg]
    strain = field.depth[v] - field.depth
    early = strain < field.least - SLACK
    total = cost[v] + costs.anneal + np.where(early, costs.anneal_early, 0.0)
    if field.graph.cast and early[field.n]:
        total[field.n] = np.inf
    cost[v, v] = min(cost[v, v], total.min())


def _links(field: Field, costs: Costs, cost: np.ndarray, v: int, soft: np.ndarray) -> None:  # type: ignore[type-arg]
    for link in field.graph.links:
        if link.source != v:
            continue
        u = link.target
        before = np.maximum(field.depth[v] - field.depth[soft], 0)
        after = field.depth[u] - field.depth[soft]
        ok = (after <= field.most[soft] + SLACK) | (link.tool == "enter")
        price = link.minutes * costs.links
        if link.tool == "hole":
            load = draw_load(
                field.limits.pull_n, field.matter, field.rules, field.area[v], field.area[u],
                before, np.maximum(after, before + 1e-9), link.reduction_most,
            )  # fmt: skip
            ok &= worst(load) <= 1 + SLACK
            price += costs.setup["hole"] * field.graph.nodes[u].pieces
        elif link.tool == "turn":
            hard = field.depth[v] - field.depth[soft] > 0.02
            price = price + costs.turn + np.where(hard, costs.turn_hard, 0.0)
        total = np.where(ok, cost[v, soft] + price, np.inf)
        cost[u, soft] = np.minimum(cost[u, soft], total)


def _least(field: Field, costs: Costs, cost: np.ndarray, task: Task) -> float:  # type: ignore[type-arg]
    best = np.inf
    for end in field.graph.terminals:
        row = cost[end.node].copy()
        if task.window is not None:
            strain = field.depth[end.node] - field.depth
            lo, hi = task.window
            row[(strain < lo - 1e-6) | (strain > hi + 1e-6)] = np.inf
        best = min(best, float(row.min()) + end.finish.minutes * costs.links)
    return best
