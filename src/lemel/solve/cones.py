"""Second-order cones as tangent cuts.

For t >= ||D x|| and any direction u with ||u|| = 1, the row u.(D x) <= t holds for every
point of the cone (Cauchy-Schwarz), and is tight on the ray where D x points along u. So a
direction is all that a cut is, and cones of the same shape can share it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from lemel.errors import BadInput
from lemel.solve.program import Cone

__all__ = ["Tangents"]

Array = npt.NDArray[np.float64]
Cut = tuple[npt.NDArray[np.int32], Array, float, float]


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

    def cut(self, direction: Array) -> Cut:
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

    def violated(self, x: Array) -> list[Cut]:
        """Cuts for the cones that `x` breaks by more than the tolerance."""
        cuts: list[Cut] = []
        for k, shape in enumerate(self._shapes):
            image = shape.image(x)
            length = float(np.linalg.norm(image))
            if length - x[shape.t] <= self._tolerance * (1.0 + length):
                continue
            direction = image / length
            cuts += [self._shapes[twin].cut(direction) for twin in self._group[k]]
        return cuts

    def lifted(self, x: Array) -> Array:
        """The same point with each t raised to its cone."""
        point = x.copy()
        for shape in self._shapes:
            point[shape.t] = max(point[shape.t], float(np.linalg.norm(shape.image(x))))
        return point
