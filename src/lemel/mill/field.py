"""The graph as arrays: depths, limits, loads, and how far each tool reaches from each state."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from lemel.mill.graph import Graph, Run
from lemel.mill.loads import Load, groove_load, roll_load, worst
from lemel.mill.matter import Matter
from lemel.mill.rules import Rules

__all__ = ["SLACK", "Field", "Limits"]

Array = np.ndarray[Any, Any]
#: What rounding may add to a share or a strain.
SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class Limits:
    """What the metal and the arms may do: comfort is the share of the crank's torque.

    `cast_reduction` is the most area that a pass may take of metal as cast.
    """

    comfort: float
    strain_most: float
    cast_strain_most: float
    anneal_least: float
    anneal_cast_least: float
    pull_n: float
    stroke_mm: float = math.inf
    cast_reduction: float = 1.0


class Field:
    """Arrays over the graph and the dynamic programme's tables."""

    def __init__(
        self, graph: Graph, matter: Matter, rules: Rules, limits: Limits, bound: bool = False
    ) -> None:
        nodes = graph.nodes
        self.graph, self.matter, self.rules, self.limits = graph, matter, rules, limits
        self.n = len(nodes)
        self.height = np.array([n.height_mm for n in nodes])
        self.width = np.array([n.width_mm for n in nodes])
        self.area = np.array([n.area_mm2 for n in nodes])
        self.depth = np.array([n.depth for n in nodes] + [graph.soft_depth])
        # Seeking a bound, a node stands for all sizes up to the next larger one: steps start
        # from its thin end, arrive at its thick end, and leave the metal as soft as can be.
        self.bound = bound
        cells = np.array([n.cell if bound else 0.0 for n in nodes] + [0.0])
        self.fuzzy = cells[: self.n] > 0
        self.thick = self.depth - cells
        self.volume = np.array([n.volume_mm3 for n in nodes])
        self.pieces = np.array([n.pieces for n in nodes])
        most = np.full(self.n + 1, limits.strain_most)
        least = np.full(self.n + 1, limits.anneal_least)
        if graph.cast:
            most[self.n], least[self.n] = limits.cast_strain_most, limits.anneal_cast_least
        if graph.unknown:
            most[self.n], least[self.n] = -1.0, 0.0
        self.most, self.least = most, least
        self.above = _above(graph)
        # Row: the node; column: the node last soft at, the last one being the start.
        self.cost = np.full((self.n, self.n + 1), np.inf)
        self.origin = np.full((self.n, self.n + 1), -1, dtype=np.int64)
        self.tools = len(graph.runs) + len(graph.links) + 1

    def load(self, run: Run, a: Array, v: Array, u: Array) -> Load:
        """The load of steps v -> u on metal last soft at a."""
        e0, e1 = self.depth[v] - self.depth[a], self.depth[u] - self.depth[a]
        mill = run.mill
        assert mill is not None
        if run.tool == "flats":
            load = roll_load(
                mill, self.limits.comfort, self.matter, self.rules, self.height[v],
                self.height[u], self.width[u], e0, e1,
            )  # fmt: skip
        else:
            load = groove_load(
                mill, self.limits.comfort, self.matter, self.rules, self.height[v],
                self.height[u], self.area[v], self.area[u], e0, e1, run.tool == "groove",
            )  # fmt: skip
        if self.graph.cast and self.limits.cast_reduction < 1:
            gentle = (1 - self.area[u] / self.area[v]) / self.limits.cast_reduction
            load.shares["cast"] = np.where(a == self.n, gentle, 0.0)
        return load

    def reach(self, run: Run) -> Array:
        """Table [v - first source, a]: the furthest node of the run's range; -1: none."""
        src = np.arange(run.sources.start, run.sources.stop)
        strain = self.depth[src][None, :] - self.depth[:, None]
        known = (strain > -1e-9) & (strain <= self.most[:, None] + SLACK)
        known &= self.above[:, src]
        rows, cols = np.nonzero(known)
        far = np.full((len(src), self.n + 1), -1, dtype=np.int64)
        if len(rows) == 0:
            return far
        v = src[cols]
        first = np.maximum(v + 1, run.targets.start)
        tail = self.depth[run.targets.start : run.targets.stop]
        cap = self.depth[rows] + self.most[rows] + SLACK
        last = run.targets.start + np.searchsorted(tail, cap, side="right") - 1
        last = np.minimum(last, run.targets.stop - 1)
        if run.tool != "hammer":
            last = self._halve(run, rows, v, first, last)
        if self.bound:
            ahead = np.minimum(np.maximum(last, first - 1) + 1, run.targets.stop - 1)
            last = np.where((ahead >= first) & self.fuzzy[ahead], ahead, last)
        far[cols, rows] = np.where(last >= first, last, -1)
        return far

    def _halve(self, run: Run, a: Array, v: Array, first: Array, last: Array) -> Array:
        """The last feasible index of each range, by halving; first - 1 where none is."""
        lo, hi = first - 1, last.copy()
        while True:
            open_ = np.nonzero(lo < hi)[0]
            if len(open_) == 0:
                return lo
            mid = (lo[open_] + hi[open_] + 1) // 2
            ok = worst(self.load(run, a[open_], v[open_], mid)) <= 1 + SLACK
            lo[open_[ok]] = mid[ok]
            hi[open_[~ok]] = mid[~ok] - 1


def _above(graph: Graph) -> Array:
    """Table [a, v]: whether metal at v may last have been soft at a; the last row is the start."""
    n = len(graph.nodes)
    ways: list[int] = [0] * n
    into: list[list[int]] = [[] for _ in range(n)]
    for link in graph.links:
        into[link.target].append(link.source)
    passed = [0] * len(graph.runs)
    for v in range(n):
        for r, run in enumerate(graph.runs):
            if v in run.targets:
                ways[v] |= passed[r]
        for u in into[v]:
            ways[v] |= ways[u]
        if graph.nodes[v].closed:
            ways[v] |= 1 << v
        for r, run in enumerate(graph.runs):
            if v in run.sources:
                passed[r] |= ways[v]
    size = (n + 7) // 8
    packed = np.frombuffer(b"".join(w.to_bytes(size, "little") for w in ways), dtype=np.uint8)
    table = np.unpackbits(packed.reshape(n, size), axis=1, bitorder="little")[:, :n]
    return np.vstack([table.T, np.ones((1, n), dtype=np.uint8)]).astype(bool)
