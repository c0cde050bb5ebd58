"""The tangent-plane test: does another phase, or another composition, lie below the plane?

A state is at equilibrium only if no phase dips below the plane of its chemical potentials.
A small residual of the equilibrium equations proves nothing (inside a miscibility gap they
converge to wrong, low temperatures); this test does. Source: M. L. Michelsen, The isothermal
flash problem, Part I, Fluid Phase Equilibria 9 (1982) 1-19.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from typing import NamedTuple

from lemel.metal.gibbs import PhaseAt
from lemel.metal.linear import pivots, solve

__all__ = [
    "STABLE", "Dip", "apart", "corners", "dip", "is_bottom", "lowest_dip", "outlooks", "shifted",
    "slide", "split",
]  # fmt: skip

#: A depth, in units of RT, above which a dip counts as none.
STABLE = -1e-9
_CORNER = 0.94
#: How far the outlook across a gap leans to one of its two elements.
_LEAN = 0.92
_FLOOR = 1e-300
#: Two places of one phase nearer than this (mole fraction) are the same valley.
_SAME_VALLEY = 1e-3


class Dip(NamedTuple):
    """The place where a phase comes nearest to a plane (or farthest below it).

    `depth` is (G(x) - sum x_i mu_i) / RT: negative means that the phase would form.
    """

    phase: str
    depth: float
    x: list[float]


@cache
def corners(size: int) -> tuple[tuple[float, ...], ...]:
    """Compositions near each pure element: the seeds of a search."""
    if size == 1:
        return ((1.0,),)
    small = (1 - _CORNER) / (size - 1)
    return tuple(tuple(_CORNER if k == i else small for k in range(size)) for i in range(size))


def dip(phase: PhaseAt, plane: Sequence[float], seed: Sequence[float], tries: int = 60) -> Dip:
    """Slide from `seed` down to a bottom of the distance to the plane.

    Newton's steps in ln x where they lead down, else substitution (which always points
    down); a step that ends higher than it began is halved.
    """
    rt = phase.gas_j_molk * phase.temp_k
    start = x = [max(v, _FLOOR) for v in seed]
    span = range(len(x))
    moves, height = [0.0] * len(x), math.inf
    for step in range(tries):
        look = phase.look(x)
        wants = [(plane[k] - look.mu[k]) / rt for k in span]
        mean = sum(x[k] * wants[k] for k in span)
        if -mean > height + 1e-13:
            moves = [m / 2 for m in moves]
            x = shifted(start, moves)
            continue
        start, height = x, -mean
        if max(wants) - min(wants) < 1e-7:
            break
        moves = wants
        if step > 0:
            newton = _newton(look.slope, wants, x, rt)
            if newton and sum(x[k] * newton[k] * (wants[k] - mean) for k in span) > 0:
                longest = max(map(abs, newton))
                moves = newton if longest < 1.5 else [m * 1.5 / longest for m in newton]
        x = shifted(start, moves)
    return Dip(phase.name, height, start)


def is_bottom(phase: PhaseAt, x: Sequence[float]) -> bool:
    """Whether the phase curves upwards here in every direction (outside its spinodal)."""
    size = len(x)
    slope = phase.look(x).slope
    ref = max(range(size), key=x.__getitem__)
    free = [k for k in range(size) if k != ref]
    matrix = [[(slope[i][k] - slope[ref][k]) for k in free] for i in free]
    return all(pivot > 0 for pivot in pivots(matrix))


def slide(
    phase: PhaseAt, plane: Sequence[float], seed: Sequence[float], steps: int = 5
) -> list[float]:
    """A quick way down by damped substitution: not the bottom, but into its valley."""
    rt = phase.gas_j_molk * phase.temp_k
    x = list(seed)
    for _ in range(steps):
        mu = phase.potentials(x)
        x = shifted(x, [0.7 * (plane[k] - mu[k]) / rt for k in range(len(x))], most=1.5)
    return x


def outlooks(phase: PhaseAt, whole: Sequence[float], *, absent: bool) -> Iterator[Sequence[float]]:
    """Where to look for further valleys of a phase: both sides of each gap, and, for a
    phase that is absent, the composition of the whole alloy."""
    if absent:
        yield whole
    for i, j, repulsion in phase.repulsions():
        if repulsion > 0:
            yield split(whole, i, j, _LEAN)
            yield split(whole, i, j, 1 - _LEAN)


def lowest_dip(
    phases: Iterable[PhaseAt], plane: Sequence[float], seeds: Sequence[Sequence[float]]
) -> Dip:
    """The deepest dip over phases and seeds."""
    return min((dip(p, plane, s) for p in phases for s in seeds), key=lambda found: found.depth)


def shifted(x: Sequence[float], moves: Sequence[float], most: float = 3.0) -> list[float]:
    """x_k exp(move_k), normalised; each move held to `most`."""
    raw = [
        max(v * math.exp(min(most, max(-most, m))), _FLOOR) for v, m in zip(x, moves, strict=True)
    ]
    total = sum(raw)
    return [v / total for v in raw]


def split(x: Sequence[float], i: int, j: int, lean: float) -> list[float]:
    """x with what elements i and j hold together shared anew: `lean` of it to i."""
    y = list(x)
    y[i] = lean * (x[i] + x[j])
    y[j] = x[i] + x[j] - y[i]
    return y


def apart(x: Sequence[float], y: Sequence[float]) -> float:
    """The largest difference of two compositions, mole fraction."""
    return max(abs(a - b) for a, b in zip(x, y, strict=True))


def _newton(
    slope: list[list[float]], wants: Sequence[float], x: Sequence[float], rt: float
) -> list[float] | None:
    """Moves in ln x that make mu - plane equal for all elements; None where singular."""
    size = len(x)
    ref = max(range(size), key=x.__getitem__)
    free = [k for k in range(size) if k != ref]
    base = slope[ref]
    found = solve(
        [[slope[i][k] - base[k] for k in free] for i in free],
        [(wants[i] - wants[ref]) * rt for i in free],
    )
    if found is None:
        return None
    moves = [0.0] * size
    for k, move in zip(free, found, strict=True):
        moves[k] = move
    return moves
