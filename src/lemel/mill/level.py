"""Level the passes between the flats: as many as before, the hardest of them as easy as can be."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from lemel.mill.field import SLACK, Field, Limits
from lemel.mill.graph import Graph, Run
from lemel.mill.loads import worst
from lemel.mill.matter import Matter
from lemel.mill.rules import Rules
from lemel.mill.search import Move, Path

__all__ = ["level"]

Array = np.ndarray[Any, Any]
_LEVELLED = ("flats",)


def level(graph: Graph, matter: Matter, rules: Rules, limits: Limits, path: Path) -> Path:
    """The path with each leg's sizes chosen so that the greatest share of a limit is least.

    A leg is a row of passes by one tool on metal last soft at the same place. Ends of legs
    and the number of passes stay, so the cost of the path does too, save for the lengths
    fed between.
    """
    field = Field(graph, matter, rules, limits)
    moves: list[Move] = []
    leg: list[Move] = []
    for move in (*path.moves, None):
        if leg and (move is None or not _same_leg(leg[-1], move)):
            moves += _level_leg(field, leg)
            leg = []
        if move is not None and move.tool in _LEVELLED:
            leg.append(move)
        elif move is not None:
            moves.append(move)
    return replace(path, moves=tuple(moves))


def _same_leg(one: Move, other: Move) -> bool:
    return one.tool == other.tool and one.soft == other.soft and one.mill == other.mill


def _level_leg(field: Field, leg: list[Move]) -> list[Move]:
    run = next(
        r
        for r in field.graph.runs
        if r.tool == leg[0].tool and r.mill == leg[0].mill and leg[-1].target in r.targets
    )
    first, last, soft = leg[0].source, leg[-1].target, leg[0].soft
    middle = [u for u in run.targets if first < u <= last]
    shares = {v: _shares(field, run, v, middle, soft) for v in (first, *middle[:-1])}
    lo, hi = 0.0, 1.0 + SLACK
    best = [move.target for move in leg]
    for _ in range(20):
        mid = (lo + hi) / 2
        way = _greedy(shares, first, middle, len(leg), mid)
        if way is None:
            lo = mid
        else:
            hi, best = mid, way
    sources = [first, *best[:-1]]
    return [Move(run.tool, v, u, soft, run.mill) for v, u in zip(sources, best, strict=True)]


def _shares(field: Field, run: Run, v: int, middle: list[int], soft: int) -> Array:
    """The worst share of steps from v to each later node of the leg."""
    ahead = np.array([u for u in middle if u > v])
    at = np.full(len(ahead), v)
    return np.asarray(worst(field.load(run, np.full(len(ahead), soft), at, ahead)))


def _greedy(
    shares: dict[int, Array],
    first: int,
    middle: list[int],
    passes: int,
    most: float,
) -> list[int] | None:
    """Furthest steps below a share; the leg's end in exactly so many passes, or None."""
    way: list[int] = []
    at = first
    while at != middle[-1]:
        left = middle[len(middle) - len(shares[at]) :]
        ok = int(np.sum(shares[at] <= most))
        to_go = passes - len(way)
        if ok == 0 or to_go == 0:
            return None
        # Leave at least one node for each pass that is still to come.
        take = min(ok, len(left) - (to_go - 1))
        if take < 1:
            return None
        at = left[take - 1]
        way.append(at)
    return way if len(way) == passes else None
