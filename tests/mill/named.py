"""The named cases, once for the tests and the measurements.

The figures to beat come from a prototype of the same rules (R 30, mu 0.13, 268 N m, 60 kN,
80 kN/mm, bearings 0.03 x 30 mm): plate 13 passes and 2 anneals, wire 27 groove passages and
3 draws with 3 anneals, strip 14 to 15 passes with 2 anneals (3 for a cautious hand).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from lemel.mill import MillProblem
from lemel.tables import Tables, shipped
from lemel.values import Grooves, Section
from tests.mill.metals import GROOVES, HALF_HARD, YELLOW_750, ingot, kit, sheet, strip, wire

#: A confident worker on sound metal, as the prototype assumed.
BOLD = {"sterling": {"strain_most": 1.2, "cast_strain_most": 0.6}}
#: Grooves with four half-open sizes, passages up to 15 %, holes up to 13 %, no leg closed.
BENCH_RULES = {
    "close_grooves": 0, "draw_least": 0, "hole_reduction_next": 0.13, "half_open_sizes": 4,
}  # fmt: skip

PLATE = ingot(Section.flat(4, 50), 80, 165.8)
PLATE_NEED = sheet(0.8, 300, 46, HALF_HARD)
WIRE = ingot(Section.square(6, 0.97), 110, 39.8)
STRIP = ingot(Section.square(8, 0.97), 50, 47.2, YELLOW_750)
KIT = kit(opening_mm=8)
#: The strip's mill has three grooves more.
WIDE_KIT = replace(KIT, grooves=(Grooves("grooves", "mill 120", (7.5, 7.0, 6.5, *GROOVES)),))


def tables(metal: dict[str, dict[str, object]], rules: dict[str, float] | None = None) -> Tables:
    """The shipped figures with these over them."""
    over: dict[str, dict[str, dict[str, object]]] = {"metal_working": metal}
    if rules:
        over["mill_rules"] = {name: {"value": value} for name, value in rules.items()}
    return shipped().with_overrides(over)


def gold(strain: float, cast: float) -> dict[str, dict[str, object]]:
    """The prototype's curve of 18 kt yellow, with the strains that a hand dares."""
    curve: dict[str, object] = {"soft_hv": 150, "full_hv": 245, "strain_scale": 0.55}
    return {"18 ct yellow": {**curve, "strain_most": strain, "cast_strain_most": cast}}


@dataclass(frozen=True)
class Named:
    """A named problem with its figures and the mesh on which it is compared."""

    name: str
    problem: MillProblem
    facts: Tables
    mesh: float


def named() -> list[Named]:
    """Plate to half hard sheet, bar to wire by two sets of rules, gold bar to strip."""

    def few(bar, need, tools=KIT) -> MillProblem:  # type: ignore[no-untyped-def]
        return MillProblem(bar, need, tools, variant="fewest")

    closed = few(WIRE, wire(1.0, 3000))
    return [
        Named("plate 50x80x4 to 0.8 half hard", few(PLATE, PLATE_NEED), tables(BOLD), 1.01),
        Named("bar 6x6x110 to 1.0 wire, bench rules", closed, tables(BOLD, BENCH_RULES), 1.01),
        Named("bar 6x6x110 to 1.0 wire, legs closed", closed, tables(BOLD), 1.01),
        Named("18 kt bar 8x8x50 to 2x5 strip, bold", few(STRIP, strip(2.0, 5.0, 200), WIDE_KIT),
              tables(gold(1.05, 0.5)), 1.03),
        Named("18 kt bar 8x8x50 to 2x5 strip, cautious", few(STRIP, strip(2.0, 5.0, 200), WIDE_KIT),
              tables(gold(0.69, 0.4)), 1.03),
    ]  # fmt: skip
