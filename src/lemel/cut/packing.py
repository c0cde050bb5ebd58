"""The search for a good sheet layout: which placer, which order, how long to try."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from lemel.cut.bounds import shortest_length_mm
from lemel.cut.discs import nested_discs, place_discs
from lemel.cut.guillotine import guillotine_placer
from lemel.cut.layers import layer_placer
from lemel.cut.parts import EPS, Packing, Part, Placer, Spot
from lemel.cut.rects import place_rects
from lemel.cut.shapes import placer_of, shape_key
from lemel.cut.slicing import PAIRS_MOST, sliced
from lemel.cut.squeeze import loosened, squeezed
from lemel.values import Watch, quiet

__all__ = ["pack"]

#: What is left out (mm2), how far it reaches (mm), and how far its metal lies along (mm3).
Score = tuple[float, float, float]

_LEGS = 3
#: Starts from which discs are pushed together, and how many discs still count as few.
_STARTS = 12
_FEW = 16
_SLACK = 0.06
#: Ways to lay layers by lot, and how many halvings of few parts count as quick.
_LAYERINGS = 8
_QUICK_PAIRS = 800
#: Turned outlines that may be laid in one search; each takes some tenths of a millisecond.
_SHAPE_EFFORT = 4_000
_SHAPE_ROUNDS = 150
#: Share of like outlines that keep the choice of their turn when the rest is turned by lot.
_FREE = 0.5


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
    is met or `rounds` layouts have been tried (None: as many as their number deserves;
    discs are then also pushed together). The same input gives the same layout.
    `length_mm` may be infinite. Parts keep `kerf_mm` between each other, none to the edge.
    With `guillotine` straight cuts from edge to edge free every part's box.
    """
    if not parts:
        return Packing((), (), 0.0)
    question = _Question(tuple(parts), length_mm, width_mm, kerf_mm, guillotine, seed, rounds)
    # A plan asks the same question several times; an answer that nobody may stop is kept.
    return _remembered(question) if watch is quiet else _packed(question, watch)


@dataclass(frozen=True, slots=True)
class _Question:
    parts: tuple[Part, ...]
    length: float
    width: float
    kerf: float
    guillotine: bool
    seed: int
    rounds: int | None


@lru_cache(maxsize=1024)
def _remembered(asked: _Question) -> Packing:
    return _packed(asked, quiet)


