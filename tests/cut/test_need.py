"""What orders ask for: sizes read by name, blanks, stock."""

from __future__ import annotations

import math

import pytest

from lemel.cut import need
from lemel.errors import BadInput
from lemel.metal import density_g_cm3
from lemel.values import Composition, OrderLine, Saw

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})
BODIES = {"UK Ag 925": STERLING}


def line(line_id: str, what: str, count: int = 1, owner: str = "ada", **sizes: str | float):
    return OrderLine(line_id, "O", owner, what, count, sizes, "UK Ag 925")


def band(line_id: str, size: str, **more: str | float):
    return line(line_id, "ring", size=size, width_mm=5, thickness_mm=1.6, **more)


def test_twelve_metres_of_fine_wire_weigh_35_grams():
    asked = need([line("W", "stock", section="round", diameter_mm=0.6, length_mm=12_000)], BODIES)
    assert asked.blanks[0].mass_g == pytest.approx(35.2, abs=0.1)
    assert asked.stock[0].least_mm == 12_000


def test_four_hundred_jump_rings_take_about_51_grams_of_wire_and_the_saw_a_gram_more():
    rings = line("J", "jump_ring", 400, inside_diameter_mm=4.0, wire_diameter_mm=1.0)
    sheared = need([rings], BODIES, Saw("snips", 0.0, 10))
    sawn = need([rings], BODIES, Saw("saw", 0.3, 100))
    assert sum(b.mass_g for b in sheared.blanks) == pytest.approx(51.2, abs=0.2)
    dust = 400 * 0.3 * math.pi / 4 * density_g_cm3(STERLING) / 1000
    assert sum(b.mass_g for b in sawn.blanks) - sum(b.mass_g for b in sheared.blanks) == (
        pytest.approx(dust, rel=1e-9)
    )
    assert sum(b.count for b in sawn.blanks) == 400


def test_the_salver_is_176_grams_and_its_square_233():
    asked = need([line("S", "disc", diameter_mm=155, thickness_mm=0.9)], BODIES)
    (stock,) = asked.stock
    assert asked.blanks[0].mass_g == pytest.approx(176, abs=0.5)
    assert stock.gross_g == pytest.approx(233, abs=0.6)
    assert stock.disc_mm == 155


def test_six_bands_share_one_strip_of_their_width():
    lines = [band(f"O1.{n}", f"ISO {size}") for n, size in enumerate(range(50, 62, 2))]
    (stock,) = need(lines, BODIES).stock
    assert stock.section.dim("width") == 5
    assert stock.pieces == tuple(one.id for one in lines)
    blanks = need(lines, BODIES).blanks
    lengths = sum(blank.outline.length_mm for blank in blanks)
    assert stock.length_mm == pytest.approx(lengths + 5 * 0.3 + 2 * 3, abs=0.1)


def test_strip_is_cut_from_the_sheet_where_one_of_its_thickness_is_wanted():
    lines = [band("R", "ISO 54"), line("D", "disc", diameter_mm=28, thickness_mm=1.6)]
    (stock,) = need(lines, BODIES).stock
    assert stock.area_mm is not None
    assert stock.pieces == ("R", "D")


def test_owners_never_share_stock():
    asked = need([band("A", "ISO 54"), line("B", "ring", owner="cy", size="ISO 54", width_mm=5,
                                            thickness_mm=1.6)], BODIES)  # fmt: skip
    assert {stock.owner for stock in asked.stock} == {"ada", "cy"}


@pytest.mark.parametrize(
    ("faulty", "field"),
    [
        (line("X", "ring", size="ISO 54", thickness_mm=1.6), "width_mm"),
        (line("X", "disc", diameter_mm=20), "thickness_mm"),
        (line("X", "disc", diameter_mm=20, thickness_mm=1, colour="red"), "colour"),
        (line("X", "ring", size="54", width_mm=5, thickness_mm=1), "size"),
        (line("X", "ring", 2, size="ISO 50, 51, 52", width_mm=5, thickness_mm=1), "size"),
        (line("X", "stock", section="star", length_mm=5), "section"),
        (line("X", "disc", diameter_mm=-1, thickness_mm=1), "diameter_mm"),
        (line("X", "chain", inside_diameter_mm=1, wire_diameter_mm=1, length_mm=9), "inside"),
    ],
)
def test_a_size_that_is_wrong_missing_or_unknown_is_named(faulty: OrderLine, field: str):
    with pytest.raises(BadInput) as fault:
        need([faulty], BODIES)
    assert field in fault.value.field
