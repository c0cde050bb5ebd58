"""Proof that no other sizes do better: a bound over all thicknesses, not only those of a mesh.

Between the flats the argument is one of exchange. If thinner entry never reaches less far
and softer metal never reaches less far, then the fewest passes of a leg are the greedy
ones, and of all places for an anneal at the same cost the thinnest is the best. So a short
list of labels (cost, softening, thickness) holds all that can matter. Both conditions are
tested on the figures of this very mill and metal.

Where grooves or holes come in, the bound comes from the search itself, with each node
standing for all sizes up to the next.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from lemel.mill.build import Task, build
from lemel.mill.chains import Chain, chains_of
from lemel.mill.exchange import Exchange
from lemel.mill.field import Limits
from lemel.mill.grid import Grid
from lemel.mill.search import Costs, search
from lemel.values import Watch, quiet

__all__ = ["Certificate", "certify"]

#: Mesh on which cells are taken where the exchange argument does not serve.
_CELLS = Grid(ratio=1.008, half_open=11, turned=1.006)
#: The bound's sizes lie just outside what is allowed; so much thicker they lie inside.
_HAIR = 1e-6


@dataclass(frozen=True, slots=True)
class Certificate:
    """A proven lower bound of the cost; `closed`: by the exchange argument, over all sizes.

    `tested` pairs of thickness and softening were tried for its two conditions; `sizes` are
    the thicknesses of a way that costs no more than the bound, to a hair.
    """

    bound: float
    closed: bool
    tested: int = 0
    sizes: tuple[float, ...] = ()


def certify(
    task: Task,
    limits: Limits,
    costs: Costs,
    *,
    thorough: bool = True,
    watch: Watch = quiet,
) -> Certificate | None:
    """The bound of a task over all sizes; None where none was found.

    Unless `thorough`, only what takes some tenths of a second is tried: the exchange
    argument for straight flats.
    """
    graph = build(task)
    chains = [] if task.hammer else chains_of(graph)
    if chains and (thorough or all(len(chain.phases) == 1 for chain in chains)):
        certificate = _exchange(task, limits, costs, chains, graph.cast, graph.unknown)
        if certificate is not None:
            return certificate
    if not thorough:
        return None
    fine = build(replace(task, grid=_CELLS, bound=True))
    temper = task.need.temper
    found = search(fine, task.matter, task.rules, limits, costs, temper, watch, bound=True)
    return None if found.path is None else Certificate(found.path.cost, False)


def _exchange(
    task: Task, limits: Limits, costs: Costs, chains: list[Chain], cast: bool, unknown: bool
) -> Certificate | None:
    """The best of all chains; None where a condition fails or no chain gets there."""
    best: Certificate | None = None
    tested = 0
    for chain in chains:
        exchange = Exchange(task, limits, costs, chain, cast=cast, unknown=unknown)
        pairs = exchange.conditions_hold()
        if pairs is None:
            return None
        tested += pairs
        cost, way = exchange.best()
        if math.isfinite(cost) and (best is None or cost < best.bound):
            sizes = tuple(size * (1 + _HAIR) for size in way)
            best = Certificate(cost, True, 0, sizes)
    return None if best is None else replace(best, tested=tested)
