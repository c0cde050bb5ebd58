"""Down the valley of a ternary system: two solids freezing side by side out of one liquid.

At each temperature the liquid and both solids follow from equal potentials; how much of
each solid forms follows from where the liquid must go next.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from lemel.metal.bounds import Touch
from lemel.metal.gibbs import LIQUID, System
from lemel.metal.linear import solve
from lemel.metal.stability import apart, shifted, split

__all__ = ["Valley", "Walk", "down_the_valley", "open_valley"]

_FIRST_FALL_K, _LEAST_FALL_K = 0.5, 1e-5
#: Two solids nearer than this (mole fraction) are one.
_ONE = 5e-3


class Valley(NamedTuple):
    """A point of the valley: temperature, liquid, and the two solids by phase name."""

    temp_k: float
    z: list[float]
    names: tuple[str, str]
    one: Sequence[float]
    two: Sequence[float]


class Walk(NamedTuple):
    """The way down: (share of the liquid that is left, temperature, liquid) at each step.

    `end`: "frozen" (the wanted share is reached, or the rest freezes where it is),
    "one_left" (one solid would melt again, `one_left` goes on alone) or "lost".
    """

    path: list[tuple[float, float, list[float]]]
    end: str
    valley: Valley
    one_left: Touch


def down_the_valley(system: System, start: Valley, depth: float, stride: float) -> Walk:
    """Until -ln(share left) = depth, in steps of about `stride` of it."""
    path: list[tuple[float, float, list[float]]] = []
    here = _solved(system, start, start.temp_k, start) or start
    before, done, fall = None, 0.0, _FIRST_FALL_K
    end, solid = "lost", Touch(here.temp_k, here.names[0], list(here.one))
    while fall > _LEAST_FALL_K and len(path) < 5000:
        after = _solved(system, _onwards(here, before, fall), here.temp_k - fall, here)
        freezes = _freezes(here, after) if after is not None else None
        if after is None or freezes is None:
            end, fall = "lost", fall / 3
            continue
        if min(freezes) < 0:
            stays = 0 if freezes[0] > freezes[1] else 1
            solid = Touch(here.temp_k, here.names[stays], list((here.one, here.two)[stays]))
            end, fall = "one_left", fall / 3
            continue
        shrink = sum(freezes)
        if shrink > 2 * stride and done + shrink < depth:
            end, fall = "frozen", fall / 3
            continue
        if done + shrink >= depth:
            # The last step ends where the wanted share is left.
            cut = (depth - done) / shrink
            z = [a + cut * (b - a) for a, b in zip(here.z, after.z, strict=True)]
            path.append((math.exp(-depth), here.temp_k - cut * fall, z))
            return Walk(path, "frozen", after, solid)
        before, here = here, after
        done += shrink
        path.append((math.exp(-done), here.temp_k, here.z))
        fall *= min(3.0, max(0.3, stride / max(shrink, 1e-9)))
    if end == "frozen":
        # However little the temperature falls, all freezes: as good as a eutectic.
        path.append((0.0, here.temp_k, here.z))
    return Walk(path, end, here, solid)


def open_valley(system: System, solid: Touch, z: Sequence[float]) -> Valley | None:
    """The valley just below its closed end, where one solid is about to part into two."""
    phase = system.phase(solid.phase, solid.temp_k)
    for i, j, repulsion in phase.repulsions():
        if repulsion <= 0:
            break
        lean = solid.x[i] / (solid.x[i] + solid.x[j])
        for fall, width in ((0.5, 0.1), (1.0, 0.15), (3.0, 0.2), (6.0, 0.25)):
            if not width < lean < 1 - width:
                continue
            sides = [split(solid.x, i, j, lean + width * sign) for sign in (1, -1)]
            names = (solid.phase, solid.phase)
            guess = Valley(solid.temp_k - fall, list(z), names, sides[0], sides[1])
            found = _solved(system, guess, guess.temp_k, guess)
            if found is not None and apart(found.z, z) < 0.1:
                return found
    return None


def _onwards(here: Valley, before: Valley | None, fall: float) -> Valley:
    """The valley went on as it went: a guess for the next point."""
    if before is None:
        return here
    share = fall / (before.temp_k - here.temp_k)

    def ahead(now: Sequence[float], then: Sequence[float]) -> list[float]:
        raw = [max(a * (a / b) ** share, 1e-300) for a, b in zip(now, then, strict=True)]
        total = sum(raw)
        return [v / total for v in raw]

    return Valley(
        here.temp_k - fall,
        ahead(here.z, before.z),
        here.names,
        ahead(here.one, before.one),
        ahead(here.two, before.two),
    )


def _freezes(before: Valley, after: Valley) -> tuple[float, float] | None:
    """How much of each solid forms, per liquid, for the liquid to reach its next point."""
    z, y1, y2 = (
        [(a + b) / 2 for a, b in zip(one, other, strict=True)]
        for one, other in (
            (before.z, after.z), (before.one, after.one), (before.two, after.two),
        )
    )  # fmt: skip
    found = solve(
        [[y1[i] - z[i], y2[i] - z[i]] for i in (0, 1)],
        [after.z[i] - before.z[i] for i in (0, 1)],
    )
    return None if found is None else (-found[0], -found[1])


def _solved(system: System, guess: Valley, temp_k: float, near: Valley) -> Valley | None:
    """Liquid and two solids in equilibrium at a temperature (three elements).

    None if it does not converge, or to something that is no neighbour of `near`.
    """
    names = (LIQUID, *guess.names)
    phases = [system.phase(name, temp_k) for name in names]
    xs = [list(guess.z), list(guess.one), list(guess.two)]
    size = len(xs[0])
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
        most = max(map(abs, step)) if step is not None else 1e9
        if step is None or not most < 1e6:
            return None
        held = min(1.0, 0.8 / max(most, 1e-30))
        for p in range(3):
            moves = [0.0] * size
            for col, k in enumerate(free[p]):
                moves[k] = held * step[p * (size - 1) + col]
            xs[p] = shifted(xs[p], moves)
        if most < 1e-4:
            lost = apart(xs[1], xs[2]) < _ONE or apart(xs[0], near.z) > 0.15
            return None if lost else Valley(temp_k, xs[0], guess.names, xs[1], xs[2])
    return None


def _free(x: Sequence[float]) -> list[int]:
    largest = max(range(len(x)), key=x.__getitem__)
    return [k for k in range(len(x)) if k != largest]
