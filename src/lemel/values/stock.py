"""Bars in every state from ingot to wire, what is needed of them, and what is cut from them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from lemel.values.checks import is_id, is_one_of, is_positive, not_negative
from lemel.values.composition import Composition
from lemel.values.scrap import Origin
from lemel.values.section import Section, Temper

__all__ = [
    "BAR_KINDS", "FAULT_KINDS", "WHATS", "Bar", "BarFault", "Blank", "IngotNeed", "OrderLine",
    "Outline", "StockNeed",
]  # fmt: skip

BAR_KINDS = ("ingot", "working", "stock", "offcut")
FAULT_KINDS = (
    "short", "cold_shut", "pipe", "flash", "pits", "streaks", "blister", "lamination", "crack",
)  # fmt: skip
WHATS = ("ring", "bangle", "disc", "jump_ring", "chain", "outline", "stock")


@dataclass(frozen=True, slots=True)
class BarFault:
    """What is wrong with a bar; `place_mm` from the leading end (None: all along)."""

    kind: str
    place_mm: float | None = None
    depth_mm: float | None = None
    note: str = ""

    def __post_init__(self) -> None:
        is_one_of("kind", self.kind, FAULT_KINDS)


@dataclass(frozen=True, slots=True)
class Bar:
    """An ingot, a half-worked bar, a sheet, a wire: one type.

    `soft_section` is the section at the last softening; None: never softened since it was
    cast. `cast_section` is then the section that it was cast in, where it has been worked
    since (None: an ingot as cast; of any other bar nobody knows). With a `soft_section` it
    says nothing.
    `promise_met` names the standard that the metal keeps (None: not promised).
    """

    id: str
    owner: str
    kind: str
    body: Composition
    sd: float
    section: Section
    length_mm: float
    mass_g: float
    promise_met: str | None = None
    soft_section: Section | None = None
    anneals: int = 0
    origin: Origin = Origin()
    parents: tuple[str, ...] = ()
    faults: tuple[BarFault, ...] = ()
    suspect: bool = False
    note: str = ""
    cast_section: Section | None = None

    def __post_init__(self) -> None:
        is_id("id", self.id)
        is_id("owner", self.owner)
        is_one_of("kind", self.kind, BAR_KINDS)
        not_negative("sd", self.sd)
        is_positive("length_mm", self.length_mm)
        is_positive("mass_g", self.mass_g)


@dataclass(frozen=True, slots=True)
class IngotNeed:
    """What the mill asks of the pour: any of these sections, a mass between lo and hi.

    `sections` empty: any section the moulds give. `family` is the heat family (silver,
    yellow, ...) that shares crucibles.
    """

    id: str
    mass_g: tuple[float, float]
    count: int
    owner: str
    standard: str
    family: str
    sections: tuple[Section, ...] = ()

    def __post_init__(self) -> None:
        is_id("id", self.id)
        is_positive("mass_g", self.mass_g[0])
        is_positive("count", self.count)


@dataclass(frozen=True, slots=True)
class Outline:
    """The shape of a piece in the flat, mm.

    kind "strip": `length_mm` x `width_mm`. kind "disc": both are the diameter. kind
    "path": a closed polygon in `points_mm`, with its box as length and width.
    """

    kind: str
    length_mm: float
    width_mm: float
    points_mm: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        is_one_of("kind", self.kind, ("strip", "disc", "path"))
        is_positive("length_mm", self.length_mm)
        is_positive("width_mm", self.width_mm)


@dataclass(frozen=True, slots=True)
class StockNeed:
    """Stock that the cut asks of the mill.

    Either `length_mm` of the section (wire and strip; total over `count` equal lengths),
    or, for sheet, `area_mm` = (along, across): a sheet of at least that size whose
    section gives the thickness. `pieces` are the ids of the order lines it serves.
    `tolerance_mm` applies to the thickness or diameter. `temper` None: as it comes.
    `disc_mm`: the sheet serves one disc of this diameter, which may be beaten out instead
    where the sheet is too wide for the rolls or too heavy (None: it must be a sheet).
    `least_mm` is the longest single piece in it: a shorter bar is no use for that piece
    (None: any length will do). `net_g` is the mass of the blanks alone (None: not worked
    out), `gross_g` that of the stock asked for.
    """

    id: str
    section: Section
    owner: str
    standard: str
    pieces: tuple[str, ...]
    length_mm: float | None = None
    area_mm: tuple[float, float] | None = None
    count: int = 1
    temper: Temper | None = None
    tolerance_mm: float = 0.05
    disc_mm: float | None = None
    least_mm: float | None = None
    net_g: float | None = None
    gross_g: float | None = None

    def __post_init__(self) -> None:
        is_id("id", self.id)
        is_positive("count", self.count)
        is_positive("tolerance_mm", self.tolerance_mm)
        if self.length_mm is not None:
            is_positive("length_mm", self.length_mm)


@dataclass(frozen=True, slots=True)
class Blank:
    """One piece as it is cut: outline, section, mass and why it is longer than the piece.

    `count` is how many finished pieces it yields: the rings of one coil.
    """

    piece: str
    outline: Outline
    section: Section
    mass_g: float
    allowance_mm: Mapping[str, float] = field(default_factory=dict)
    grain: str = "any"
    count: int = 1

    def __post_init__(self) -> None:
        is_id("piece", self.piece)
        is_one_of("grain", self.grain, ("along", "across", "any"))
        is_positive("count", self.count)


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One line of an order: `count` pieces of a kind, one set of sizes each or one for all.

    `sizes` are what the kind needs, in mm unless named otherwise: ring `size` (text
    "ISO 54", "UK L") with `width_mm`, `thickness_mm`, `profile`; bangle
    `inside_diameter_mm`; disc `diameter_mm`; jump_ring `inside_diameter_mm`,
    `wire_diameter_mm`; chain also `length_mm`; outline `length_mm`, `width_mm`,
    `thickness_mm` (and `path_mm`); stock `section` with its dimensions, `length_mm`. Ring
    and bangle may have `joint_mm`, `opening_mm`, `neutral_share`; an oval bangle
    `inside_long_mm` and `inside_short_mm`; a disc `thickness_mm` and, to be domed,
    `dome_height_mm` or `dome_radius_mm`; an outline `grain`; stock `in_lengths`.

    `owner` is whose metal must be in it (the shop's for house work); `standard` a key of
    the standards; `claim` an origin claim that is wanted ("post_consumer"); `use_lots` names
    the only lots that may be used (an heirloom), empty means any of the owner's.
    """

    id: str
    order: str
    owner: str
    what: str
    count: int
    sizes: Mapping[str, str | float]
    standard: str
    due_on: date | None = None
    claim: str | None = None
    temper: Temper | None = None
    use_lots: tuple[str, ...] = ()
    colour: str = "none"
    note: str = ""

    def __post_init__(self) -> None:
        is_id("id", self.id)
        is_id("order", self.order)
        is_id("owner", self.owner)
        is_one_of("what", self.what, WHATS)
        is_positive("count", self.count)
        is_id("standard", self.standard)
