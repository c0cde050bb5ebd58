"""What orders ask for: sizes read by name, blanks, stock."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from lemel.cut import blank_report, need
from lemel.errors import BadInput
from lemel.metal import density_g_cm3
from lemel.values import Composition, OrderLine, Quantity, Saw

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


def test_thick_stock_is_said_to_come_out_long_and_its_neutral_line_can_be_set():
    thick = line("R", "ring", size="ISO 50", width_mm=4, thickness_mm=3)
    asked = need([thick], BODIES)
    notes = {note.code: note for note in asked.explain}
    inward = need([replace(thick, sizes={**thick.sizes, "neutral_share": 0.45})], BODIES)
    shorter = asked.blanks[0].outline.length_mm - inward.blanks[0].outline.length_mm
    assert shorter == pytest.approx(2 * math.pi * 0.05 * 3)
    said = notes["cut.blank.thick"].values["shorter"]
    assert isinstance(said, Quantity)
    assert said.value == pytest.approx(shorter)


def test_a_wide_band_is_longer_and_its_feel_is_only_a_note():
    wide = need([line("R", "ring", size="ISO 54", width_mm=7, thickness_mm=1)], BODIES)
    narrow = need([line("R", "ring", size="ISO 54", width_mm=4, thickness_mm=1)], BODIES)
    assert wide.blanks[0].outline.length_mm - narrow.blanks[0].outline.length_mm == (
        pytest.approx(0.5)
    )
    assert [(o.code, o.grade) for o in wide.objections] == [("cut.ring.wide_feels_small", "note")]


def test_an_open_bangle_is_shorter_by_its_opening():
    sizes = {"inside_diameter_mm": 60.0, "width_mm": 4.0, "thickness_mm": 2.0}
    closed = need([line("B", "bangle", **sizes)], BODIES).blanks[0]
    opened = need([line("B", "bangle", opening_mm=25.0, **sizes)], BODIES).blanks[0]
    assert closed.outline.length_mm - opened.outline.length_mm == pytest.approx(25 + 0.4)


def test_a_domed_disc_is_cut_larger():
    flat = need([line("D", "disc", diameter_mm=30, thickness_mm=0.5)], BODIES).blanks[0]
    dome = need([line("D", "disc", diameter_mm=30, thickness_mm=0.5, dome_radius_mm=15)], BODIES)
    assert flat.outline.length_mm == 30
    assert dome.blanks[0].outline.length_mm == pytest.approx(30 * math.sqrt(2))


def test_a_sheet_is_asked_for_narrow_where_little_metal_is_lost_by_it():
    (stock,) = need([line("D", "disc", 12, diameter_mm=28, thickness_mm=0.7)], BODIES).stock
    along, across = stock.area_mm or (0, 0)
    assert across < along
    assert along * across < 1.1 * 117 * 87.6


def test_lots_colour_and_claim_that_a_line_insists_on_keep_its_stock_apart():
    own = replace(band("A", "ISO 54"), use_lots=("G8",))
    claimed = replace(band("B", "ISO 54"), claim="post_consumer")
    assert len(need([own, claimed, band("C", "ISO 54")], BODIES).stock) == 3


def test_a_coil_in_lengths_asks_for_shorter_bars():
    sizes = {"section": "round", "diameter_mm": 0.6, "length_mm": 12_000.0}
    whole = need([line("W", "stock", **sizes)], BODIES).stock[0]
    parts = need([line("W", "stock", in_lengths=3, **sizes)], BODIES).stock[0]
    assert (whole.least_mm, parts.least_mm) == (12_000, 4_000)


def test_every_fault_of_every_line_is_told_at_once():
    with pytest.raises(BadInput) as fault:
        need([line("X", "disc", diameter_mm=20), line("Y", "ring", size="UK L")], BODIES)
    assert len(fault.value.all) == 2


def test_a_blank_weighs_what_its_volume_and_alloy_say():
    plate = need([line("P", "outline", length_mm=40, width_mm=25, thickness_mm=0.8)], BODIES)
    assert plate.blanks[0].mass_g == pytest.approx(0.8 * density_g_cm3(STERLING))
    report = blank_report(
        line("P", "outline", 3, length_mm=40, width_mm=25, thickness_mm=0.8), STERLING
    )
    assert (report.count, report.mass_g) == (3, plate.blanks[0].mass_g)
    ring = blank_report(line("R", "ring", size="ISO 54", width_mm=5, thickness_mm=1.6), STERLING)
    assert ring.inside_circumference_mm == 54
    assert ring.blank_length_mm == pytest.approx(54 + math.pi * 1.6 + 0.4 + 0.5)
