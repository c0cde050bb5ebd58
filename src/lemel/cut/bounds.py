"""How short a sheet can be at best: proven lower bounds on the length that parts need."""

from __future__ import annotations

import math
from collections.abc import Sequence

from lemel.cut.parts import EPS, Part

__all__ = ["equal_discs_length_mm", "shortest_length_mm"]


def shortest_length_mm(parts: Sequence[Part], width: float) -> float:
    """No layout of these parts on a sheet of this width is shorter.

    The greatest of: the area over the width; the longest part; and, for rectangles, the
    area after each width has been rounded by a dual feasible function (parts that cannot
    lie beside each other count for the full width). Source: S. P. Fekete and J. Schepers,
    Mathematical Methods of Operations Research 60 (2004) 311-329 (from memory). For equal
    discs also Oler's inequality.

    >>> shortest_length_mm([Part("a", "rect", 6, 6), Part("b", "rect", 6, 6)], 10)
    12.0
    """
    if not parts:
        return 0.0
    best = sum(part.area_mm2 for part in parts) / width
    for part in parts:
        fitting = [along for along, across, _ in part.boxes() if across <= width + EPS]
        best = max(best, min(fitting, default=math.inf))
    rects = [part for part in parts if part.kind == "rect"]
    for cut in _thresholds(rects, width):
        best = max(best, sum(min(_weighed(part, width, cut)) for part in rects))
    discs = [part for part in parts if part.kind == "disc"]
    if discs and all(abs(d.length_mm - discs[0].length_mm) < EPS for d in discs):
        best = max(best, equal_discs_length_mm(len(discs), discs[0].length_mm, width))
    return float(best)


def equal_discs_length_mm(count: int, diameter: float, width: float) -> float:
    """No sheet shorter than this holds so many equal discs, by Oler's inequality.

    The centres lie in a rectangle (L - d) x (W - d) at distances of at least d, so that
    count <= 2/sqrt(3) A / d^2 + P / (2 d) + 1. Source: N. Oler, An inequality in the
    geometry of numbers, Acta Mathematica 105 (1961) 19-48 (from memory).

    >>> equal_discs_length_mm(2, 1.0, 1.0)
    2.0
    """
    across = (width - diameter) / diameter
    if across < -EPS:
        return math.inf
    across = max(0.0, across)
    along = (count - 1 - across) / (2 / math.sqrt(3) * across + 1)
    return diameter * (1 + max(0.0, along))


def _thresholds(rects: Sequence[Part], width: float) -> list[float]:
    sides = {side for part in rects for side in (part.length_mm, part.width_mm)}
    return sorted({side for side in sides if side <= width / 2} | {0.0, width / 2})


def _weighed(part: Part, width: float, cut: float) -> list[float]:
    """Lengths that the part takes of a full-width sheet, by turn, after rounding.

    Wider than width - cut counts as the whole width, narrower than cut as nothing.
    """
    lengths = []
    for along, across, _ in part.boxes():
        if across > width + EPS:
            continue
        if across > width - cut + EPS:
            lengths.append(along)
        elif across >= cut - EPS:
            lengths.append(along * across / width)
        else:
            lengths.append(0.0)
    return lengths or [math.inf]
