"""What a sheet layout is made of: parts to place, spots where they lie, and the packing."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

__all__ = ["EPS", "Packing", "Part", "Placer", "Spot"]

#: Two lengths closer than this are the same, mm.
EPS = 1e-7


@dataclass(frozen=True, slots=True)
class Part:
    """A shape to be cut: its box unturned, the turns it may take (degrees), its corners.

    kind "rect", "disc" or "path"; `points_mm` only for a path, from the corner of its box.
    """

    key: str
    kind: str
    length_mm: float
    width_mm: float
    turns: tuple[int, ...] = (0, 90)
    points_mm: tuple[tuple[float, float], ...] = ()

    @property
    def area_mm2(self) -> float:
        """Area of the shape itself."""
        if self.kind == "disc":
            return math.pi / 4 * self.length_mm**2
        if self.kind == "path":
            ring = (*self.points_mm, self.points_mm[0])
            return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise(ring))) / 2
        return self.length_mm * self.width_mm

    def boxes(self) -> list[tuple[float, float, int]]:
        """Distinct boxes (along, across, turn) over the allowed turns."""
        seen: dict[tuple[float, float], tuple[float, float, int]] = {}
        for turn in self.turns:
            box = (
                (self.length_mm, self.width_mm)
                if turn % 180 == 0
                else (self.width_mm, self.length_mm)
            )
            seen.setdefault(box, (*box, turn))
        return list(seen.values())


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a part lies: lower left corner of its turned box, and the turn in degrees."""

    key: str
    x_mm: float
    y_mm: float
    turn: int


@dataclass(frozen=True, slots=True)
class Packing:
    """Parts on one sheet: what is placed, what is not, and how far along it reaches.

    No layout of the placed parts reaches less far than `least_mm`, as far as that is proven
    beyond their shapes (0: it is not).
    """

    spots: tuple[Spot, ...]
    left_out: tuple[str, ...]
    used_mm: float
    rounds: int = 0
    least_mm: float = 0.0


#: Lays parts in the given order on length x width; returns the spots of those that fit.
Placer = Callable[[Sequence[Part], float, float], list[Spot]]
