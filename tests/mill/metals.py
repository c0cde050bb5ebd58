"""The bench of the mill's tests: one hand mill, its grooves and plates, three alloys."""

from __future__ import annotations

from lemel.mill import MillKit, MillProblem, Route, do
from lemel.values import (
    Bar,
    Composition,
    DrawBench,
    DrawPlate,
    Grooves,
    Mill,
    Section,
    StockNeed,
    Temper,
)

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})
YELLOW_750 = Composition.from_millesimal({"Au": 750, "Ag": 125, "Cu": 125})
YELLOW_916 = Composition.from_millesimal({"Au": 916, "Ag": 50, "Cu": 34})

GROOVES = (6.0, 5.5, 5.0, 4.5, 4.0, 3.5, 3.0, 2.6, 2.3, 2.0, 1.75, 1.5, 1.3, 1.1, 0.9)
HOLES = (
    6.0, 5.75, 5.5, 5.25, 5.0, 4.75, 4.5, 4.25, 4.0, 3.75, 3.5, 3.25,
    3.0, 2.9, 2.8, 2.7, 2.6, 2.5, 2.4, 2.3, 2.2, 2.1,
    *(round(2 - 0.05 * i, 2) for i in range(31)),
)  # fmt: skip


def mill(**changes: float) -> Mill:
    """R 30, 268 N m, 60 kN, 80 kN/mm: a hand mill of 120 mm."""
    figures: dict[str, float] = {
        "roll_r_mm": 30, "barrel_mm": 120, "opening_mm": 7, "least_mm": 0.15, "torque_nm": 268,
        "frame_n": 60000, "modulus_n_mm": 80000,
    }  # fmt: skip
    return Mill("mill 120", **{**figures, **changes})


def kit(grooved: bool = True, plates: bool = True, **changes: float) -> MillKit:
    """The whole kit, or without grooves or drawplates; `changes` to the mill."""
    half_rounds = tuple(
        Section.of("half_round", {"height": h, "width": w}) for h, w in ((2.2, 4.0), (1.5, 3.0))
    )
    return MillKit(
        (mill(**changes),),
        (Grooves("square grooves", "mill 120", GROOVES),) if grooved else (),
        (
            DrawPlate("round plate", tuple(Section.round(d) for d in HOLES)),
            DrawPlate("half-round plate", half_rounds),
        )
        if plates
        else (),
        (DrawBench("draw bench", 3000, 1200),),
    )


def ingot(section: Section, length_mm: float, mass_g: float, body: Composition = STERLING) -> Bar:
    """A bar as cast."""
    return Bar("bar", "ada", "ingot", body, 0.0005, section, length_mm, mass_g)


def wire_bar(mass_g: float = 33.6) -> Bar:
    """The bar of the 6 x 6 x 90 mould."""
    return ingot(Section.square(6), 90, mass_g)


def plate(mass_g: float = 166) -> Bar:
    """The plate of the 40 x 80 x 5 mould."""
    return ingot(Section.flat(5, 40), 80, mass_g)


def soft(section: Section, length_mm: float, mass_g: float, body: Composition = STERLING) -> Bar:
    """Worked metal that was last annealed at its present size."""
    return Bar(
        "bar", "ada", "working", body, 0.0005, section, length_mm, mass_g, soft_section=section
    )


def wire(
    diameter_mm: float,
    length_mm: float,
    temper: Temper | None = None,
    least_mm: float | None = None,
) -> StockNeed:
    """Round wire."""
    return StockNeed(
        "wire", Section.round(diameter_mm), "ada", "UK Ag 925", ("p",), length_mm=length_mm,
        temper=temper, least_mm=least_mm,
    )  # fmt: skip


def strip(
    thick_mm: float, wide_mm: float, length_mm: float, temper: Temper | None = None
) -> StockNeed:
    """Flat strip by length."""
    return StockNeed(
        "strip", Section.flat(thick_mm, wide_mm), "ada", "UK Ag 925", ("p",), length_mm=length_mm,
        temper=temper,
    )  # fmt: skip


def sheet(
    thick_mm: float,
    along_mm: float,
    across_mm: float,
    temper: Temper | None = None,
    disc_mm: float | None = None,
) -> StockNeed:
    """Sheet by its sides."""
    return StockNeed(
        "sheet", Section.flat(thick_mm, across_mm), "ada", "UK Ag 925", ("p",),
        area_mm=(along_mm, across_mm), temper=temper, disc_mm=disc_mm,
    )  # fmt: skip


def route(bar: Bar, need: StockNeed, tools: MillKit | None = None, **options: object) -> Route:
    """Ask the mill."""
    return do(MillProblem(bar, need, tools or kit(), **options))  # type: ignore[arg-type]


SOFT = Temper("soft")
HALF_HARD = Temper("strain", 0.20, 0.27)
