"""Straight cuts by exact reckoning: for few parts, the shortest sheet that a shear can part."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from lemel.cut.parts import EPS, Part, Spot
from lemel.values import Watch, quiet

__all__ = ["PAIRS_MOST", "Sliced", "sliced"]

#: So many ways to part a set of parts in two are looked through at most: some seconds.
PAIRS_MOST = 12_000

State = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Sliced:
    """The best layout by straight cuts: most area placed, then the shortest reach."""

    spots: tuple[Spot, ...]
    reach_mm: float


@dataclass(frozen=True, slots=True)
class _Block:
    """A box that holds some parts, parted by straight cuts: one part, or two blocks joined."""

    along: float
    across: float
    kind: int = -1
    turn: int = 0
    first: _Block | None = None
    second: _Block | None = None
    side_by_side: bool = False


def sliced(
    parts: Sequence[Part],
    length: float,
    width: float,
    watch: Watch = quiet,
    *,
    pairs_most: int = PAIRS_MOST,
) -> Sliced | None:
    """The best of all layouts that cuts from edge to edge can part; None for too many parts.

    For every set of parts the boxes that may hold it are reckoned from those of every way to
    part it in two, beside each other or end to end, and of boxes that are no smaller either
    way only the least are kept (L. Stockmeyer, Information and Control 57 (1983) 91-101, from
    memory, over all slicing trees). Parts that are alike are counted, not named.

    >>> found = sliced([Part(k, "rect", 2, 1) for k in "abc"], math.inf, 3)
    >>> found.reach_mm
    2
    """
    kinds: dict[tuple[tuple[float, float, int], ...], list[Part]] = {}
    for part in parts:
        kinds.setdefault(tuple(part.boxes()), []).append(part)
    members = list(kinds.values())
    counts = tuple(len(alike) for alike in members)
    if math.prod((n + 1) * (n + 2) // 2 for n in counts) > 2 * pairs_most:
        return None
    blocks: dict[State, list[_Block]] = {}
    best: tuple[float, float, _Block, State] | None = None
    areas = [alike[0].area_mm2 for alike in members]
    states = sorted(product(*(range(n + 1) for n in counts)), key=sum)
    for number, state in enumerate(states):
        if watch.cancelled():
            return None
        watch.tell((number / len(states)) ** 2)
        if sum(state) == 0:
            continue
        blocks[state] = _held(state, members, blocks, length, width)
        for block in blocks[state]:
            area = sum(n * a for n, a in zip(state, areas, strict=True))
            if best is None or (-area, block.along) < (best[0] - EPS, best[1]):
                best = (-area, block.along, block, state)
    if best is None:
        return Sliced((), 0.0)
    names = [[part.key for part in alike] for alike in members]
    return Sliced(tuple(_spots(best[2], 0.0, 0.0, names)), best[1])


def _held(
    state: State,
    members: Sequence[Sequence[Part]],
    blocks: dict[State, list[_Block]],
    length: float,
    width: float,
) -> list[_Block]:
    """The least boxes that hold the parts of a state."""
    found: list[_Block] = []
    if sum(state) == 1:
        kind = state.index(1)
        found = [
            _Block(along, across, kind, turn) for along, across, turn in members[kind][0].boxes()
        ]
    for one, other in _halves(state):
        found += _joined(blocks[one], blocks[other])
    fit = [b for b in found if b.along <= length + EPS and b.across <= width + EPS]
    return _least(fit)


def _halves(state: State) -> Iterator[tuple[State, State]]:
    """Every way to part a state in two, each pair once."""
    for one in product(*(range(n + 1) for n in state)):
        other = tuple(n - m for n, m in zip(state, one, strict=True))
        if sum(one) and sum(other) and one <= other:
            yield one, other


def _joined(ones: Sequence[_Block], others: Sequence[_Block]) -> Iterator[_Block]:
    """Blocks beside each other and end to end; both lists run from wide and short to narrow."""
    for along in {block.along for block in (*ones, *others)}:
        one = next((b for b in reversed(ones) if b.along <= along), None)
        other = next((b for b in reversed(others) if b.along <= along), None)
        if one and other and along in (one.along, other.along):
            yield _Block(along, one.across + other.across, first=one, second=other,
                         side_by_side=True)  # fmt: skip
    for across in {block.across for block in (*ones, *others)}:
        one = next((b for b in ones if b.across <= across), None)
        other = next((b for b in others if b.across <= across), None)
        if one and other and across in (one.across, other.across):
            yield _Block(one.along + other.along, across, first=one, second=other)


def _least(found: list[_Block]) -> list[_Block]:
    """Boxes that no other is within, from short and wide to long and narrow."""
    kept: list[_Block] = []
    for block in sorted(found, key=lambda b: (b.along, b.across)):
        if not kept or block.across < kept[-1].across - EPS:
            kept.append(block)
    return kept


def _spots(block: _Block, x: float, y: float, names: list[list[str]]) -> Iterator[Spot]:
    if block.first is None or block.second is None:
        yield Spot(names[block.kind].pop(0), x, y, block.turn)
        return
    yield from _spots(block.first, x, y, names)
    if block.side_by_side:
        yield from _spots(block.second, x, y + block.first.across, names)
    else:
        yield from _spots(block.second, x + block.first.along, y, names)
