"""Outlines of any shape on a sheet, laid where they touch, by no-fit polygons."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from lemel.cut.outlines import points_of
from lemel.cut.parts import Part, Spot
from lemel.values import Outline

__all__ = ["ShapePlacer", "part_polygon"]

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
    laid: list[tuple[tuple[Any, ...], float, float]] = field(default_factory=list)
    free: dict[tuple[Any, ...], tuple[Any, int]] = field(default_factory=dict)


class ShapePlacer:
    """Lays parts of any shape; the no-fit polygons of each pair of shapes are kept.

    A part may lie wherever its reference point is inside the sheet and outside the no-fit
    polygon of every part laid before: the Minkowski sum of the one with the mirror image
    of the other. Source: E. K. Burke, R. Hellier, G. Kendall and G. Whitwell, European
    Journal of Operational Research 179 (2007) 27-49 (from memory); sums by convex parts.
    """

    def __init__(self, kerf_mm: float) -> None:
        self._grow = kerf_mm / 2 + _SMOOTH_MM
        self._fat: dict[tuple[Any, ...], tuple[Any, list[Any], float, float]] = {}
        self._no_fit: dict[tuple[Any, ...], Any] = {}

    def __call__(self, order: Sequence[Part], length: float, width: float) -> list[Spot]:
        """Spots of the parts that fit; `length` and `width` are the bare sheet's."""
        sheet = _Sheet(length, width)
        spots: list[Spot] = []
        stuck: set[tuple[Any, ...]] = set()
        for part in order:
            if _shape_key(part, 0) in stuck:
                continue
            best: tuple[float, float, float, int] | None = None
            for turn in part.turns:
                found = self._lowest(part, turn, sheet)
                if found and (best is None or found[:2] < best[:2]):
                    best = (*found, turn)
            if best is None:
                stuck.add(_shape_key(part, 0))
                continue
            _, y, x, turn = best
            sheet.laid.append((self._thick(part, turn), x, y))
            spots.append(Spot(part.key, max(0.0, x), max(0.0, y), turn))
        return spots

    def _thick(self, part: Part, turn: int) -> tuple[Any, ...]:
        key = _shape_key(part, turn)
        if key not in self._fat:
            shape = part_polygon(part, turn)
            _, _, along, across = shape.bounds
            # Smoothing moves the line inwards by at most what it was thickened beyond the kerf.
            fat = shape.buffer(self._grow, join_style="mitre", mitre_limit=2.0)
            fat = fat.simplify(_SMOOTH_MM)
            self._fat[key] = (fat, _convex_parts(fat), along, across)
        return key

    def _lowest(self, part: Part, turn: int, sheet: _Sheet) -> tuple[float, float, float] | None:
        """(reach along, y, x) of the place that reaches least far along."""
        from shapely import get_coordinates, union_all
        from shapely.affinity import translate
        from shapely.geometry import box

        mine = self._thick(part, turn)
        _, _, along, across = self._fat[mine]
        room, spare = sheet.length - along, sheet.width - across
        if room < -_HAIR_MM or spare < -_HAIR_MM:
            return None
        if mine not in sheet.free:
            far = min(room, _FAR_MM)
            sheet.free[mine] = (box(-_HAIR_MM, -_HAIR_MM, far + _HAIR_MM, spare + _HAIR_MM), 0)
        free, known = sheet.free[mine]
        if known < len(sheet.laid):
            taken = [translate(self._between(o, mine), x, y) for o, x, y in sheet.laid[known:]]
            free = free.difference(union_all(taken))
            sheet.free[mine] = (free, len(sheet.laid))
        if free.is_empty:
            return None
        x, y = min((max(0.0, x), max(0.0, y)) for x, y in get_coordinates(free).tolist())
        return (x + along, y, x)

    def _between(self, fixed: tuple[Any, ...], moving: tuple[Any, ...]) -> Any:
        key = (fixed, moving)
        if key not in self._no_fit:
            sums = _minkowski(self._fat[fixed][1], self._fat[moving][1])
            # A hair less, so that parts may touch.
            self._no_fit[key] = sums.buffer(-_HAIR_MM)
        return self._no_fit[key]


def _shape_key(part: Part, turn: int) -> tuple[Any, ...]:
    return (part.kind, part.length_mm, part.width_mm, part.points_mm, turn)


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
    from shapely import union_all
    from shapely.geometry import MultiPoint

    hulls = []
    for a in fixed:
        for b in moving:
            sums = (a[:, None, :] - b[None, :, :]).reshape(-1, 2)
            hulls.append(MultiPoint(sums).convex_hull)
    return union_all(hulls)
