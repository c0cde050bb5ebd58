"""Discs pushed together: a layout is shortened by small moves until nothing gives."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

from lemel.cut.parts import Part, Spot
from lemel.solve import Program, Row, Variable, solve

__all__ = ["loosened", "squeezed"]

_GIVE_UP = 1e-5
_AIR = 1e-7


def squeezed(
    parts: Sequence[Part], spots: Sequence[Spot], width: float, steps: int = 40
) -> list[Spot]:
    """The same discs on a shorter sheet, or the same layout where nothing gives.

    Each step moves all discs at once by a linear program: every pair keeps its distance
    measured along the line between the two centres. The true distance can only be larger
    than that, so each step is sound and the sheet never grows. Source: successive linear
    programming with supporting half-planes of a convex function, any text on nonlinear
    optimisation; for packings Yu. Stoyan and G. Yaskov, European Journal of Operational
    Research 156 (2004) 590-600 (from memory).
    """
    radius = {part.key: part.length_mm / 2 for part in parts}
    names = [spot.key for spot in spots]
    r = [radius[name] for name in names]
    at = [(s.x_mm + q, s.y_mm + q) for s, q in zip(spots, r, strict=True)]
    reach = max(x + q for (x, _), q in zip(at, r, strict=True))
    stride = max(r)
    for _ in range(steps):
        answer = solve(_program(at, r, width, stride), gap=1e-9, work_most=20_000)
        if len(answer.x) != 2 * len(r) + 1 or answer.proof.status != "optimal":
            break
        moved = [(x + answer.x[2 * i], y + answer.x[2 * i + 1]) for i, (x, y) in enumerate(at)]
        new = max(x + q for (x, _), q in zip(moved, r, strict=True))
        if not _apart(moved, r) or new > reach - _GIVE_UP:
            break
        at, reach = moved, new
        stride *= 0.9
    return [
        Spot(name, max(0.0, x - q), max(0.0, y - q), 0)
        for name, (x, y), q in zip(names, at, r, strict=True)
    ]


def loosened(parts: Sequence[Part], spots: Sequence[Spot], width: float, seed: int) -> list[Spot]:
    """The layout drawn out along the sheet and shaken, as another place to start from."""
    lots = random.Random(seed)
    radius = {part.key: part.length_mm / 2 for part in parts}
    stretch = 1 + 0.5 * lots.random()
    shaken = []
    for spot in spots:
        q = radius[spot.key]
        x = q + spot.x_mm * stretch + q * lots.uniform(-0.5, 0.5)
        y = min(max(q, spot.y_mm + q + q * lots.uniform(-1, 1)), width - q)
        shaken.append((spot.key, max(q, x), y, q))
    # Whoever overlaps moves on along the sheet, in order, so that the start is sound.
    shaken.sort(key=lambda one: one[1])
    laid: list[tuple[str, float, float, float]] = []
    for key, x, y, q in shaken:
        place = x
        for _, u, v, p in laid:
            under = (q + p + _AIR) ** 2 - (y - v) ** 2
            if under > 0 and place < u + math.sqrt(under):
                place = max(place, u + math.sqrt(under))
        laid.append((key, place, y, q))
    return [Spot(key, x - q, y - q, 0) for key, x, y, q in laid]


def _program(
    at: Sequence[tuple[float, float]], r: Sequence[float], width: float, stride: float
) -> Program:
    count = len(r)
    columns = []
    for (x, y), q in zip(at, r, strict=True):
        columns.append(Variable("dx", max(-stride, q - x), stride))
        columns.append(Variable("dy", max(-stride, q - y), min(stride, width - q - y)))
    columns.append(Variable("reach", 0.0, math.inf, 1.0))
    rows = [Row("end", ((2 * i, -1.0), (2 * count, 1.0)), lo=at[i][0] + r[i]) for i in range(count)]
    for i in range(count):
        for j in range(i + 1, count):
            dx, dy = at[j][0] - at[i][0], at[j][1] - at[i][1]
            apart = math.hypot(dx, dy)
            if apart > r[i] + r[j] + 4 * stride:
                continue
            u, v = dx / apart, dy / apart
            terms = ((2 * j, u), (2 * i, -u), (2 * j + 1, v), (2 * i + 1, -v))
            rows.append(Row("gap", terms, lo=r[i] + r[j] - apart))
    return Program(tuple(columns), tuple(rows))


def _apart(at: Sequence[tuple[float, float]], r: Sequence[float]) -> bool:
    return all(
        math.dist(at[i], at[j]) >= r[i] + r[j] - 1e-6
        for i in range(len(r))
        for j in range(i + 1, len(r))
    )
