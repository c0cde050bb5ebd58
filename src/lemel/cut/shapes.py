"""Outlines of any shape on a sheet, laid where they touch, by no-fit polygons."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from lemel.cut.outlines import points_of
from lemel.cut.parts import Part, Spot
from lemel.values import Outline

__all__ = ["ShapePlacer", "part_polygon", "placer_of", "shape_key"]

_ShapeKey = tuple[Any, ...]

#: Outlines are thickened by this and then smoothed by at most as much, mm.
_SMOOTH_MM = 0.05
_HAIR_MM = 1e-5
#: An endless sheet is as long as this.
_FAR_MM = 1e5


def part_polygon(part: Part, turn: int) -> Any:
    """The part's shape, turned, with the corner of its box at (0, 0); a shapely Polygon."""
    from shapely.affinity import rotate, translate
    from shapely.geometry import Polygon

    if part.kind == "path":
        points = part.points_mm
    else:
        kind = "disc" if part.kind == "disc" else "strip"
        points = points_of(Outline(kind, part.length_mm, part.width_mm))
    turned = rotate(Polygon(points), turn, origin=(0, 0)) if turn % 360 else Polygon(points)
    left, low, _, _ = turned.bounds
    return translate(turned, -left, -low)


@dataclass(slots=True)
class _Sheet:
    """What lies on the sheet, and per shape where it could still lie: each laid part is
    taken off a shape's free region once."""

    length: float
    width: float
    laid: list[tuple[_Thick, float, float]] = field(default_factory=list)
    free: dict[int, tuple[Any, int]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Thick:
    """A turned shape, thickened: its number, convex pieces, and the bare shape's box."""

    number: int
    pieces: list[Any]
    along: float
    across: float


class ShapePlacer:
    """Lays parts of any shape; the no-fit polygons of each pair of shapes are kept.

    A part may lie wherever its reference point is inside the sheet and outside the no-fit
    polygon of every part laid before: the Minkowski sum of the one with the mirror image
    of the other. Source: E. K. Burke, R. Hellier, G. Kendall and G. Whitwell, European
    Journal of Operational Research 179 (2007) 27-49 (from memory); sums by convex parts.
    """

    def __init__(self, kerf_mm: float) -> None:
        self._grow = kerf_mm / 2 + _SMOOTH_MM
        self._thick: dict[tuple[_ShapeKey, int], _Thick] = {}
        self._no_fit: dict[tuple[int, int], Any] = {}

    def __call__(self, order: Sequence[Part], length: float, width: float) -> list[Spot]:
        """Spots of the parts that fit; `length` and `width` are the bare sheet's."""
        sheet = _Sheet(length, width)
        spots: list[Spot] = []
        stuck: set[tuple[int, ...]] = set()
        for part in order:
            shapes = [self._thickened(part, turn) for turn in part.turns]
            alike = tuple(shape.number for shape in shapes)
            if alike in stuck:
                continue
            best: tuple[float, float, float, int] | None = None
            for turn, shape in enumerate(shapes):
                found = self._lowest(shape, sheet)
                if found and (best is None or found[:2] < best[:2]):
                    best = (*found, turn)
            if best is None:
                stuck.add(alike)
                continue
            _, y, x, turn = best
            sheet.laid.append((shapes[turn], x, y))
            spots.append(Spot(part.key, max(0.0, x), max(0.0, y), part.turns[turn]))
        return spots

    def _thickened(self, part: Part, turn: int) -> _Thick:
        """The part in one of its turns, thickened; made once."""
        key = (shape_key(part), turn)
        known = self._thick.get(key)
        if known is not None:
            return known
        shape = part_polygon(part, turn)
        _, _, along, across = shape.bounds
        # Smoothing moves the line inwards by at most what it was thickened beyond the kerf.
        fat = shape.buffer(self._grow, join_style="mitre", mitre_limit=2.0).simplify(_SMOOTH_MM)
        made = _Thick(len(self._thick), _convex_parts(fat), along, across)
        self._thick[key] = made
        return made

    def _lowest(self, mine: _Thick, sheet: _Sheet) -> tuple[float, float, float] | None:
        """(reach along, y, x) of the place that reaches least far along."""
        from shapely import get_coordinates, union_all
        from shapely.geometry import box

        room, spare = sheet.length - mine.along, sheet.width - mine.across
        if room < -_HAIR_MM or spare < -_HAIR_MM:
            return None
        if mine.number not in sheet.free:
            far = min(room, _FAR_MM)
            whole = box(-_HAIR_MM, -_HAIR_MM, far + _HAIR_MM, spare + _HAIR_MM)
            sheet.free[mine.number] = (whole, 0)
        free, known = sheet.free[mine.number]
        if known < len(sheet.laid):
            taken = [_moved(self._between(o, mine), x, y) for o, x, y in sheet.laid[known:]]
            free = free.difference(taken[0] if len(taken) == 1 else union_all(taken))
            sheet.free[mine.number] = (free, len(sheet.laid))
        if free.is_empty:
            return None
        x, y = min((max(0.0, x), max(0.0, y)) for x, y in get_coordinates(free).tolist())
        return (x + mine.along, y, x)

    def _between(self, fixed: _Thick, moving: _Thick) -> Any:
        key = (fixed.number, moving.number)
        if key not in self._no_fit:
            # A hair less, so that parts may touch.
            self._no_fit[key] = _minkowski(fixed.pieces, moving.pieces).buffer(-_HAIR_MM)
        return self._no_fit[key]


@lru_cache(maxsize=16)
def placer_of(kerf_mm: float, shapes: frozenset[_ShapeKey]) -> ShapePlacer:  # noqa: ARG001
    """A placer for parts of these shapes: what it learns of them serves on every sheet.

    The shapes are only what it is remembered by, so that no placer grows without end.
    """
    return ShapePlacer(kerf_mm)


def _moved(shape: Any, x: float, y: float) -> Any:
    import numpy as np
    from shapely import transform

    return transform(shape, lambda points: points + np.array((x, y)))


def shape_key(part: Part) -> _ShapeKey:
    """What is equal for parts of the same shape."""
    return (part.kind, part.length_mm, part.width_mm, part.points_mm)


def _convex_parts(shape: Any) -> list[Any]:
    """Convex pieces that make up a polygon, as arrays of corners."""
    import numpy as np
    from shapely import constrained_delaunay_triangles

    if shape.convex_hull.area - shape.area < 1e-9 * shape.area:
        return [np.asarray(shape.exterior.coords)[:-1]]
    cut = constrained_delaunay_triangles(shape)
    return [np.asarray(piece.exterior.coords)[:-1] for piece in cut.geoms if piece.area > 1e-12]


def _minkowski(fixed: list[Any], moving: list[Any]) -> Any:
    """Union of the sums of each convex piece with the mirror image of each other one."""
    import numpy as np
    from shapely import convex_hull, multipoints, union_all

    sums = [(a[:, None, :] - b[None, :, :]).reshape(-1, 2) for a in fixed for b in moving]
    owner = np.repeat(np.arange(len(sums)), [len(points) for points in sums])
    return union_all(convex_hull(multipoints(np.concatenate(sums), indices=owner)))
