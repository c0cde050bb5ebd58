"""The fewest passes over all thicknesses by the exchange argument (see `certificate`)."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from lemel.mill.build import Task
from lemel.mill.chains import Chain
from lemel.mill.field import Limits
from lemel.mill.graph import Node
from lemel.mill.loads import roll_load, worst
from lemel.mill.search import Costs

__all__ = ["Exchange"]

Array = np.ndarray[Any, Any]
_HALVINGS = 24
_PASSES_MOST = 80
_WAVES_MOST = 12
_SAMPLES = 20


@dataclass(frozen=True, slots=True)
class _Label:
    """Metal at a thickness, last soft at another, reached at a cost. `first`: as it came."""

    cost: float
    soft: float
    at: float
    first: bool = False
    way: tuple[float, ...] = ()


class _Phase:
    """One family of flats as functions of thickness."""

    def __init__(self, nodes: tuple[Node, ...]) -> None:
        self.top, self.end = float(nodes[0].height_mm), float(nodes[-1].height_mm)
        self.heights = np.array([node.height_mm for node in reversed(nodes)])
        self.widths = np.array([node.width_mm for node in reversed(nodes)])


class Exchange:
    """The labels of one chain of flats."""

    def __init__(
        self, task: Task, limits: Limits, costs: Costs, chain: Chain, *, cast: bool, unknown: bool
    ) -> None:
        self.task, self.limits, self.costs = task, limits, costs
        self.cast, self.unknown = cast, unknown
        self.phases = [_Phase(nodes) for nodes in chain.phases]
        self.mill = chain.run.mill
        self.soft = self.phases[0].top * math.exp(-chain.soft_depth)
        self.end = self.phases[-1].end
        self.finish = chain.finish_minutes * costs.links
        window = task.window
        self.lo, self.hi = window if window else (0.0, math.inf)
        temper = task.need.temper
        self.any_temper = temper is None
        self.asks_soft = temper is not None and temper.kind == "soft"

    def reach(self, phase: _Phase, soft: Array, entry: Array, most: Array) -> Array:
        """The thinnest exit of one pass, by halving; the side just beyond what is allowed."""
        mill = self.mill
        assert mill is not None
        edge = np.maximum(soft * np.exp(-most), phase.end)
        beyond, within = np.minimum(edge, entry), entry.copy()
        for i in range(_HALVINGS):
            middle = beyond if i == 0 else (beyond + within) / 2
            load = roll_load(
                mill, self.limits.comfort, self.task.matter, self.task.rules, entry, middle,
                np.interp(middle, phase.heights, phase.widths), np.log(soft / entry),
                np.log(soft / middle),
            )  # fmt: skip
            ok = worst(load) <= 1 + 1e-9
            within = np.where(ok, middle, within)
            beyond = beyond if i == 0 else np.where(ok, beyond, middle)
        return np.asarray(np.where(within <= edge, edge, beyond))

    def conditions_hold(self) -> int | None:
        """Pairs tried; None where thinner entry or softer metal reaches less far somewhere."""
        tried = 0
        for phase in self.phases:
            top = max(self.soft, phase.top)
            sizes = phase.end * (top / phase.end) ** np.linspace(0, 1, _SAMPLES)
            soft, entry = (x.ravel() for x in np.meshgrid(sizes, sizes, indexing="ij"))
            usable = (entry <= soft) & (entry <= phase.top * (1 + 1e-9))
            usable &= np.log(soft / entry) < self.limits.strain_most
            flat = np.full(len(soft), np.nan)
            most = np.full(int(usable.sum()), self.limits.strain_most)
            flat[usable] = self.reach(phase, soft[usable], entry[usable], most)
            table = flat.reshape(_SAMPLES, _SAMPLES)
            slack = 1e-5 * phase.end
            if np.nanmin(np.diff(table, axis=1), initial=0.0) < -slack:
                return None
            if np.nanmin(np.diff(table, axis=0), initial=0.0) < -slack:
                return None
            tried += int(usable.sum())
        return tried

    def best(self) -> tuple[float, tuple[float, ...]]:
        """The least cost over all thicknesses and the sizes of its passes; infinite if none."""
        labels = [_Label(0.0, self.soft, self.phases[0].top, True)]
        for phase in self.phases[:-1]:
            arrived, _ = self._through(phase, labels)
            labels = _undominated([self._turned(label) for label in arrived])
        _, best = self._through(self.phases[-1], labels)
        return (math.inf, ()) if best is None else (best.cost + self.finish, best.way)

    def _turned(self, label: _Label) -> _Label:
        hard = math.log(label.soft / label.at) > 0.02
        cost = label.cost + self.costs.turn + (self.costs.turn_hard if hard else 0.0)
        return replace(label, cost=cost)

    def _through(self, phase: _Phase, labels: list[_Label]) -> tuple[list[_Label], _Label | None]:
        """Labels that arrive at the phase's end, and the cheapest that is finished there."""
        arrived: list[_Label] = []
        seen: list[_Label] = []
        best: _Label | None = None
        wave = labels
        for _ in range(_WAVES_MOST):
            here, annealed = self._legs(phase, wave)
            arrived += here
            done = [one for one in here if self._finished(one)]
            best = min([*([best] if best else []), *done], key=lambda one: one.cost, default=None)
            wave = [
                one
                for one in _undominated(annealed)
                if (best is None or one.cost < best.cost)
                and not any(_beats(old, one) for old in seen)
            ]
            seen += wave
            if not wave:
                break
        return arrived, best

    def _finished(self, label: _Label) -> bool:
        if label.at > self.end * (1 + 1e-9):
            return False
        if label.first and self.unknown and not self.any_temper:
            return False
        strain = math.log(label.soft / self.end)
        if self.asks_soft:
            return strain < 1e-9
        return self.lo - 1e-6 <= strain <= self.hi + 1e-6

    def _legs(self, phase: _Phase, wave: list[_Label]) -> tuple[list[_Label], list[_Label]]:
        """Greedy legs from all labels at once: arrivals at the end, and anneals on the way."""
        cost = np.array([label.cost for label in wave], dtype=float)
        soft = np.array([label.soft for label in wave], dtype=float)
        at = np.array([label.at for label in wave], dtype=float)
        first = np.array([label.first for label in wave])
        most = np.where(first & self.cast, self.limits.cast_strain_most, self.limits.strain_most)
        most = np.where(first & self.unknown, -1.0, most)
        floor = max(phase.end, self.end * math.exp(self.lo))
        arrived: list[_Label] = []
        annealed: list[_Label] = []
        ways = [label.way for label in wave]
        alive = np.ones(len(wave), dtype=bool)
        for passes in range(_PASSES_MOST):
            for i in np.nonzero(alive)[0]:
                one = replace(wave[i], cost=float(cost[i]) + passes, at=float(at[i]), way=ways[i])
                annealed += self._anneal(one, max(one.at, floor))
                if one.at <= phase.end * (1 + 1e-9):
                    arrived.append(replace(one, at=phase.end))
            alive = alive & (at > phase.end * (1 + 1e-9)) & (most > 0)
            if not alive.any():
                break
            then = at.copy()
            then[alive] = self.reach(phase, soft[alive], at[alive], most[alive])
            alive = alive & (then < at * (1 - 1e-7))
            at = np.where(alive, then, at)
            for i in np.nonzero(alive)[0]:
                ways[i] = (*ways[i], float(at[i]))
        return arrived, annealed

    def _anneal(self, label: _Label, at: float) -> list[_Label]:
        """The label of an anneal there, with the fee for too little work; none if too early."""
        limits, costs = self.limits, self.costs
        strain = math.log(label.soft / at)
        fee = 0.0
        if label.first and self.unknown:
            fee = 0.0
        elif label.first and self.cast:
            if strain < limits.anneal_cast_least - 1e-9:
                return []
        elif strain < limits.anneal_least - 1e-9:
            fee = costs.anneal_early
        way = (*label.way[:-1], at) if label.way else ()
        return [_Label(round(label.cost + costs.anneal + fee, 9), at, at, False, way)]


def _beats(one: _Label, other: _Label) -> bool:
    """No dearer, no thicker, no harder: nothing is lost by dropping the other."""
    return (
        one.cost <= other.cost
        and one.at <= other.at
        and one.soft <= other.soft
        and (other.first or not one.first)
    )


def _undominated(labels: list[_Label]) -> list[_Label]:
    kept: list[_Label] = []
    for label in sorted(labels, key=lambda one: (one.cost, one.at, one.soft, one.first)):
        if not any(_beats(old, label) for old in kept):
            kept.append(label)
    return kept
