"""The tangent-plane test: does another phase, or another composition, lie below the plane?

A state is at equilibrium only if no phase dips below the plane of its chemical potentials.
A small residual of the equilibrium equations proves nothing (inside a miscibility gap they
converge to wrong, low temperatures); this test does. Source: M. L. Michelsen, The isothermal
flash problem, Part I, Fluid Phase Equilibria 9 (1982) 1-19.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lemel.metal.gibbs import PhaseAt
from lemel.metal.linear import solve

__all__ = ["STABLE", "Dip", "corners", "dip", "lowest_dip"]

#: A depth, in units of RT, above which a dip counts as none.
STABLE = -1e-9
_CORNER = 0.94
_FLOOR = 1e-300


@dataclass(frozen=True, slots=True)
class Dip:
    """The place where a phase comes nearest to a plane (or farthest below it).

    `depth` is (G(x) - sum x_i mu_i) / RT: negative means that the phase would form.
    """

    phase: str
    depth: float
    x: list[float]


def corners(size: int) -> list[list[float]]:
    """Compositions near each pure element: the seeds of a search."""
    if size == 1:
        return [[1.0]]
    small = (1 - _CORNER) / (size - 1)
    return [[_CORNER if k == i else small for k in range(size)] for i in range(size)]


def dip(phase: PhaseAt, plane: Sequence[float], seed: Sequence[float], tries: int = 60) -> Dip:
    """Slide from `seed` to the stationary point of the distance to the plane.

    A few steps of successive substitution find the valley, Newton's method its bottom;
    where Newton would climb, substitution goes on.
    """
    rt = phase.gas_j_molk * phase.temp_k
    x = [max(v, _FLOOR) for v in seed]
    size = len(x)
    newton_from = 2
    for step in range(tries):
        if step < newton_from:
            mu = phase.potentials(x)
            moves = [(plane[k] - mu[k]) / rt for k in range(size)]
            gap = max(moves) - min(moves)
        else:
            look = phase.look(x)
            wants = [(plane[k] - look.mu[k]) for k in range(size)]
            gap = (max(wants) - min(wants)) / rt
            moves = _newton(look.slope, wants, x) or [w / rt for w in wants]
            if max(map(abs, moves)) > 1.5:
                moves = [w / rt for w in wants]
        if gap < 1e-11:
            break
        x = shifted(x, moves)
    mu = phase.potentials(x)
    depth = sum(x[k] * (mu[k] - plane[k]) for k in range(size)) / rt
    return Dip(phase.name, depth, x)


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


def _newton(
    slope: list[list[float]], wants: Sequence[float], x: Sequence[float]
) -> list[float] | None:
    """Moves in ln x that make mu - plane equal for all elements; None where it is not convex."""
    size = len(x)
    ref = max(range(size), key=x.__getitem__)
    free = [k for k in range(size) if k != ref]
    base = slope[ref]
    matrix = [[slope[i][k] - base[k] for k in free] for i in free]
    right = [wants[i] - wants[ref] for i in free]
    if any(row[n] <= 0 for n, row in enumerate(matrix)):
        return None
    found = solve(matrix, right)
    if found is None:
        return None
    moves = [0.0] * size
    for k, move in zip(free, found, strict=True):
        moves[k] = move
    return moves
