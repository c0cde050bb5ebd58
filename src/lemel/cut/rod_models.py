"""Two whole-number programs for cutting rods: one column a way to fill, or one a rod and piece."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from lemel.solve import Row, Variable

__all__ = ["FILLS_MOST", "Fill", "Kind", "Model", "Question", "by_fills", "by_rods", "fills_of"]

#: With more ways to fill the rods than this, rods and pieces are counted instead.
FILLS_MOST = 1_500
_EPS = 1e-9

#: A kind of rod by its index, and how many pieces of each kind it gives.
Fill = tuple[int, tuple[int, ...]]
Terms = tuple[tuple[int, float], ...]


@dataclass(frozen=True, slots=True)
class Kind:
    """Pieces that are alike, or rods that are alike; `serves` lists the kinds of piece."""

    keys: tuple[str, ...]
    size: float
    new: bool = False
    serves: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Model:
    """Pieces longest first, rods remnants first, and the kerf."""

    pieces: tuple[Kind, ...]
    rods: tuple[Kind, ...]
    kerf: float

    def room(self, at: int) -> float:
        """Length for pieces each longer by a kerf: the last one needs none."""
        return self.rods[at].size + self.kerf + 1e-6


@dataclass(frozen=True, slots=True)
class Question:
    """A program without costs, the wishes in order as costs, and the way back to fills."""

    columns: tuple[Variable, ...]
    rows: tuple[Row, ...]
    wishes: tuple[Terms, ...]
    fills: Callable[[Sequence[float]], list[Fill]]
    point: Callable[[Sequence[Fill]], tuple[float, ...]]


def fills_of(model: Model, at: int) -> list[Fill]:
    """Ways to fill a rod that leave no room for one more piece; stops once there are too many."""
    rod = model.rods[at]
    sizes = [
        p.size + model.kerf if t in rod.serves else math.inf for t, p in enumerate(model.pieces)
    ]
    found: list[Fill] = []
    for fill in _walk(sizes, [len(p.keys) for p in model.pieces], model.room(at), ()):
        found.append((at, fill))
        if len(found) > FILLS_MOST:
            break
    return found


def _walk(
    sizes: list[float], wanted: list[int], room: float, fill: tuple[int, ...]
) -> Iterator[tuple[int, ...]]:
    at = len(fill)
    if at == len(sizes):
        full = all(
            have >= want or size > room
            for size, want, have in zip(sizes, wanted, fill, strict=True)
        )
        if full and any(fill):
            yield fill
        return
    most = 0 if math.isinf(sizes[at]) else min(wanted[at], int(room / sizes[at] + _EPS))
    for count in range(most, -1, -1):
        left = room - (count * sizes[at] if count else 0.0)
        yield from _walk(sizes, wanted, left, (*fill, count))


def by_fills(model: Model, fills: Sequence[Sequence[Fill]]) -> Question:
    """Columns: how many rods are filled each way; pieces from new rods, remnants, left out."""
    ways = [fill for group in fills for fill in group]
    count, kinds = len(ways), len(model.pieces)
    columns = [
        Variable(f"way{i}", 0, len(model.rods[at].keys), 0, True) for i, (at, _) in enumerate(ways)
    ]
    rows = []
    for name in ("new", "remnant", "out"):
        columns += [
            Variable(f"{name}{t}", 0, len(p.keys), 0, name == "out")
            for t, p in enumerate(model.pieces)
        ]
    for t, piece in enumerate(model.pieces):
        shares = tuple((count + group * kinds + t, 1.0) for group in range(3))
        rows.append(Row(f"all{t}", shares, len(piece.keys), len(piece.keys)))
        for group, new in enumerate((True, False)):
            made = tuple(
                (i, -float(fill[t]))
                for i, (at, fill) in enumerate(ways)
                if fill[t] and model.rods[at].new is new
            )
            rows.append(Row(f"made{t}", ((count + group * kinds + t, 1.0), *made), hi=0.0))
    for at, rod in enumerate(model.rods):
        used = tuple((i, 1.0) for i, (own, _) in enumerate(ways) if own == at)
        rows.append(Row(f"rods{at}", used, hi=float(len(rod.keys))))
    sizes = [piece.size for piece in model.pieces]
    from_new = tuple((count + t, sizes[t]) for t in range(kinds))
    left_out = tuple((count + 2 * kinds + t, sizes[t]) for t in range(kinds))
    begun = {
        new: tuple(
            (i, model.rods[at].size) for i, (at, _) in enumerate(ways) if model.rods[at].new is new
        )
        for new in (True, False)
    }

    def fills_back(x: Sequence[float]) -> list[Fill]:
        return [ways[i] for i in range(count) for _ in range(round(x[i]))]

    def point(plan: Sequence[Fill]) -> tuple[float, ...]:
        x = [0.0] * len(columns)
        for at, fill in plan:
            # The way that gives at least these pieces; there is one, since all full ways are here.
            x[next(
                i for i, (own, full) in enumerate(ways)
                if own == at and all(a <= b for a, b in zip(fill, full, strict=True))
            )] += 1  # fmt: skip
            for t, have in enumerate(fill):
                x[count + (0 if model.rods[at].new else kinds) + t] += have
        for t, piece in enumerate(model.pieces):
            x[count + 2 * kinds + t] = len(piece.keys) - x[count + t] - x[count + kinds + t]
        return tuple(x)

    wishes = _wishes(left_out, from_new, begun)
    return Question(tuple(columns), tuple(rows), wishes, fills_back, point)


def by_rods(model: Model, plan: Sequence[Fill]) -> Question:
    """Columns: pieces of each kind on each single rod, whether it is begun, what is left out.

    Of rods that are alike no more are offered than their metal could ever need.
    """
    kinds = len(model.pieces)
    total = sum((piece.size + model.kerf) * len(piece.keys) for piece in model.pieces)
    planned = [sum(own == at for own, _ in plan) for at in range(len(model.rods))]
    single = [
        at
        for at, rod in enumerate(model.rods)
        for _ in range(min(len(rod.keys), max(planned[at], math.ceil(total / model.room(at)) + 1)))
    ]
    many, width = len(single), kinds + 1
    columns: list[Variable] = []
    rows: list[Row] = []
    for b, at in enumerate(single):
        rod = model.rods[at]
        columns += [
            Variable(f"n{b}-{t}", 0, len(p.keys) if t in rod.serves else 0, 0, True)
            for t, p in enumerate(model.pieces)
        ]
        columns.append(Variable(f"begun{b}", 0, 1, 0, True))
        taken = tuple((b * width + t, p.size + model.kerf) for t, p in enumerate(model.pieces))
        rows.append(Row(f"room{b}", (*taken, (b * width + kinds, -model.room(at))), hi=0.0))
        if b and single[b - 1] == at:
            # Alike rods are begun in order, the fuller one first.
            before = tuple(((b - 1) * width + t, p.size) for t, p in enumerate(model.pieces))
            this = tuple((b * width + t, -p.size) for t, p in enumerate(model.pieces))
            rows.append(Row(f"order{b}", (*before, *this), lo=0.0))
    columns += [Variable(f"out{t}", 0, len(p.keys), 0, True) for t, p in enumerate(model.pieces)]
    for t, piece in enumerate(model.pieces):
        cut = tuple((b * width + t, 1.0) for b in range(many))
        rows.append(
            Row(f"all{t}", (*cut, (many * width + t, 1.0)), len(piece.keys), len(piece.keys))
        )
    sizes = [piece.size for piece in model.pieces]
    left_out = tuple((many * width + t, sizes[t]) for t in range(kinds))
    from_new = tuple(
        (b * width + t, sizes[t])
        for b, at in enumerate(single) if model.rods[at].new
        for t in range(kinds)
    )  # fmt: skip
    begun = {
        new: tuple(
            (b * width + kinds, model.rods[at].size)
            for b, at in enumerate(single)
            if model.rods[at].new is new
        )
        for new in (True, False)
    }

    def fills_back(x: Sequence[float]) -> list[Fill]:
        rows_of = (
            (at, tuple(round(x[b * width + t]) for t in range(kinds)))
            for b, at in enumerate(single)
        )
        return [fill for fill in rows_of if any(fill[1])]

    def point(plan: Sequence[Fill]) -> tuple[float, ...]:
        x = [0.0] * len(columns)
        length = [sum(s * n for s, n in zip(sizes, fill, strict=True)) for _, fill in plan]
        order = sorted(range(len(plan)), key=lambda i: (plan[i][0], -length[i]))
        free = {at: [b for b, own in enumerate(single) if own == at] for at in set(single)}
        for at, fill in (plan[i] for i in order):
            b = free[at].pop(0)
            x[b * width : b * width + kinds] = [float(n) for n in fill]
            x[b * width + kinds] = 1.0
        for t, piece in enumerate(model.pieces):
            x[many * width + t] = len(piece.keys) - sum(x[b * width + t] for b in range(many))
        return tuple(x)

    wishes = _wishes(left_out, from_new, begun)
    return Question(tuple(columns), tuple(rows), wishes, fills_back, point)


def _wishes(left_out: Terms, from_new: Terms, begun: dict[bool, Terms]) -> tuple[Terms, ...]:
    """Least left out, least from new stock, least new begun, least remnants begun."""
    wishes = [left_out]
    if begun[True] and begun[False]:
        wishes.append(from_new)
    return (*wishes, *(terms for terms in (begun[True], begun[False]) if terms))
