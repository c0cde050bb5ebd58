"""Two whole-number programs for cutting rods: one column a way to fill, or one a rod and piece."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

from lemel.solve import Row, Variable

__all__ = ["FILLS_MOST", "ByFills", "ByRods", "Fill", "Kind", "Model", "Question", "fills_of"]

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


class Question(Protocol):
    """A program without costs, the wishes in order as costs, and the way to fills and back."""

    columns: tuple[Variable, ...]
    rows: tuple[Row, ...]
    wishes: tuple[Terms, ...]

    def fills(self, x: Sequence[float]) -> list[Fill]:
        """The plan that a point stands for."""

    def point(self, plan: Sequence[Fill]) -> tuple[float, ...]:
        """The point that stands for a plan."""


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


class ByFills:
    """Columns: how many rods are filled each way; pieces from new rods, remnants, left out."""

    def __init__(self, model: Model, fills: Sequence[Sequence[Fill]]) -> None:
        self._model = model
        self._ways = [fill for group in fills for fill in group]
        self._count, self._kinds = len(self._ways), len(model.pieces)
        self.columns = tuple(self._columns())
        self.rows = tuple(self._rows())
        self.wishes = _wishes(self._of_length(2), self._of_length(0), self._begun())

    def fills(self, x: Sequence[float]) -> list[Fill]:
        """The plan that a point stands for."""
        return [way for way, many in zip(self._ways, x, strict=False) for _ in range(round(many))]

    def point(self, plan: Sequence[Fill]) -> tuple[float, ...]:
        """The point that stands for a plan: each fill as a full way that gives at least as much."""
        x = [0.0] * len(self.columns)
        for at, fill in plan:
            way = next(
                i
                for i, (own, full) in enumerate(self._ways)
                if own == at and all(a <= b for a, b in zip(fill, full, strict=True))
            )
            x[way] += 1
            for t, have in enumerate(fill):
                x[self._place(0 if self._model.rods[at].new else 1, t)] += have
        for t, piece in enumerate(self._model.pieces):
            cut = x[self._place(0, t)] + x[self._place(1, t)]
            x[self._place(2, t)] = len(piece.keys) - cut
        return tuple(x)

    def _place(self, group: int, kind: int) -> int:
        """Column of a kind of piece: from new rods (0), from remnants (1), left out (2)."""
        return self._count + group * self._kinds + kind

    def _columns(self) -> Iterator[Variable]:
        for i, (at, _) in enumerate(self._ways):
            yield Variable(f"way{i}", 0, len(self._model.rods[at].keys), 0, True)
        for name in ("new", "remnant", "out"):
            for t, piece in enumerate(self._model.pieces):
                yield Variable(f"{name}{t}", 0, len(piece.keys), 0, name == "out")

    def _rows(self) -> Iterator[Row]:
        for t, piece in enumerate(self._model.pieces):
            many = len(piece.keys)
            shares = tuple((self._place(group, t), 1.0) for group in range(3))
            yield Row(f"all{t}", shares, many, many)
            for group, new in enumerate((True, False)):
                made = tuple(
                    (i, -float(fill[t]))
                    for i, (at, fill) in enumerate(self._ways)
                    if fill[t] and self._model.rods[at].new is new
                )
                yield Row(f"made{t}", ((self._place(group, t), 1.0), *made), hi=0.0)
        for at, rod in enumerate(self._model.rods):
            used = tuple((i, 1.0) for i, (own, _) in enumerate(self._ways) if own == at)
            yield Row(f"rods{at}", used, hi=float(len(rod.keys)))

    def _of_length(self, group: int) -> Terms:
        return tuple((self._place(group, t), p.size) for t, p in enumerate(self._model.pieces))

    def _begun(self) -> dict[bool, Terms]:
        rods = self._model.rods
        return {
            new: tuple(
                (i, rods[at].size) for i, (at, _) in enumerate(self._ways) if rods[at].new is new
            )
            for new in (True, False)
        }


class ByRods:
    """Columns: pieces of each kind on each single rod, whether it is begun, what is left out."""

    def __init__(self, model: Model) -> None:
        self._model = model
        self._single = [at for at in range(len(model.rods)) for _ in range(_most(model, at))]
        self._kinds = len(model.pieces)
        self._width = self._kinds + 1
        self.columns = tuple(self._columns())
        self.rows = tuple(self._rows())
        left_out = tuple((self._out(t), p.size) for t, p in enumerate(model.pieces))
        self.wishes = _wishes(left_out, self._from_new(), self._begun())

    def fills(self, x: Sequence[float]) -> list[Fill]:
        """The plan that a point stands for."""
        found = []
        for b, at in enumerate(self._single):
            counts = tuple(round(x[b * self._width + t]) for t in range(self._kinds))
            if any(counts):
                found.append((at, counts))
        return found

    def point(self, plan: Sequence[Fill]) -> tuple[float, ...]:
        """The point that stands for a plan, the fuller of alike rods first."""
        x = [0.0] * len(self.columns)
        sizes = [piece.size for piece in self._model.pieces]
        free = {
            at: [b for b, own in enumerate(self._single) if own == at] for at in set(self._single)
        }
        fullest_first = sorted(
            plan, key=lambda fill: -sum(s * n for s, n in zip(sizes, fill[1], strict=True))
        )
        for at, fill in fullest_first:
            b = free[at].pop(0)
            x[b * self._width : b * self._width + self._kinds] = [float(n) for n in fill]
            x[b * self._width + self._kinds] = 1.0
        for t, piece in enumerate(self._model.pieces):
            cut = sum(x[b * self._width + t] for b in range(len(self._single)))
            x[self._out(t)] = len(piece.keys) - cut
        return tuple(x)

    def _out(self, kind: int) -> int:
        return len(self._single) * self._width + kind

    def _columns(self) -> Iterator[Variable]:
        for b, at in enumerate(self._single):
            serves = self._model.rods[at].serves
            for t, piece in enumerate(self._model.pieces):
                yield Variable(f"n{b}-{t}", 0, len(piece.keys) if t in serves else 0, 0, True)
            yield Variable(f"begun{b}", 0, 1, 0, True)
        for t, piece in enumerate(self._model.pieces):
            yield Variable(f"out{t}", 0, len(piece.keys), 0, True)

    def _rows(self) -> Iterator[Row]:
        kerf = self._model.kerf
        for b, at in enumerate(self._single):
            room = (b * self._width + self._kinds, -self._model.room(at))
            yield Row(f"room{b}", (*self._load(b, 1.0, kerf), room), hi=0.0)
            if b and self._single[b - 1] == at:
                # Alike rods are begun in order, the fuller one first.
                yield Row(f"order{b}", (*self._load(b - 1, 1.0), *self._load(b, -1.0)), lo=0.0)
        for t, piece in enumerate(self._model.pieces):
            cut = tuple((b * self._width + t, 1.0) for b in range(len(self._single)))
            many = len(piece.keys)
            yield Row(f"all{t}", (*cut, (self._out(t), 1.0)), many, many)

    def _load(self, b: int, sign: float, kerf: float = 0.0) -> Terms:
        """Length of the pieces on a rod."""
        return tuple(
            (b * self._width + t, sign * (piece.size + kerf))
            for t, piece in enumerate(self._model.pieces)
        )

    def _from_new(self) -> Terms:
        new = [b for b, at in enumerate(self._single) if self._model.rods[at].new]
        return tuple(term for b in new for term in self._load(b, 1.0))

    def _begun(self) -> dict[bool, Terms]:
        rods = self._model.rods
        return {
            new: tuple(
                (b * self._width + self._kinds, rods[at].size)
                for b, at in enumerate(self._single)
                if rods[at].new is new
            )
            for new in (True, False)
        }


def _most(model: Model, at: int) -> int:
    """How many of alike rods a best plan can begin: two that are half empty would be one."""
    total = sum((piece.size + model.kerf) * len(piece.keys) for piece in model.pieces)
    pieces = sum(len(piece.keys) for piece in model.pieces)
    return min(len(model.rods[at].keys), pieces, math.floor(2 * total / model.room(at)) + 1)


def _wishes(left_out: Terms, from_new: Terms, begun: dict[bool, Terms]) -> tuple[Terms, ...]:
    """Least left out, least from new stock, least new begun, least remnants begun."""
    wishes = [left_out]
    if begun[True] and begun[False]:
        wishes.append(from_new)
    return (*wishes, *(terms for terms in (begun[True], begun[False]) if terms))
