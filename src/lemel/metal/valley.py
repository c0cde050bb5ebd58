"""Down the valley of a ternary system: two solids freezing side by side out of one liquid.

At each temperature the liquid and both solids follow from equal potentials; how much of
each solid forms follows from where the liquid must go next.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from lemel.metal.gibbs import LIQUID, System
from lemel.metal.linear import solve
from lemel.metal.stability import apart, shifted

__all__ = ["down_the_valley", "valley_point"]

Solid = tuple[str, Sequence[float]]
_FIRST_FALL_K, _LEAST_FALL_K = 0.5, 1e-6


def down_the_valley(
    system: System,
    temp_k: float,
    liquid: Sequence[float],
    pair: tuple[Solid, Solid],
    depth: float,
    stride: float = 0.25,
) -> list[tuple[float, float, list[float]]]:
    """(share of the liquid that is left, temperature, its composition), until -ln share = depth.

    Ends early where the two solids become one or one of them would have to melt again.
    """
    path: list[tuple[float, float, list[float]]] = []
    names = (pair[0][0], pair[1][0])
    here = valley_point(system, temp_k, liquid, pair) or (
        list(liquid), list(pair[0][1]), list(pair[1][1])
    )  # fmt: skip
    done, fall = 0.0, _FIRST_FALL_K
    while done < depth - 1e-9 and fall > _LEAST_FALL_K and len(path) < 3000:
        seeds = ((names[0], here[1]), (names[1], here[2]))
        state = valley_point(system, temp_k - fall, here[0], seeds)
        shrink = _shrinks(here, state) if state is not None else None
        if state is None or shrink is None or shrink > 2 * stride:
            fall /= 3
            continue
        if done + shrink > depth:
            # The last step ends where the wanted share is left.
            share = (depth - done) / shrink
            z = [a + share * (b - a) for a, b in zip(here[0], state[0], strict=True)]
            path.append((math.exp(-depth), temp_k - share * fall, z))
            break
        here = state
        temp_k -= fall
        done += shrink
        path.append((math.exp(-done), temp_k, here[0]))
        fall *= min(3.0, max(0.3, stride / max(shrink, 1e-9)))
    return path


State = tuple[list[float], list[float], list[float]]


def _shrinks(before: State, after: State) -> float | None:
    """-d ln f for the liquid to move to its next point by freezing both solids.

    None if one of them would have to melt again.
    """
    z, y1, y2 = (
        [(a + b) / 2 for a, b in zip(one, other, strict=True)]
        for one, other in zip(before, after, strict=True)
    )
    matrix = [[y1[i] - z[i], y2[i] - z[i]] for i in (0, 1)]
    found = solve(matrix, [after[0][i] - before[0][i] for i in (0, 1)])
    if found is None or found[0] > 0 or found[1] > 0:
        return None
    return -(found[0] + found[1])


def valley_point(
    system: System, temp_k: float, z: Sequence[float], pair: tuple[Solid, Solid]
) -> tuple[list[float], list[float], list[float]] | None:
    """Liquid and two solids in equilibrium at a temperature (three elements)."""
    size = len(z)
    phases = [system.phase(n, temp_k) for n in (LIQUID, pair[0][0], pair[1][0])]
    xs = [list(z), list(pair[0][1]), list(pair[1][1])]
    rt = system.gas_j_molk * temp_k
    for _ in range(25):
        looks = [p.look(x) for p, x in zip(phases, xs, strict=True)]
        free = [_free(x) for x in xs]
        matrix, right = [], []
        for p in (1, 2):
            for i in range(size):
                row = [0.0] * (3 * (size - 1))
                for col, k in enumerate(free[0]):
                    row[col] = looks[0].slope[i][k] / rt
                for col, k in enumerate(free[p]):
                    row[p * (size - 1) + col] = -looks[p].slope[i][k] / rt
                matrix.append(row)
                right.append((looks[p].mu[i] - looks[0].mu[i]) / rt)
        step = solve(matrix, right)
        if step is None:
            return None
        most = max(map(abs, step))
        if not most < 1e6:
            return None
        held = min(1.0, 0.8 / max(most, 1e-30))
        for p in range(3):
            moves = [0.0] * size
            for col, k in enumerate(free[p]):
                moves[k] = held * step[p * (size - 1) + col]
            xs[p] = shifted(xs[p], moves)
        if most < 1e-5:
            return None if apart(xs[1], xs[2]) < 1e-3 else (xs[0], xs[1], xs[2])
    return None


def _free(x: Sequence[float]) -> list[int]:
    largest = max(range(len(x)), key=x.__getitem__)
    return [k for k in range(len(x)) if k != largest]
