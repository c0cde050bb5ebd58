"""The search for a good sheet layout: which placer, which order, how long to try."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from lemel.cut.bounds import shortest_length_mm
from lemel.cut.discs import nested_discs, place_discs
from lemel.cut.guillotine import guillotine_placer
from lemel.cut.parts import Packing, Part, Placer, Spot
from lemel.cut.rects import place_rects
from lemel.cut.shapes import ShapePlacer
from lemel.values import Watch, quiet

__all__ = ["pack"]


def pack(
    parts: Sequence[Part],
    length_mm: float,
    width_mm: float,
    *,
    kerf_mm: float = 0.0,
    guillotine: bool = False,
    seed: int = 1,
    rounds: int | None = None,
    watch: Watch = quiet,
) -> Packing:
    """Lay as many parts as fit on one sheet, reaching as short along it as can be found.

    The order of the parts is improved by swaps from a seeded start until the proven bound
    is met or `rounds` layouts have been tried; the same input gives the same layout.
    `length_mm` may be infinite. Parts keep `kerf_mm` between each other, none to the edge.
    With `guillotine` straight cuts from edge to edge free every part's box.
    """
    if not parts:
        return Packing((), (), 0.0)
    fat, length, width = _fatten(parts, length_mm, width_mm, kerf_mm)
    search = _Search(parts, fat, length, width, kerf_mm)
    boxes = guillotine or all(part.kind == "rect" for part in parts)
    if guillotine:
        placers = [guillotine_placer(seed, stage) for stage in range(4)]
        search.run(placers, fat, seed, rounds or _rounds(len(parts), 40_000), watch)
    elif boxes:
        search.run([place_rects], fat, seed, rounds or _rounds(len(parts), 80_000), watch)
    elif all(part.kind == "disc" for part in parts):
        for spots in nested_discs(fat, length, width):
            search.judge(spots)
        tries = 1 if len({part.length_mm for part in parts}) == 1 else _rounds(len(parts), 2_000)
        search.run([place_discs], fat, seed, rounds or tries, watch)
    else:
        search.run([place_rects], fat, seed, rounds or _rounds(len(parts), 8_000), watch)
        shaped = _bare(ShapePlacer(kerf_mm), parts, length_mm, width_mm)
        search.run([shaped], fat, seed, rounds or _rounds(len(parts), 400), watch)
    return search.best(parts)


def _rounds(count: int, effort: int) -> int:
    return max(8, min(600, effort // (count * count)))


def _fatten(
    parts: Sequence[Part], length: float, width: float, kerf: float
) -> tuple[list[Part], float, float]:
    """Parts and sheet each larger by the kerf: gaps between parts become touching."""
    fat = [
        replace(part, length_mm=part.length_mm + kerf, width_mm=part.width_mm + kerf)
        for part in parts
    ]
    return fat, length + kerf, width + kerf


def _bare(placer: ShapePlacer, parts: Sequence[Part], length: float, width: float) -> Placer:
    """The shape placer thickens outlines itself, so that it takes the parts as they are."""
    own = {part.key: part for part in parts}

    def place(order: Sequence[Part], _length: float, _width: float) -> list[Spot]:
        return placer([own[part.key] for part in order], length, width)

    return place


class _Search:
    """The best layout so far, judged by what is left out, then by how far it reaches."""

    def __init__(
        self, parts: Sequence[Part], fat: Sequence[Part], length: float, width: float, kerf: float
    ) -> None:
        self._areas = {part.key: part.area_mm2 for part in parts}
        self._boxes = {part.key: (part.length_mm, part.width_mm) for part in parts}
        self._length, self._width, self._kerf = length, width, kerf
        self._goal = shortest_length_mm(fat, width) - kerf
        self._spots: list[Spot] = []
        self._score = (math.inf, math.inf)
        self._tried = 0

    def judge(self, spots: list[Spot]) -> tuple[float, float]:
        """The score of a layout, kept if it is the best."""
        self._tried += 1
        placed = {spot.key for spot in spots}
        out = sum(area for key, area in self._areas.items() if key not in placed)
        reach = max((spot.x_mm + self._along(spot) for spot in spots), default=0.0)
        score = (round(out, 9), round(reach, 9))
        if score < self._score:
            self._score, self._spots = score, spots
        return score

    def run(
        self, placers: list[Placer], parts: list[Part], seed: int, rounds: int, watch: Watch
    ) -> None:
        """Several first orders, then swaps that do no harm."""
        lots = random.Random(seed)
        trials: list[tuple[tuple[float, float], list[Part], Placer]] = []
        for place in placers:
            for order in _first_orders(parts):
                trials.append((self.judge(place(order, self._length, self._width)), order, place))
                if self._done():
                    return
        score, order, place = min(trials, key=lambda trial: trial[0])
        for turn in range(rounds if len(parts) > 1 else 0):
            if watch.cancelled():
                return
            changed = _swapped(order, lots)
            rule: Placer = place if len(placers) == 1 else lots.choice(placers)
            new = self.judge(rule(changed, self._length, self._width))
            if new <= score:
                score, order = new, changed
            if self._done():
                return
            if turn % 16 == 0:
                watch.tell(turn / rounds, self._score[1], self._goal)

    def best(self, parts: Sequence[Part]) -> Packing:
        """The best layout."""
        placed = {spot.key for spot in self._spots}
        left_out = tuple(part.key for part in parts if part.key not in placed)
        return Packing(tuple(self._spots), left_out, self._score[1], self._tried)

    def _done(self) -> bool:
        return self._score[0] == 0 and self._score[1] <= self._goal + 1e-6

    def _along(self, spot: Spot) -> float:
        length, width = self._boxes[spot.key]
        if spot.turn % 180:
            return width
        return length


def _first_orders(parts: list[Part]) -> Iterator[list[Part]]:
    keys: list[Callable[[Part], tuple[float, float]]] = [
        lambda p: (-p.length_mm * p.width_mm, -p.length_mm),
        lambda p: (-max(p.length_mm, p.width_mm), -min(p.length_mm, p.width_mm)),
        lambda p: (-p.width_mm, -p.length_mm),
        lambda p: (-p.length_mm - p.width_mm, -p.length_mm),
    ]
    for key in keys:
        yield sorted(parts, key=key)


def _swapped(order: list[Part], lots: random.Random) -> list[Part]:
    changed = list(order)
    i, j = lots.randrange(len(order)), lots.randrange(len(order))
    if lots.random() < 0.5:
        changed[i], changed[j] = changed[j], changed[i]
    else:
        changed.insert(j, changed.pop(i))
    return changed
