"""Second-order cones as tangent cuts.

For t >= ||D x|| and any direction u with ||u|| = 1, the row u.(D x) <= t holds for every
point of the cone (Cauchy-Schwarz), and is tight on the ray where D x points along u. So a
direction is all that a cut is, and cones of the same shape can share it.

Cuts of one cone weighted with their dual prices and summed are again a row u.(D x) <= t,
with ||u|| <= 1: one dense row that alone bounds as well as all of them. Cutting half-way
between that direction and the present point also needs far fewer rounds than cutting at
the point (a thousand lots: thirty rounds instead of several hundred).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lemel.errors import BadInput
from lemel.solve.program import Cone

__all__ = ["Cut", "Row", "Tangents"]

Array = npt.NDArray[np.float64]
Row = tuple[npt.NDArray[np.int32], Array, float, float]
#: Weight of the dual direction against the present point's.
TOWARD = 0.75


@dataclass(frozen=True, slots=True)
class Cut:
    """A direction cut into one cone, and the row that it makes."""

    cone: int
    direction: Array
    row: Row


class _Shape:
    """One cone as sparse arrays: entries (line, column, value)."""

    def __init__(self, cone: Cone) -> None:
        self.t = cone.t
        self.lines = len(cone.lines)
        self.line = np.array([k for k, row in enumerate(cone.lines) for _ in row], np.int64)
        self.column = np.array([i for row in cone.lines for i, _ in row], np.int64)
        self.value = np.array([c for row in cone.lines for _, c in row], float)
        self.columns, self.place = np.unique(self.column, return_inverse=True)

    def image(self, x: Array) -> Array:
        """D x."""
        return np.bincount(self.line, self.value * x[self.column], self.lines).astype(float)

    def row(self, direction: Array) -> Row:
        """The row u.(D x) - t <= 0."""
        weights = np.bincount(self.place, self.value * direction[self.line], len(self.columns))
        columns = np.append(self.columns, self.t).astype(np.int32)
        return columns, np.append(weights, -1.0), -np.inf, 0.0


class Tangents:
    """All cones of a program, and which of them may share cuts.

    `twins` are groups of cone indices whose lines correspond one by one (the same lots in
    identical heats): a direction found for one is cut into all of its group.
    """

    def __init__(
        self, cones: Sequence[Cone], twins: Sequence[Sequence[int]], tolerance: float
    ) -> None:
        self._shapes = [_Shape(cone) for cone in cones]
        self._tolerance = tolerance
        self._group: dict[int, tuple[int, ...]] = {k: (k,) for k in range(len(cones))}
        for group in twins:
            sizes = {self._shapes[k].lines for k in group}
            if len(sizes) > 1:
                raise BadInput("twins", group, "cones with equally many lines", "Part the group.")
            self._group.update(dict.fromkeys(group, tuple(group)))

    def __len__(self) -> int:
        return len(self._shapes)

    def violated(self, x: Array, toward: Mapping[int, Array] | None = None) -> list[Cut]:
        """Cuts for the cones that `x` breaks by more than the tolerance.

        `toward` gives per cone a direction to lean to. A leaning cut that would not cut off
        `x` is replaced by the tangent at `x` itself.
        """
        cuts: list[Cut] = []
        for k, shape in enumerate(self._shapes):
            image = shape.image(x)
            length = float(np.linalg.norm(image))
            least = self._tolerance * (1.0 + length)
            if length - x[shape.t] <= least:
                continue
            direction = image / length
            if toward and k in toward:
                leaning = TOWARD * toward[k] + (1 - TOWARD) * direction
                leaning /= np.linalg.norm(leaning)
                if leaning @ image - x[shape.t] > least:
                    direction = leaning
            cuts += self._shared(k, direction)
        return cuts

    def summed(self, cuts: Sequence[Cut], prices: Array) -> dict[int, Array]:
        """Per cone the direction of its cuts weighted by their dual prices (unit length)."""
        sums: dict[int, Array] = {}
        for cut, price in zip(cuts, prices, strict=True):
            if price < 0:
                sums[cut.cone] = sums.get(cut.cone, 0.0) - price * cut.direction
        lengths = {k: float(np.linalg.norm(total)) for k, total in sums.items()}
        return {k: total / lengths[k] for k, total in sums.items() if lengths[k] > 0}

    def along(self, directions: Mapping[int, Array]) -> list[Cut]:
        """One cut per cone along the directions, with those of its twins."""
        return [cut for k, direction in directions.items() for cut in self._shared(k, direction)]

    def missing(self, x: Array, cuts: Sequence[Cut], prices: Array) -> float:
        """To first order, the cost that the cones' present violation hides; infinite while a
        broken cone has no cut with a price yet."""
        price = np.zeros(len(self._shapes))
        for cut, dual in zip(cuts, prices, strict=True):
            price[cut.cone] -= dual
        hidden = 0.0
        for shape, worth in zip(self._shapes, price, strict=True):
            length = float(np.linalg.norm(shape.image(x)))
            short = length - x[shape.t]
            if short > self._tolerance * (1.0 + length):
                hidden += worth * short if worth > 0 else np.inf
        return float(hidden)

    def lifted(self, x: Array) -> Array:
        """The same point with each t raised to its cone."""
        point = x.copy()
        for shape in self._shapes:
            point[shape.t] = max(point[shape.t], float(np.linalg.norm(shape.image(x))))
        return point

    def _shared(self, k: int, direction: Array) -> list[Cut]:
        return [Cut(twin, direction, self._shapes[twin].row(direction)) for twin in self._group[k]]
