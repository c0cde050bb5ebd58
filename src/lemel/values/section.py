"""Cross-sections and tempers: what a bar, wire or sheet measures and how hard it is."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from lemel.errors import BadInput
from lemel.values.checks import is_one_of, is_positive, not_negative

__all__ = ["SECTION_DIMS", "SECTION_KINDS", "Section", "Temper"]

#: Names of the dimensions by kind. A flat's thickness never exceeds its width.
SECTION_DIMS = {
    "flat": ("thickness", "width"),
    "square": ("side",),
    "round": ("diameter",),
    "half_round": ("height", "width"),
    "oval": ("height", "width"),
}
SECTION_KINDS = tuple(SECTION_DIMS)


@dataclass(frozen=True, slots=True)
class Section:
    """The cross-section of a bar, strip, sheet or wire, in mm.

    `corner` is the share of the sharp section that the metal fills (rolled squares have
    rounded corners: 0.97).

    >>> Section.flat(1.6, 5).area_mm2
    8.0
    """

    kind: str
    dims_mm: tuple[tuple[str, float], ...]
    corner: float = 1.0

    def __post_init__(self) -> None:
        is_one_of("kind", self.kind, SECTION_KINDS)
        given = dict(self.dims_mm)
        wanted = SECTION_DIMS[self.kind]
        if tuple(sorted(given)) != tuple(sorted(wanted)) or len(given) != len(self.dims_mm):
            raise BadInput(
                "dims_mm", sorted(given), " and ".join(wanted), f"Measure the {self.kind} so."
            )
        for name, size in self.dims_mm:
            is_positive(f"{name}_mm", size)
        is_positive("corner", self.corner)
        if self.corner > 1:
            raise BadInput("corner", self.corner, "0 to 1", "A bar cannot overfill its section.")

    @classmethod
    def of(cls, kind: str, dims_mm: Mapping[str, float], corner: float = 1.0) -> Section:
        """From a mapping; a flat given on edge is laid flat."""
        dims = dict(dims_mm)
        if kind == "flat" and set(dims) == {"thickness", "width"}:
            thin, wide = sorted(dims.values())
            dims = {"thickness": thin, "width": wide}
        return cls(kind, tuple(sorted(dims.items())), corner)

    @classmethod
    def flat(cls, thickness_mm: float, width_mm: float) -> Section:
        """Strip, sheet or plate."""
        return cls.of("flat", {"thickness": thickness_mm, "width": width_mm})

    @classmethod
    def square(cls, side_mm: float, corner: float = 1.0) -> Section:
        """Square bar or wire."""
        return cls.of("square", {"side": side_mm}, corner)

    @classmethod
    def round(cls, diameter_mm: float) -> Section:
        """Round bar or wire."""
        return cls.of("round", {"diameter": diameter_mm})

    def dim(self, name: str) -> float:
        """One dimension by name, mm."""
        return dict(self.dims_mm)[name]

    @property
    def area_mm2(self) -> float:
        """Area of metal in the section.

        A half round is half an ellipse of the given width and height; an oval an ellipse.
        """
        dims = dict(self.dims_mm)
        sharp = {
            "flat": lambda: dims["thickness"] * dims["width"],
            "square": lambda: dims["side"] ** 2,
            "round": lambda: math.pi / 4 * dims["diameter"] ** 2,
            "half_round": lambda: math.pi / 4 * dims["width"] * dims["height"],
            "oval": lambda: math.pi / 4 * dims["width"] * dims["height"],
        }[self.kind]()
        return float(sharp * self.corner)

    @property
    def thickness_mm(self) -> float:
        """The smaller outside dimension: what a gauge reads first."""
        return min(size for _, size in self.dims_mm)

    @property
    def width_mm(self) -> float:
        """The larger outside dimension."""
        return max(size for _, size in self.dims_mm)


@dataclass(frozen=True, slots=True)
class Temper:
    """How hard the metal must be: soft, a window of true strain since soft, or of hardness.

    kind "soft": lo and hi are 0. kind "strain": ln(A_soft / A) from lo to hi. kind "hv":
    Vickers from lo to hi.
    """

    kind: str
    lo: float = 0.0
    hi: float = 0.0

    def __post_init__(self) -> None:
        is_one_of("kind", self.kind, ("soft", "strain", "hv"))
        not_negative("lo", self.lo)
        if self.hi < self.lo:
            raise BadInput("hi", self.hi, f"at least {self.lo:g}", "Swap the ends of the window.")
