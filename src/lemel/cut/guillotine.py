"""Rectangles that a shear can part: every cut runs from edge to edge of what it cuts."""

from __future__ import annotations

import random
from collections.abc import Sequence

from lemel.cut.parts import EPS, Part, Placer, Spot

__all__ = ["guillotine_placer"]

Room = tuple[float, float, float, float]  # x, y, along, across


def guillotine_placer(seed: int, stage: int) -> Placer:
    """A placer whose layouts can be cut by straight cuts from edge to edge.

    Each part goes into the corner of a free room, which is then parted in two by a
    straight cut; the room furthest back is filled first. On the whole sheet the first cut
    always runs across, so that the end of the sheet stays in one piece. `stage` chooses
    between the rules for the cut: 0 keeps the larger rest, 1 along, 2 across, 3 by lot.
    """

    def place(order: Sequence[Part], length: float, width: float) -> list[Spot]:
        lots = random.Random(seed)
        rooms: list[Room] = [(0.0, 0.0, length, width)]
        spots: list[Spot] = []
        for part in order:
            choice = _choose(part, rooms, width)
            if choice is None:
                continue
            index, along, across, turn = choice
            room = rooms.pop(index)
            x, y, room_along, room_across = room
            spots.append(Spot(part.key, x, y, turn))
            whole = room_across >= width - EPS and x + room_along >= length - EPS
            across_first = whole or _cuts_across(stage, lots, room, (along, across))
            rooms += _parted(room, (along, across), across_first)
        return spots

    return place


def _choose(part: Part, rooms: list[Room], width: float) -> tuple[int, float, float, int] | None:
    best: tuple[int, float, float, int] | None = None
    key: tuple[float, ...] | None = None
    for index, (x, _, room_along, room_across) in enumerate(rooms):
        for along, across, turn in part.boxes():
            if along > room_along + EPS or across > room_across + EPS:
                continue
            spare = min(room_across - across, room_along - along)
            open_end = room_across >= width - EPS
            # A room inside what is already cut costs no sheet; at the open end shorter is better.
            this = (1.0, x + along, spare) if open_end else (0.0, spare, x)
            if key is None or this < key:
                best, key = (index, along, across, turn), this
    return best


def _cuts_across(stage: int, lots: random.Random, room: Room, box: tuple[float, float]) -> bool:
    if stage == 0:
        over_along, over_across = room[2] - box[0], room[3] - box[1]
        return over_along * room[3] >= over_across * room[2]
    if stage == 3:
        return lots.random() < 0.5
    return stage == 2


def _parted(room: Room, box: tuple[float, float], cut_across: bool) -> list[Room]:
    x, y, room_along, room_across = room
    along, across = box
    rooms = [
        (x + along, y, room_along - along, room_across if cut_across else across),
        (x, y + across, along if cut_across else room_along, room_across - across),
    ]
    return [rest for rest in rooms if rest[2] > EPS and rest[3] > EPS]
