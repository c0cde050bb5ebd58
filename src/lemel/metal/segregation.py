"""Freezing as castings do it: what has frozen no longer changes, the liquid stays mixed.

With f the share still liquid, z its composition and y the solid that forms from it,
d ln z_i / d ln f = y_i / z_i - 1: each step follows this with the partition ratios at its
middle. Where a second solid appears the liquid of two elements freezes at one
temperature; of three, it follows the valley between the two solids. Metal counts as
solid when a small stated share is left. Sources: G.-M. Gulliver, J. Inst. Met. 9 (1913)
120-157; E. Scheil, Z. Metallkd. 34 (1942) 70-72.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lemel.errors import Broken
from lemel.metal.freezing import Touch, touch
from lemel.metal.gibbs import LIQUID, System
from lemel.metal.linear import solve
from lemel.metal.stability import Dip, corners, dip, shifted

__all__ = ["Frozen", "freeze_segregated"]

_CROSSED = -1e-9


@dataclass(frozen=True, slots=True)
class Frozen:
    """One moment of a casting's freezing: share still liquid (moles), temperature, its liquid.

    `together` is True from the moment at which two solids form side by side.
    """

    liquid: float
    temp_k: float
    x: list[float]
    together: bool = False


def freeze_segregated(
    system: System, x: Sequence[float], top: Touch, steps: int = 24, last: float = 0.005
) -> list[Frozen]:
    """From the liquidus until the share `last` is still liquid, in about `steps` steps.

    Where all that is left freezes at one temperature (a eutectic), the last entry
    has liquid 0 at that temperature and the one before it the share that froze there.
    """
    path = [Frozen(1.0, top.temp_k, list(x))]
    if len(x) == 1:
        return [*path, Frozen(0.0, top.temp_k, list(x))]
    stride = -math.log(last) / steps
    here, depth = top, 0.0
    z = list(x)
    rivals = _rivals(system, z, here)
    while depth < -math.log(last) - 1e-12:
        h = min(stride, -math.log(last) - depth)
        moved = _step(system, z, here, h)
        if moved is None:
            break
        rival = _deepest(system, moved[0], moved[1], rivals)
        if rival is not None and rival.depth < _CROSSED:
            h, moved, rival = _crossing(system, z, here, h, rivals)
            depth += h
            z, here = moved
            path.append(Frozen(math.exp(-depth), here.temp_k, z, True))
            if len(z) == 2:
                if (z[0] - here.x[0]) * (z[0] - rival.x[0]) < 0:
                    return [*path, Frozen(0.0, here.temp_k, z, True)]
                here, rivals = Touch(here.temp_k, rival.phase, rival.x), []
                continue
            return path + _valley(system, path[-1], here, rival, stride, last)
        depth += h
        z, here = moved
        path.append(Frozen(math.exp(-depth), here.temp_k, z))
    return path


def _step(
    system: System, z: Sequence[float], here: Touch, h: float
) -> tuple[list[float], Touch] | None:
    """Midpoint rule in ln z; the solid is brought up to date at both points."""
    middle = _moved(z, here.x, z, h / 2)
    at_middle = touch(system, LIQUID, middle, here.phase, here.x, here.temp_k)
    if at_middle is None:
        return None
    after = _moved(z, at_middle.x, middle, h)
    at_after = touch(system, LIQUID, after, here.phase, at_middle.x, at_middle.temp_k)
    return None if at_after is None else (after, at_after)


def _moved(z: Sequence[float], y: Sequence[float], at: Sequence[float], h: float) -> list[float]:
    return shifted(z, [h * (1 - b / a) for a, b in zip(at, y, strict=True)], most=30)


def _rivals(system: System, z: Sequence[float], here: Touch) -> list[Dip]:
    """Other solids that might join, one for each valley beside the present one."""
    plane = system.phase(LIQUID, here.temp_k).potentials(z)
    found = [Dip(here.phase, 0.0, here.x)]
    for name in system.solids:
        phase = system.phase(name, here.temp_k)
        for seed in corners(len(z)):
            low = dip(phase, plane, seed, tries=8)
            if all(d.phase != name or _apart(d.x, low.x) > 0.02 for d in found):
                found.append(low)
    return found[1:]


def _deepest(system: System, z: Sequence[float], here: Touch, rivals: list[Dip]) -> Dip | None:
    """The lowest rival now; the list is brought up to date in place."""
    plane = system.phase(LIQUID, here.temp_k).potentials(z)
    best = None
    seeds = [(r.phase, r.x) for r in rivals] or [
        (name, corner) for name in system.solids for corner in corners(len(z))
    ]
    rivals.clear()
    for name, seed in seeds:
        low = dip(system.phase(name, here.temp_k), plane, seed)
        if name == here.phase and _apart(low.x, here.x) < 1e-3:
            continue
        if all(d.phase != name or _apart(d.x, low.x) > 1e-3 for d in rivals):
            rivals.append(low)
            if best is None or low.depth < best.depth:
                best = low
    return best


def _crossing(
    system: System, z: list[float], here: Touch, h: float, rivals: list[Dip]
) -> tuple[float, tuple[list[float], Touch], Dip]:
    """How far into the step the second solid first touches: false position on its depth."""
    low, high = 0.0, h
    moved = _step(system, z, here, h)
    rival = _deepest(system, moved[0], moved[1], rivals) if moved else None
    if moved is None or rival is None:
        raise Broken("the second solid vanished inside a step")
    start = _deepest(system, z, here, list(rivals))
    depth_low = start.depth if start is not None and start.depth > 0 else 1e-6
    depth_high = rival.depth
    for turn in range(40):
        if abs(depth_high) < 1e-12 or high - low < 1e-13:
            break
        share = depth_low / (depth_low - depth_high) if turn % 3 else 0.5
        middle = low + share * (high - low)
        trial = _step(system, z, here, middle)
        found = _deepest(system, trial[0], trial[1], rivals) if trial else None
        if trial is None or found is None:
            break
        if found.depth < 0:
            high, depth_high, moved, rival = middle, found.depth, trial, found
        else:
            low, depth_low = middle, found.depth
    return high, moved, rival


def _valley(
    system: System, start: Frozen, first: Touch, second: Dip, stride: float, last: float
) -> list[Frozen]:
    """Both solids together, down the valley in steps of temperature."""
    path: list[Frozen] = []
    temp_k, share, z = start.temp_k, start.liquid, start.x
    y1, y2 = first.x, second.x
    fall = 0.5
    while share > last and fall > 1e-5 and len(path) < 400:
        state = _valley_point(system, temp_k - fall, z, (first.phase, y1), (second.phase, y2))
        if state is None:
            fall /= 4
            continue
        shrink = _shrinks(z, state)
        if shrink is None or shrink > 4 * stride:
            fall /= 4
            continue
        z, y1, y2 = state
        temp_k -= fall
        share *= math.exp(-shrink)
        path.append(Frozen(max(share, last), temp_k, z, True))
        fall *= min(3.0, max(0.3, stride / max(shrink, 1e-9)))
    return path


def _shrinks(
    z: Sequence[float], state: tuple[list[float], list[float], list[float]]
) -> float | None:
    """-d ln f for the liquid to move from z to its next point by freezing both solids.

    None if one of them would have to melt again.
    """
    after, y1, y2 = state
    middle = [(a + b) / 2 for a, b in zip(z, after, strict=True)]
    matrix = [[y1[i] - middle[i], y2[i] - middle[i]] for i in (0, 1)]
    found = solve(matrix, [after[i] - z[i] for i in (0, 1)])
    if found is None or found[0] > 0 or found[1] > 0:
        return None
    return -(found[0] + found[1])


def _valley_point(
    system: System,
    temp_k: float,
    z: Sequence[float],
    one: tuple[str, Sequence[float]],
    two: tuple[str, Sequence[float]],
) -> tuple[list[float], list[float], list[float]] | None:
    """Liquid and two solids in equilibrium at a temperature (three elements)."""
    size = len(z)
    phases = [system.phase(n, temp_k) for n in (LIQUID, one[0], two[0])]
    xs = [list(z), list(one[1]), list(two[1])]
    rt = system.gas_j_molk * temp_k
    for _ in range(25):
        looks = [p.look(x) for p, x in zip(phases, xs, strict=True)]
        free = [[k for k in range(size) if k != max(range(size), key=x.__getitem__)] for x in xs]
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
        wrong = max(map(abs, right))
        step = solve(matrix, right)
        if step is None or not max(map(abs, step)) < 1e6:
            return None
        held = min(1.0, 0.8 / max(1e-30, *map(abs, step)))
        for p in range(3):
            moves = [0.0] * size
            for col, k in enumerate(free[p]):
                moves[k] = held * step[p * (size - 1) + col]
            xs[p] = shifted(xs[p], moves)
        if wrong < 1e-11:
            break
    else:
        return None
    if _apart(xs[1], xs[2]) < 1e-3:
        return None
    return xs[0], xs[1], xs[2]


def _apart(x: Sequence[float], y: Sequence[float]) -> float:
    return max(abs(a - b) for a, b in zip(x, y, strict=True))
