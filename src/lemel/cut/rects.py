"""Rectangles on a sheet by the skyline: fill the deepest notch with what fits it best."""

from __future__ import annotations

from collections.abc import Sequence

from lemel.cut.parts import EPS, Part, Spot

__all__ = ["place_rects"]

_FAR = float("inf")


def place_rects(order: Sequence[Part], length: float, width: float) -> list[Spot]:
    """Spots for as many rectangles as fit, packed towards x = 0.

    The sheet's profile is a row of steps across its width. The step that lies furthest
    back is filled by the part that fits it best (its whole width, or flush with a wall);
    equal fits go to the part named first. A step that nothing fits is levelled with its
    lower neighbour. Source: the best-fit heuristic of E. K. Burke, G. Kendall and
    G. Whitwell, Operations Research 52 (2004) 655-671, with scores after S. C. H. Leung,
    D. Zhang and K. M. Sim, European Journal of Operational Research 215 (2011) 57-69
    (both from memory).
    """
    steps: list[list[float]] = [[0.0, width, 0.0]]  # across from, across to, level
    waiting = list(order)
    spots: list[Spot] = []
    while waiting:
        at = min(range(len(steps)), key=lambda i: (steps[i][2], steps[i][0]))
        low = steps[at][2]
        before = steps[at - 1][2] - low if at > 0 else _FAR
        after = steps[at + 1][2] - low if at + 1 < len(steps) else _FAR
        choice = _best(waiting, steps[at][1] - steps[at][0], length - low, before, after)
        if choice is None:
            if len(steps) == 1:
                break
            steps[at][2] = low + min(before, after)
            _merge(steps)
            continue
        index, along, across, turn = choice
        part = waiting.pop(index)
        low_side = abs(along - before) <= EPS or (
            abs(along - after) > EPS and before >= after
        )  # fmt: skip
        y = steps[at][0] if low_side else steps[at][1] - across
        spots.append(Spot(part.key, low, max(0.0, y), turn))
        _raise(steps, at, y, across, low + along)
    return spots


def _best(
    waiting: list[Part], gap: float, room: float, before: float, after: float
) -> tuple[int, float, float, int] | None:
    best: tuple[int, float, float, int] | None = None
    best_score = -1
    tried: set[tuple[float, float]] = set()
    for index, part in enumerate(waiting):
        for along, across, turn in part.boxes():
            if (along, across) in tried:
                continue
            tried.add((along, across))
            if across > gap + EPS or along > room + EPS:
                continue
            score = 2 if gap - across <= EPS else 0
            score += (abs(along - before) <= EPS) + (abs(along - after) <= EPS and score == 2)
            score += abs(along - after) <= EPS and score == 0
            if score > best_score:
                best, best_score = (index, along, across, turn), score
    return best


def _raise(steps: list[list[float]], at: int, y: float, across: float, level: float) -> None:
    start, end, low = steps[at]
    parts = [[start, y, low], [y, y + across, level], [y + across, end, low]]
    steps[at : at + 1] = [part for part in parts if part[1] - part[0] > EPS]
    _merge(steps)


def _merge(steps: list[list[float]]) -> None:
    i = 0
    while i + 1 < len(steps):
        if abs(steps[i][2] - steps[i + 1][2]) <= EPS:
            steps[i][1] = steps[i + 1][1]
            del steps[i + 1]
        else:
            i += 1
