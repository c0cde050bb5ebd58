"""What is worth keeping of a sheet beside its remnant: the largest rectangles left between."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

__all__ = ["Box", "free_boxes", "straight"]

#: (x0, y0, x1, y1) in mm, x along the sheet.
Box = tuple[float, float, float, float]

_EPS = 1e-7
#: Nobody keeps more odd ends of one sheet than this.
_MOST = 4
#: Among so many pieces no more corners are looked through.
_PIECES_MOST = 150


def free_boxes(
    room: Box,
    pieces: Sequence[Box],
    kerf_mm: float,
    least_mm: float,
    least_mm2: float,
    *,
    by_straight_cuts: bool,
) -> list[Box]:
    """Rectangles that can be kept of a room beside the pieces in it, the largest first.

    Each keeps the kerf to every piece and to the others, is `least_mm` on its shorter side
    and `least_mm2` in area at least. `by_straight_cuts`: cuts from edge to edge must still
    part pieces and rectangles.

    >>> free_boxes((0, 0, 100, 50), [(0, 0, 60, 20)], 0.0, 10, 400, by_straight_cuts=True)
    [(0, 20.0, 100, 50), (60.0, 0, 100, 20.0)]
    """  # fmt: skip
    if len(pieces) > _PIECES_MOST:
        return []
    taken = list(pieces)
    kept: list[Box] = []
    while len(kept) < _MOST:
        found = [
            box
            for box in _empty(room, [_grown(one, kerf_mm) for one in taken])
            if min(box[2] - box[0], box[3] - box[1]) >= least_mm and _area(box) >= least_mm2
        ]
        found.sort(key=lambda box: (-_area(box), box))
        chosen = next((b for b in found if not by_straight_cuts or straight([*taken, b])), None)
        if chosen is None:
            break
        kept.append(chosen)
        taken.append(chosen)
    return kept


def straight(boxes: Sequence[Box]) -> bool:
    """Whether cuts from edge to edge part all these boxes.

    >>> wheel = [(0, 0, 2, 1), (2, 0, 3, 2), (1, 2, 3, 3), (0, 1, 1, 3)]
    >>> straight(wheel), straight(wheel[:3])
    (False, True)
    """
    if len(boxes) <= 1:
        return True
    for low, high in ((0, 2), (1, 3)):
        for cut in sorted({box[high] for box in boxes}):
            before = [box for box in boxes if box[high] <= cut + _EPS]
            after = [box for box in boxes if box[low] >= cut - _EPS]
            if before and after and len(before) + len(after) == len(boxes):
                return straight(before) and straight(after)
    return False


def _grown(box: Box, by: float) -> Box:
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def _area(box: Box) -> float:
    return (box[2] - box[0]) * (box[3] - box[1])


def _empty(room: Box, pieces: Iterable[Box]) -> list[Box]:
    """All largest rectangles of the room that meet no piece: each piece parts those it meets."""
    free = [room]
    for piece in pieces:
        parted: list[Box] = []
        whole: list[Box] = []
        for box in free:
            if _meet(box, piece):
                parted += _around(box, piece)
            else:
                whole.append(box)
        # Only what was parted just now can lie inside another.
        whole += [
            one
            for i, one in enumerate(parted)
            if not any(_within(one, other) for other in whole)
            and not any(
                _within(one, other) and (j < i or not _within(other, one))
                for j, other in enumerate(parted)
                if j != i
            )
        ]
        free = whole
    return free


def _meet(one: Box, other: Box) -> bool:
    return (
        one[0] < other[2] - _EPS
        and other[0] < one[2] - _EPS
        and one[1] < other[3] - _EPS
        and other[1] < one[3] - _EPS
    )


def _within(inner: Box, outer: Box) -> bool:
    return (
        outer[0] <= inner[0] and outer[1] <= inner[1]
        and inner[2] <= outer[2] and inner[3] <= outer[3]
    )  # fmt: skip


def _around(box: Box, piece: Box) -> list[Box]:
    """What is left of a rectangle on each side of a piece."""
    x0, y0, x1, y1 = box
    sides: list[Box] = []
    if piece[0] > x0 + _EPS:
        sides.append((x0, y0, piece[0], y1))
    if piece[2] < x1 - _EPS:
        sides.append((piece[2], y0, x1, y1))
    if piece[1] > y0 + _EPS:
        sides.append((x0, y0, x1, piece[1]))
    if piece[3] < y1 - _EPS:
        sides.append((x0, piece[3], x1, y1))
    return sides
