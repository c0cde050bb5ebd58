"""What the cut room takes and gives back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from lemel.values import (
    Bar,
    Blank,
    Caution,
    Objection,
    OrderLine,
    Outline,
    Proof,
    Saw,
    Saying,
    StockNeed,
)

__all__ = ["CutNeed", "CutProblem", "Layout", "Placement", "SheetLayout"]


@dataclass(frozen=True, slots=True)
class CutNeed:
    """Backwards: the blanks of an order line and the stock that they ask for."""

    blanks: tuple[Blank, ...]
    stock: tuple[StockNeed, ...]
    objections: tuple[Objection, ...] = ()
    ways_out: tuple[Saying, ...] = ()


@dataclass(frozen=True, slots=True)
class CutProblem:
    """These blanks from these bars (remnants first in the tuple order that plan gives)."""

    lines: tuple[OrderLine, ...]
    blanks: tuple[Blank, ...]
    stock: tuple[Bar, ...]
    saw: Saw | None = None
    edge_mm: float = 1.0
    guillotine: bool = False
    seed: int = 1


@dataclass(frozen=True, slots=True)
class Placement:
    """One blank on one bar: lower left corner of its box, turned or not."""

    piece: str
    bar: str
    x_mm: float
    y_mm: float
    turned: bool
    outline: Outline


@dataclass(frozen=True, slots=True)
class SheetLayout:
    """One bar as it is marked out, with the remnant that stays (None: nothing usable)."""

    bar: str
    length_mm: float
    width_mm: float
    placements: tuple[Placement, ...]
    remnant: Bar | None
    scrap_g: float
    kerf_g: float


@dataclass(frozen=True, slots=True)
class Layout:
    """All bars marked out. `unplaced` are pieces that found no room, with the way out.

    `pieces_g` is the mass of each piece's blank by piece id; `use` the share of stock mass
    that became blanks.
    """

    status: str
    sheets: tuple[SheetLayout, ...]
    unplaced: tuple[str, ...]
    pieces_g: Mapping[str, float]
    use: float
    offcut_g: float
    kerf_g: float
    proof: Proof
    drawing: Mapping[str, str] = field(default_factory=dict)
    cautions: tuple[Caution, ...] = ()
    objections: tuple[Objection, ...] = ()
    explain: tuple[Saying, ...] = ()
