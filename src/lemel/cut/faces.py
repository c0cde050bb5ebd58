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

__all__ = [
    "BlankReport", "CutNeed", "CutProblem", "Layout", "Placement", "Rest", "SheetLayout",
    "SizeReport",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class CutNeed:
    """Backwards: the blanks of the order lines and the stock that they ask for.

    Each line is served by exactly one StockNeed, whose `pieces` name the lines. Blanks are
    named by their line, with "/1", "/2" after it where a line has several.
    """

    blanks: tuple[Blank, ...]
    stock: tuple[StockNeed, ...]
    objections: tuple[Objection, ...] = ()
    ways_out: tuple[Saying, ...] = ()
    explain: tuple[Saying, ...] = ()


@dataclass(frozen=True, slots=True)
class CutProblem:
    """These blanks from these bars (remnants first in the tuple order that plan gives).

    A bar of kind "offcut" is a remnant, all others new stock. Where a blank's line is
    among `lines`, only bars of its owner (and its standard, where the bar keeps one)
    serve it; `any_owner` lifts the first after the owner's consent. `crop_mm` is cut off
    each end of new wire and strip, and `point_mm` beside it off the end of drawn wire that
    was pointed. `edge_mm` is kept from the edges of new sheets, and from the ends of a
    sheet that holds one row only. Pieces keep clear of faults whose place is known.
    """

    lines: tuple[OrderLine, ...]
    blanks: tuple[Blank, ...]
    stock: tuple[Bar, ...]
    saw: Saw | None = None
    edge_mm: float = 1.0
    guillotine: bool = False
    seed: int = 1
    crop_mm: float = 0.0
    point_mm: float = 0.0
    any_owner: bool = False


@dataclass(frozen=True, slots=True)
class Placement:
    """One blank on one bar: lower left corner of its box, turned by 90 degrees or not.

    x runs along the bar from its free end, y across. `turn_deg` is the exact turn (0, 90,
    180, 270), anticlockwise as x turns towards y.
    """

    piece: str
    bar: str
    x_mm: float
    y_mm: float
    turned: bool
    outline: Outline
    turn_deg: int = 0


@dataclass(frozen=True, slots=True)
class Rest:
    """What stays of a bar in one piece, and where on it: x along, y across, its lower corner.

    `stamped`: the mark of the heat, in the bar's far corner, is on it.
    """

    bar: Bar
    x_mm: float
    y_mm: float
    stamped: bool = False


@dataclass(frozen=True, slots=True)
class SheetLayout:
    """One bar as it is marked out, with the remnant that stays (None: nothing usable).

    `rests` is everything that is worth keeping with its place: the remnant first (the far end
    or a side, with the stamp of the heat, where that is large enough), then what else of a
    sheet is. Masses close: the
    bar's mass is blanks_g + rests + scrap_g + kerf_g. `edge_mm` is the margin that was kept
    from the bar's edges.
    """

    bar: str
    length_mm: float
    width_mm: float
    placements: tuple[Placement, ...]
    remnant: Bar | None
    scrap_g: float
    kerf_g: float
    blanks_g: float = 0.0
    edge_mm: float = 0.0
    rests: tuple[Rest, ...] = ()

    @property
    def rests_g(self) -> float:
        """The mass of everything that is kept."""
        return sum(one.bar.mass_g for one in self.rests)


@dataclass(frozen=True, slots=True)
class Layout:
    """All bars marked out. `unplaced` are pieces that found no room, with the way out.

    `status` is "infeasible" where a piece found no room (the rest is laid out all the
    same), "optimal" where no layout takes less stock, else "feasible"; `proof` counts in
    grams of stock that is begun (wire, strip) or cut into (sheet, less its remnant; what else
    is kept of it is not counted).
    `pieces_g` is the mass of each piece's blank by piece id, `lines_g` by order line; `use`
    the share of the mass taken (bars less their rests) that became blanks. `drawing` is SVG
    at full size by bar id, and `pages` the same in parts that fit on A4 paper.
    `offcut_g` is scrap and rests together.
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
    lines_g: Mapping[str, float] = field(default_factory=dict)
    pages: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    ways_out: tuple[Saying, ...] = ()


@dataclass(frozen=True, slots=True)
class SizeReport:
    """The answer of `lemel size`: a ring size in mm and on the other scales.

    `to` is the mark on the scale that was asked for (None: none was). `blank_length_mm`
    and `mass_g` are None unless thickness and metal were given.
    """

    size: str
    scale: str
    inside_circumference_mm: float
    inside_diameter_mm: float
    to: str | None
    others: Mapping[str, str]
    variants_mm: Mapping[str, float]
    blank_length_mm: float | None
    mass_g: float | None
    sources: tuple[str, ...]
    notes: tuple[Saying, ...] = ()


@dataclass(frozen=True, slots=True)
class BlankReport:
    """The answer of `lemel blank`: one piece's blank.

    `inside_circumference_mm` and `inside_diameter_mm` are None for what has no inside;
    `blank_length_mm` and `blank_width_mm` are the box of the outline.
    """

    what: str
    inside_circumference_mm: float | None
    inside_diameter_mm: float | None
    blank_length_mm: float
    blank_width_mm: float
    mass_g: float
    density_g_cm3: float
    count: int
    outline: Outline
    allowance_mm: Mapping[str, float]
    stock: tuple[StockNeed, ...]
    sources: tuple[str, ...]
    notes: tuple[Saying, ...] = ()
