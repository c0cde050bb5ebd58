"""Rectangles in layers across the sheet, each filled by straight cuts with what fits it best."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field

from lemel.cut.parts import EPS, Part, Placer, Spot

__all__ = ["layer_placer"]

Room = tuple[float, float, float, float]  # x, y, along, across
#: (how well it fits, place in the order, along, across, turn)
Choice = tuple[int, int, float, float, int]


def layer_placer(seed: int, *, by_lot: bool) -> Placer:
    """A placer whose layers run across the sheet; cuts from edge to edge part each of them.

    The first part that waits opens a layer. The room beside it is filled part by part, each
    with the one that fits it best (both sides, one side, else the first that goes in), and
    the rest of the room is parted in two by a straight cut. Source: D. Zhang, Y. Kang and
    A. Deng, Computers and Operations Research 33 (2006) 2209-2217 (from memory). `by_lot`
    leaves turn of the opener and place of the cut to lots, so that a search can try many.
    """

    def place(order: Sequence[Part], length: float, width: float) -> list[Spot]:
        fill = _Fill(list(order), random.Random(seed) if by_lot else None)
        x = 0.0
        while fill.waiting:
            opened = fill.open((x, 0.0, length - x, width))
            if opened is None:
                break
            x += opened
        return fill.spots

    return place


@dataclass(slots=True)
class _Fill:
    waiting: list[Part]
    lots: random.Random | None
    spots: list[Spot] = field(default_factory=list)

    def open(self, room: Room) -> float | None:
        """A new layer at the beginning of the room; how long it is along the sheet."""
        for index, part in enumerate(self.waiting):
            boxes = [
                box for box in part.boxes() if box[0] <= room[2] + EPS and box[1] <= room[3] + EPS
            ]
            if not boxes:
                continue
            # Lying across it opens a short layer, which is filled the most easily.
            box = min(boxes) if self.lots is None or len(boxes) == 1 else self.lots.choice(boxes)
            along, across, turn = box
            self._put(index, room[0], room[1], turn)
            self.fill((room[0], room[1] + across, along, room[3] - across))
            return along
        return None

    def fill(self, room: Room) -> None:
        """Everything that goes into a room, by straight cuts."""
        rooms = [room]
        while rooms:
            x, y, room_along, room_across = rooms.pop()
            if room_along <= EPS or room_across <= EPS:
                continue
            choice = self._best(room_along, room_across)
            if choice is None:
                continue
            _, index, along, across, turn = choice
            self._put(index, x, y, turn)
            over_along, over_across = room_along - along, room_across - across
            cut_across = over_along * room_across >= over_across * room_along
            if self.lots is not None and min(over_along, over_across) > EPS:
                cut_across = self.lots.random() < 0.5
            ahead = (x + along, y, over_along, room_across if cut_across else across)
            beside = (x, y + across, along if cut_across else room_along, over_across)
            # The larger rest is filled first: it is popped last in, first out.
            rooms += sorted((ahead, beside), key=lambda one: one[2] * one[3])

    def _best(self, room_along: float, room_across: float) -> Choice | None:
        best: Choice | None = None
        for index, part in enumerate(self.waiting):
            for along, across, turn in part.boxes():
                if along > room_along + EPS or across > room_across + EPS:
                    continue
                fits = (room_along - along <= EPS) + (room_across - across <= EPS)
                if best is None or fits > best[0]:
                    best = (fits, index, along, across, turn)
            if best is not None and best[0] == 2:
                break
        return best

    def _put(self, index: int, x: float, y: float, turn: int) -> None:
        self.spots.append(Spot(self.waiting.pop(index).key, x, y, turn))
