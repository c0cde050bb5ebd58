"""Discs on a sheet: touching positions for mixed sizes, rows and nests for equal ones."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from lemel.cut.parts import EPS, Part, Spot

__all__ = ["nested_discs", "place_discs"]

_SLACK = 1e-9


def place_discs(order: Sequence[Part], length: float, width: float) -> list[Spot]:
    """Each disc in turn where it reaches least far along, touching two walls or discs."""
    laid: list[tuple[float, float, float]] = []
    spots: list[Spot] = []
    stuck: set[float] = set()
    for part in order:
        r = part.length_mm / 2
        if r in stuck:
            continue
        found = min(
            (p for p in _touching(r, laid, length, width) if _free(p, r, laid)), default=None
        )
        if found is None:
            stuck.add(r)
            continue
        laid.append((*found, r))
        spots.append(Spot(part.key, found[0] - r, found[1] - r, 0))
    return spots


def _free(point: tuple[float, float], r: float, laid: list[tuple[float, float, float]]) -> bool:
    x, y = point
    return all((x - u) ** 2 + (y - v) ** 2 >= (r + q) ** 2 - _SLACK * (r + q) for u, v, q in laid)


def _touching(
    r: float, laid: list[tuple[float, float, float]], length: float, width: float
) -> Iterator[tuple[float, float]]:
    right, top = length - r, width - r
    if right < r - EPS or top < r - EPS:
        return
    right, top = max(right, r), max(top, r)

    def inside(x: float, y: float) -> bool:
        return r - _SLACK <= x <= right + _SLACK and r - _SLACK <= y <= top + _SLACK

    found = [(r, r), (r, top)]
    for u, v, q in laid:
        found += [(x, y) for y in (r, top) for x in _aside(u, y - v, r + q)]
        found += [(r, y) for y in _aside(v, r - u, r + q)]
    for i, a in enumerate(laid):
        for b in laid[i + 1 :]:
            found += _on_both(a, b, r)
    yield from (point for point in found if inside(*point))


def _aside(at: float, off: float, reach: float) -> list[float]:
    """The two places on a line whose distance from a point, `off` beside it, is `reach`."""
    under = reach**2 - off**2
    return [at + math.sqrt(under), at - math.sqrt(under)] if under >= 0 else []


def _on_both(
    a: tuple[float, float, float], b: tuple[float, float, float], r: float
) -> Iterator[tuple[float, float]]:
    dx, dy = b[0] - a[0], b[1] - a[1]
    apart = math.hypot(dx, dy)
    ra, rb = a[2] + r, b[2] + r
    if apart > ra + rb or apart < abs(ra - rb) or apart == 0:
        return
    along = (ra**2 - rb**2 + apart**2) / (2 * apart)
    off = math.sqrt(max(0.0, ra**2 - along**2))
    mx, my = a[0] + along * dx / apart, a[1] + along * dy / apart
    yield (mx - off * dy / apart, my + off * dx / apart)
    yield (mx + off * dy / apart, my - off * dx / apart)


def nested_discs(parts: Sequence[Part], length: float, width: float) -> Iterator[list[Spot]]:
    """Regular nests of equal discs: straight rows, and rows set into each other's gaps.

    Rows run across the sheet with every number of discs that fits, spread evenly so that
    the next row sinks as deep as it can; and along the sheet, where the rows lie closest.
    """
    if not parts or any(abs(p.length_mm - parts[0].length_mm) > EPS for p in parts):
        return
    d = parts[0].length_mm
    if d > width + EPS or d > length + EPS:
        return
    for centres in _nests(len(parts), d, width):
        inside = [(x, y) for x, y in centres if x + d <= length + EPS]
        yield [
            Spot(part.key, x, min(y, width - d), 0)
            for part, (x, y) in zip(parts, inside, strict=False)
        ]


def _nests(count: int, d: float, width: float) -> Iterator[list[tuple[float, float]]]:
    """Lower left corners of the discs' boxes, in order along the sheet."""
    room = max(0.0, width - d)
    most = int(room / d + EPS) + 1
    for k in range(1, most + 1):
        step = room / (k - 1) if k > 1 else 0.0
        yield _rows(count, [(0.0, step, k)], d)
        if k > 1:
            pitch = _sink(d, step / 2)
            yield _rows(count, [(0.0, step, k), (step / 2, step, k - 1)], pitch)
        half = room / (2 * k - 1)
        if 2 * half >= d - EPS or k == 1:
            yield _rows(count, [(0.0, 2 * half, k), (half, 2 * half, k)], _sink(d, half))
    lines = int(room / (d * math.sqrt(3) / 2) + EPS) + 1
    rise = room / (lines - 1) if lines > 1 else 0.0
    each = [
        (d * i + (d / 2 if line % 2 else 0.0), rise * line)
        for i in range(count)
        for line in range(lines)
    ]
    yield sorted(each)[:count]


def _sink(d: float, aside: float) -> float:
    """Distance of two rows set off by `aside`; rows two apart must not meet."""
    return max(math.sqrt(max(0.0, d**2 - aside**2)), d / 2)


def _rows(
    count: int, kinds: list[tuple[float, float, int]], pitch: float
) -> list[tuple[float, float]]:
    corners: list[tuple[float, float]] = []
    row = 0
    while len(corners) < count:
        start, step, k = kinds[row % len(kinds)]
        corners += [(row * pitch, start + step * i) for i in range(k)]
        row += 1
        if not kinds[0][2]:
            break
    return corners[:count]