def _packed(asked: _Question, watch: Watch) -> Packing:
    parts, seed, rounds = asked.parts, asked.seed, asked.rounds
    fat, length, width = _fatten(parts, asked.length, asked.width, asked.kerf)
    search = _Search(parts, fat, length, width, asked.kerf)
    count = len(parts)
    if asked.guillotine:
        exact = sliced(
            fat, length, width, watch, pairs_most=PAIRS_MOST if rounds is None else _QUICK_PAIRS
        )
        if exact is not None:
            search.judge(list(exact.spots))
            return replace(search.best(parts), least_mm=max(0.0, exact.reach_mm - asked.kerf))
        cutters = [guillotine_placer(seed, stage) for stage in range(4)]
        cutters += [layer_placer(seed + lot, by_lot=lot > 0) for lot in range(_LAYERINGS)]
        search.run(cutters, fat, seed, rounds or _rounds(count, 600_000), watch)
    elif all(part.kind == "rect" for part in parts):
        search.run([place_rects], fat, seed, rounds or _rounds(count, 300_000), watch)
    elif all(part.kind == "disc" for part in parts):
        _pack_discs(search, fat, seed, rounds, watch)
    else:
        search.run([place_rects], fat, seed, rounds or _rounds(count, 8_000), watch)
        shaped = _shaper(parts, asked)
        turns = sum(len(part.turns) for part in parts)
        tries = rounds or min(_SHAPE_ROUNDS, max(8, _SHAPE_EFFORT // turns))
        search.run([shaped], fat, seed, tries, watch)
    return search.best(parts)


def _pack_discs(
    search: _Search, fat: list[Part], seed: int, rounds: int | None, watch: Watch
) -> None:
    """Nests and touching places; then, if there is time, pushed together from many starts."""
    for spots in nested_discs(fat, search.length, search.width):
        search.judge(spots)
    if len({part.length_mm for part in fat}) == 1:
        search.judge(place_discs(fat, search.length, search.width))
    else:
        search.run([place_discs], fat, seed, rounds or _rounds(len(fat), 2_000), watch)
    if rounds or len(fat) < 2 or search.done():
        return
    endless = _Search(fat, fat, math.inf, search.width, 0.0)
    for spots in nested_discs(fat, math.inf, search.width):
        endless.judge(spots)
    endless.judge(place_discs(fat, math.inf, search.width))
    first = endless.best(fat).spots
    search.judge(_within(squeezed(fat, first, search.width), fat, search.length))
    for start in range(_STARTS if len(fat) <= _FEW else _STARTS // 3):
        if search.done() or watch.cancelled():
            return
        loose = loosened(fat, first, search.width, seed * 1000 + start)
        search.judge(_within(squeezed(fat, loose, search.width), fat, search.length))


def _within(spots: Sequence[Spot], fat: Sequence[Part], length: float) -> list[Spot]:
    size = {part.key: part.length_mm for part in fat}
    return [spot for spot in spots if spot.x_mm + size[spot.key] <= length + EPS]


def _rounds(count: int, effort: int) -> int:
    return max(8, min(1500, effort // (count * count)))


def _fatten(
    parts: Sequence[Part], length: float, width: float, kerf: float
) -> tuple[list[Part], float, float]:
    """Parts and sheet each larger by the kerf: gaps between parts become touching."""
    fat = [
        replace(part, length_mm=part.length_mm + kerf, width_mm=part.width_mm + kerf)
        for part in parts
    ]
    return fat, length + kerf, width + kerf


def _shaper(parts: Sequence[Part], asked: _Question) -> Placer:
    """Lays outlines. It thickens them itself, so that it takes the parts as they are.

    Orders that differ only in which of several like parts comes first are laid once; when
    one comes again it is laid with some of the parts turned by lot, which shapes that
    hook into each other need.
    """
    own = {part.key: part for part in parts}
    alike = {part.key: (shape_key(part), part.turns) for part in parts}
    kinds = {one: number for number, one in enumerate(dict.fromkeys(alike.values()))}
    kind = {key: kinds[one] for key, one in alike.items()}
    placer = placer_of(asked.kerf, frozenset(shape for shape, _ in kinds))
    seen: set[tuple[int, ...]] = set()
    lots = random.Random(asked.seed)

    def place(order: Sequence[Part], _length: float, _width: float) -> list[Spot]:
        look = tuple(kind[part.key] for part in order)
        again = look in seen
        seen.add(look)
        laid = [own[part.key] for part in order]
        if again:
            laid = [one if lots.random() < _FREE else _turned_by_lot(one, lots) for one in laid]
        return placer(laid, asked.length, asked.width)

    return place


def _turned_by_lot(part: Part, lots: random.Random) -> Part:
    return replace(part, turns=(lots.choice(part.turns),))


class _Search:
    """The best layout so far, judged by what is left out, then by how far it reaches."""

    def __init__(
        self, parts: Sequence[Part], fat: Sequence[Part], length: float, width: float, kerf: float
    ) -> None:
        self._areas = {part.key: part.area_mm2 for part in parts}
        self._boxes = {part.key: (part.length_mm, part.width_mm) for part in parts}
        self.length, self.width, self._kerf = length, width, kerf
        self._goal = shortest_length_mm(fat, width) - kerf
        self._spots: list[Spot] = []
        self._score: Score = (math.inf, math.inf, math.inf)
        self._tried = 0

    def judge(self, spots: list[Spot]) -> Score:
        """The score of a layout, kept if it is the best."""
        self._tried += 1
        placed = {spot.key for spot in spots}
        out = sum(area for key, area in self._areas.items() if key not in placed)
        reach = max((spot.x_mm + self._along(spot) for spot in spots), default=0.0)
        # Of two equal reaches the one with its metal nearer the beginning is closer to a better.
        lean = sum(self._areas[spot.key] * (spot.x_mm + self._along(spot)) for spot in spots)
        score = (round(out, 9), round(reach, 9), round(lean, 6))
        if score < self._score:
            self._score, self._spots = score, spots
        return score

    def run(
        self, placers: list[Placer], parts: list[Part], seed: int, rounds: int, watch: Watch
    ) -> None:
        """Several first orders, then changes of the best ones that do little or no harm."""
        lots = random.Random(seed)
        trials: list[tuple[Score, list[Part], Placer]] = []
        for place in placers:
            for order in _first_orders(parts):
                score = self.judge(place(order, self.length, self.width))
                trials.append((score, order, place))
                if self.done():
                    return
        trials.sort(key=lambda trial: trial[0])
        legs = min(_LEGS, len(trials)) if len(parts) > 1 else 0
        for leg in range(legs):
            self._climb(trials[leg], placers, lots, (leg, legs, rounds), watch)
            if self.done() or watch.cancelled():
                return

    def _climb(
        self,
        start: tuple[Score, list[Part], Placer],
        placers: list[Placer],
        lots: random.Random,
        leg: tuple[int, int, int],
        watch: Watch,
    ) -> None:
        """One leg of the search: a threshold that sinks to nothing lets it leave a dead end."""
        score, order, place = start
        number, legs, rounds = leg
        steps = max(1, rounds // legs)
        for turn in range(steps):
            changed = _swapped(order, lots)
            rule = place if len(placers) == 1 else lots.choice(placers)
            new = self.judge(rule(changed, self.length, self.width))
            slack = _SLACK * max(0.0, 1 - 1.5 * turn / steps)
            if new <= score or (new[0] <= score[0] and new[1] <= score[1] * (1 + slack)):
                score, order = new, changed
            if self.done() or watch.cancelled():
                return
            if turn % 16 == 0:
                watch.tell((number + turn / steps) / legs, self._score[1], self._goal)

    def best(self, parts: Sequence[Part]) -> Packing:
        """The best layout."""
        placed = {spot.key for spot in self._spots}
        left_out = tuple(part.key for part in parts if part.key not in placed)
        return Packing(tuple(self._spots), left_out, self._score[1], self._tried)

    def done(self) -> bool:
        """True once the proven bound is met: nothing can be better."""
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
