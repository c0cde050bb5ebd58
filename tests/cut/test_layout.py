"""Blanks on bars: who may be cut from what, remnants first, and masses that close."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lemel.cut import CutProblem, Layout, do, need
from lemel.errors import BadInput
from lemel.tables import shipped
from lemel.values import (
    Bar,
    BarFault,
    Blank,
    Composition,
    OrderLine,
    Origin,
    Outline,
    Quiet,
    Saw,
    Section,
    from_plain,
    to_plain,
)
from lemel.words import say

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})
OWN = Origin.of({"post_consumer": 1.0})


def bar(name: str, section: Section, length: float, kind: str = "stock", **more) -> Bar:
    mass = section.area_mm2 * length * 10.36 / 1000
    known = {"owner": "ada", "body": STERLING, "sd": 0.001, "origin": OWN, "soft_section": section}
    return Bar(name, kind=kind, section=section, length_mm=length, mass_g=mass, **{**known, **more})


def strip(name: str, length: float, width: float = 5.0) -> Blank:
    return Blank(
        name, Outline("strip", length, width), Section.flat(1.6, width), 1.0, grain="along"
    )


def wire(name: str, length: float) -> Blank:
    return Blank(name, Outline("strip", length, 1.0), Section.round(1.0), 1.0, grain="along")


def disc(name: str, size: float) -> Blank:
    return Blank(name, Outline("disc", size, size), Section.flat(1.6, size), 1.0)


def plate(name: str, length: float, width: float) -> Blank:
    return Blank(name, Outline("strip", length, width), Section.flat(1.6, width), 1.0)


def closes(found: Layout, stock: tuple[Bar, ...]) -> None:
    bars = {one.id: one for one in stock}
    for sheet in found.sheets:
        kept = sheet.rests_g
        pieces = sum(found.pieces_g[spot.piece] for spot in sheet.placements)
        total = pieces + kept + sheet.scrap_g + sheet.kerf_g
        assert total == pytest.approx(bars[sheet.bar].mass_g, rel=1e-9)
        assert min(kept, sheet.scrap_g, sheet.kerf_g) >= 0


def test_the_demo_bands_come_off_one_strip_with_the_end_kept():
    lines = tuple(
        OrderLine(f"O1.{n}", "O1", "ada", "ring", 1,
                  {"size": f"ISO {size}", "width_mm": 5, "thickness_mm": 1.6}, "UK Ag 925")
        for n, size in enumerate(range(50, 62, 2))
    )  # fmt: skip
    asked = need(lines, {"UK Ag 925": STERLING})
    strip_bar = bar("H1-a", Section.flat(1.6, 5.0), asked.stock[0].length_mm + 100)
    found = do(CutProblem(lines, asked.blanks, (strip_bar,)))
    assert (found.status, found.unplaced) == ("optimal", ())
    closes(found, (strip_bar,))
    remnant = found.sheets[0].remnant
    assert remnant is not None
    assert remnant.length_mm == pytest.approx(100 + 6 - 0.3, abs=0.15)
    assert sum(found.lines_g.values()) == pytest.approx(sum(found.pieces_g.values()))


def test_the_stock_that_was_asked_for_holds_the_blanks_of_every_kind():
    def line(name: str, what: str, count: int = 1, **sizes) -> OrderLine:
        return OrderLine(name, "O", "ada", what, count, sizes, "UK Ag 925")

    ell = "M0 0H20V5H5V20H0Z"
    lines = (
        line("ring", "ring", size="UK L", width_mm=12, thickness_mm=1.0),
        line("discs", "disc", 12, diameter_mm=28, thickness_mm=0.7),
        line("dome", "disc", 3, diameter_mm=20, thickness_mm=0.5, dome_height_mm=6),
        line("bangle", "bangle", inside_long_mm=62, inside_short_mm=52, width_mm=4,
             thickness_mm=2.2, profile="half-round"),
        line("rings", "jump_ring", 400, inside_diameter_mm=4, wire_diameter_mm=1),
        line("chain", "chain", inside_diameter_mm=3.2, wire_diameter_mm=0.8, length_mm=450),
        line("ells", "outline", 5, path_mm=ell, thickness_mm=0.9, grain="along"),
        line("plate", "outline", 2, length_mm=118, width_mm=22, thickness_mm=1.6),
        line("coil", "stock", section="round", diameter_mm=0.6, length_mm=12_000),
    )  # fmt: skip
    asked = need(lines, {"UK Ag 925": STERLING}, Saw("saw", 0.3, 1000))
    assert {name for stock in asked.stock for name in stock.pieces} == {one.id for one in lines}
    stock = []
    for one in asked.stock:
        length = one.length_mm or one.area_mm[0]
        stock.append(bar(one.id, one.section, length, promise_met="UK Ag 925"))
    found = do(CutProblem(lines, asked.blanks, tuple(stock), Saw("saw", 0.3, 1000)))
    assert found.unplaced == ()
    closes(found, tuple(stock))
    wanted = {blank.piece: blank.mass_g for blank in asked.blanks}
    assert found.pieces_g == pytest.approx(wanted, rel=0.01)


def test_remnants_come_before_new_stock_and_the_smallest_that_does_first():
    section = Section.flat(1.6, 40)
    stock = (
        bar("new", section, 500), bar("large", section, 200, "offcut"),
        bar("small", section, 45, "offcut"),
    )  # fmt: skip
    found = do(CutProblem((), (disc("a", 30),), stock))
    assert [sheet.bar for sheet in found.sheets] == ["small"]
    more = do(CutProblem((), tuple(disc(f"a/{n}", 30) for n in range(1, 4)), stock))
    assert [sheet.bar for sheet in more.sheets] == ["large"]


def test_wire_uses_up_remnants_before_the_coil():
    section = Section.round(1.0)
    stock = (bar("coil", section, 5000), bar("end", section, 130, "offcut"))
    found = do(CutProblem((), tuple(wire(f"w/{n}", 60) for n in range(1, 5)), stock))
    assert {sheet.bar: len(sheet.placements) for sheet in found.sheets} == {"coil": 2, "end": 2}
    closes(found, stock)


def test_a_remnant_inherits_owner_metal_promise_origin_and_names_its_parent():
    stock = bar("H3-a", Section.flat(1.6, 40), 300, promise_met="UK Ag 925", anneals=2)
    (sheet,) = do(CutProblem((), (disc("a", 30),), (stock,))).sheets
    rest = sheet.remnant
    assert rest is not None
    assert (rest.owner, rest.body, rest.sd) == ("ada", STERLING, stock.sd)
    assert (rest.promise_met, rest.origin, rest.anneals) == ("UK Ag 925", OWN, 2)
    assert (rest.kind, rest.parents, rest.id) == ("offcut", ("H3-a",), "H3-a-rest")
    assert rest.mass_g == pytest.approx(
        stock.mass_g * rest.length_mm * rest.section.width_mm / (300 * 40)
    )


def order(owner: str, standard: str = "UK Ag 925") -> OrderLine:
    return OrderLine("L", "O", owner, "disc", 1, {}, standard)


def test_nobody_elses_metal_is_cut_without_consent():
    hers = bar("hers", Section.flat(1.6, 40), 50, owner="bo")
    problem = CutProblem((order("ada"),), (disc("L", 30),), (hers,))
    refused = do(problem)
    assert refused.unplaced == ("L",)
    assert refused.objections[0].code == "cut.piece.no_stock"
    assert do(replace(problem, any_owner=True)).unplaced == ()


def test_a_bar_that_keeps_another_standard_does_not_serve():
    low = bar("low", Section.flat(1.6, 40), 50, promise_met="UK Ag 800")
    assert do(CutProblem((order("ada"),), (disc("L", 30),), (low,))).unplaced == ("L",)


def test_metal_of_a_doubtful_heat_is_not_cut_and_said_so():
    doubtful = bar("doubtful", Section.flat(1.6, 40), 50, suspect=True)
    found = do(CutProblem((), (disc("L", 30),), (doubtful,)))
    assert found.unplaced == ("L",)
    assert "cut.bar.suspect" in {objection.code for objection in found.objections}


@pytest.mark.parametrize("section", [Section.flat(1.5, 40), Section.round(1.6)])
def test_the_wrong_thickness_or_section_does_not_serve(section: Section):
    assert do(CutProblem((), (disc("L", 30),), (bar("b", section, 50),))).unplaced == ("L",)


def test_pieces_keep_clear_of_a_crack_and_the_crack_stays_with_the_remnant():
    cracked = bar("b", Section.round(1.0), 300, faults=(BarFault("crack", 100.0),))
    found = do(CutProblem((), (wire("w/1", 90), wire("w/2", 90)), (cracked,)))
    assert found.unplaced == ()
    for spot in found.sheets[0].placements:
        assert spot.x_mm >= 105 or spot.x_mm + spot.outline.length_mm <= 95
    late = bar("b", Section.flat(1.6, 40), 300, faults=(BarFault("crack", 200.0),))
    (sheet,) = do(CutProblem((), (disc("d", 30),), (late,))).sheets
    assert sheet.remnant is not None
    start = 300 - sheet.remnant.length_mm
    assert sheet.remnant.faults[0].place_mm == pytest.approx(200 - start)


def test_crop_and_pointed_end_are_cut_off_new_wire_only():
    new, old = bar("n", Section.round(1.0), 100), bar("o", Section.round(1.0), 100, "offcut")
    problem = CutProblem((), (wire("w", 80),), (new,), crop_mm=4, point_mm=15)
    assert do(problem).unplaced == ("w",)
    assert do(replace(problem, point_mm=0)).sheets[0].placements[0].x_mm == 4
    assert do(replace(problem, stock=(old,))).sheets[0].placements[0].x_mm == 0


def test_a_piece_longer_than_every_bar_is_named_with_a_way_out():
    found = do(CutProblem((), (wire("w", 500),), (bar("b", Section.round(1.0), 400),)))
    (objection,) = found.objections
    assert (found.status, objection.code) == ("infeasible", "cut.piece.bar_too_short")
    assert objection.remedy in found.ways_out


def test_a_band_longer_than_every_strip_is_named_by_its_length():
    band = OrderLine(
        "b", "O", "ada", "bangle", 1,
        {"inside_diameter_mm": 62, "width_mm": 5, "thickness_mm": 1.5}, "s",
    )  # fmt: skip
    blanks = need((band,), {"s": STERLING}).blanks
    found = do(CutProblem((), blanks, (bar("b", Section.flat(1.5, 5), 150),)))
    assert [o.code for o in found.objections] == ["cut.piece.bar_too_short"]
    assert found.objections[0].values["longest"].value == 150


def test_a_disc_wider_than_the_sheet_is_named_with_a_way_out():
    found = do(CutProblem((), (disc("d", 155),), (bar("b", Section.flat(1.6, 120), 400),)))
    assert found.objections[0].code == "cut.piece.sheet_too_narrow"
    assert {way.code for way in found.ways_out} == {"cut.piece.sheet_too_narrow.way"}


def test_a_sheet_that_is_just_wide_enough_is_called_the_least():
    asked = need((OrderLine("S", "O", "ada", "disc", 1, {"diameter_mm": 155, "thickness_mm": 0.9},
                            "UK Ag 925"),), {"UK Ag 925": STERLING})  # fmt: skip
    sheet = bar("s", asked.stock[0].section, asked.stock[0].area_mm[0])
    found = do(CutProblem((), asked.blanks, (sheet,)))
    assert found.status == "optimal"
    spot = found.sheets[0].placements[0]
    assert spot.x_mm >= 1
    assert spot.y_mm >= 1


def test_a_shear_cuts_straight_and_warns_for_fingers_and_thickness():
    stock = (bar("b", Section.flat(1.6, 80), 200),)
    blanks = tuple(plate(f"p/{n}", 30 + n, 20 + n) for n in range(1, 7))
    found = do(CutProblem((), blanks, stock, Saw("guillotine", 0.0, 60, straight_only=True)))
    codes = {caution.code for caution in found.cautions}
    assert {"cut.caution.shears", "cut.caution.too_thick_for_shears"} <= codes
    assert "cut.saw.short" in {objection.code for objection in found.objections}
    assert all(sheet.kerf_g == 0 for sheet in found.sheets)
    closes(found, stock)


def test_cautions_come_with_the_tool_and_the_stock():
    sawn = do(CutProblem((), (disc("d", 30),), (bar("b", Section.flat(1.6, 40), 50),)))
    drawn = do(
        CutProblem((), (replace(wire("w", 30), count=3),), (bar("b", Section.round(1.0), 50),))
    )
    assert "cut.caution.saw" in {caution.code for caution in sawn.cautions}
    assert {"cut.caution.wire_ends", "cut.caution.coil"} <= {c.code for c in drawn.cautions}
    assert all(caution.at == "cut" for caution in sawn.cautions)


def test_the_same_id_twice_or_nothing_to_cut_is_bad_input():
    stock = (bar("b", Section.flat(1.6, 40), 50),)
    with pytest.raises(BadInput):
        do(CutProblem((), (), stock))
    with pytest.raises(BadInput):
        do(CutProblem((), (disc("d", 3), disc("d", 4)), stock))
    with pytest.raises(BadInput):
        do(CutProblem((), (disc("d", 3),), stock * 2))


sizes = st.floats(8, 45)
shapes = st.one_of(
    st.builds(lambda a, b: ("plate", a, b), sizes, sizes),
    st.builds(lambda a: ("disc", a, a), sizes),
)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    st.lists(shapes, min_size=1, max_size=5),
    st.lists(st.tuples(st.floats(30, 90), st.floats(20, 60)), max_size=2),
    st.floats(0, 0.5),
    st.booleans(),
)
def test_mass_is_conserved_on_every_sheet(wanted, remnants, kerf, guillotine):
    blanks = tuple(
        disc(f"d/{n}", a) if kind == "disc" else plate(f"p/{n}", a, b)
        for n, (kind, a, b) in enumerate(wanted)
    )
    stock = tuple(
        bar(f"r{n}", Section.flat(1.6, width), length, "offcut")
        for n, (length, width) in enumerate(remnants)
    )
    stock += (bar("new", Section.flat(1.6, 60), 150),)
    found = do(CutProblem((), blanks, stock, Saw("saw", kerf, 999), guillotine=guillotine))
    closes(found, stock)
    placed = [spot.piece for sheet in found.sheets for spot in sheet.placements]
    assert sorted([*placed, *found.unplaced]) == sorted(blank.piece for blank in blanks)
    assert 0 <= found.use <= 1 + 1e-9
    if found.proof.cost is not None and found.proof.bound is not None:
        assert found.proof.bound <= found.proof.cost + 1e-9
        assert sum(found.pieces_g.values()) <= found.proof.cost + 1e-6


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.lists(st.floats(5, 80), min_size=1, max_size=7), st.floats(60, 300), st.floats(0, 0.5))
def test_mass_is_conserved_on_every_wire(lengths, longest, kerf):
    stock = (bar("a", Section.round(1.0), longest), bar("b", Section.round(1.0), 75, "offcut"))
    blanks = tuple(wire(f"w/{n}", size) for n, size in enumerate(lengths))
    found = do(CutProblem((), blanks, stock, Saw("saw", kerf, 999)))
    closes(found, stock)


def test_a_layout_is_plain_data_and_comes_back_exactly():
    stock = (bar("b", Section.flat(1.6, 40), 120),)
    found = do(CutProblem((), (disc("d", 30), plate("p", 20, 10)), stock))
    assert from_plain(Layout, to_plain(found)) == found


def test_everything_that_is_said_has_words():
    stock = (
        bar("b", Section.flat(1.6, 40), 120, faults=(BarFault("pits"),)),
        bar("s", Section.flat(1.6, 40), 120, suspect=True),
    )  # fmt: skip
    blanks = (disc("d", 30), disc("big", 99), wire("w", 10))
    found = do(CutProblem((), blanks, stock, Saw("shear", 0, 30, straight_only=True)))
    said = [*found.objections, *found.cautions, *found.explain, *found.ways_out]
    assert len({one.code for one in said}) > 10
    for one in said:
        assert say(one, strict=True)


def test_each_figure_of_the_room_names_a_listed_source():
    facts = shipped()
    for name in facts.names:
        if name.startswith("cut_"):
            for row in facts.rows(name):
                assert facts.source(row.source).title
    assert math.isclose(facts.row("cut_profiles", "half_round").number("neutral_share"), 0.424413)


class Impatient(Quiet):
    """Somebody who stops the work at once."""

    def cancelled(self) -> bool:
        return True


def test_stopped_at_once_it_still_gives_its_best_and_says_who_stopped_it():
    stock = (bar("b", Section.flat(1.6, 40), 120), bar("w", Section.round(1.0), 300))
    blanks = (disc("d", 20), plate("p", 20, 10), wire("w", 50))
    found = do(CutProblem((), blanks, stock), watch=Impatient())
    assert found.unplaced == ()
    assert found.proof.stopped_by == "user"
    closes(found, stock)


def boxes_of(sheet) -> list[tuple[float, float, float, float]]:
    made = []
    for spot in sheet.placements:
        along, across = spot.outline.length_mm, spot.outline.width_mm
        if spot.turned:
            along, across = across, along
        made.append((spot.x_mm, spot.y_mm, spot.x_mm + along, spot.y_mm + across))
    return made


def rests_of(sheet) -> list[tuple[float, float, float, float]]:
    return [
        (r.x_mm, r.y_mm, r.x_mm + r.bar.length_mm, r.y_mm + r.bar.section.width_mm)
        for r in sheet.rests
    ]


def test_the_notch_of_an_l_shaped_rest_is_kept_beside_the_end():
    stock = bar("H5-a", Section.flat(1.6, 60), 200, promise_met="UK Ag 925")
    found = do(CutProblem((), (plate("long", 118, 30), plate("short", 60, 25)), (stock,)))
    (sheet,) = found.sheets
    assert len(sheet.rests) >= 2
    closes(found, (stock,))
    assert sheet.rests[0].stamped
    assert sheet.rests[0].bar == sheet.remnant
    assert not any(rest.stamped for rest in sheet.rests[1:])
    assert [rest.bar.id for rest in sheet.rests[:2]] == ["H5-a-rest", "H5-a-rest2"]
    for rest in sheet.rests:
        assert (rest.bar.kind, rest.bar.parents) == ("offcut", ("H5-a",))
        assert rest.bar.promise_met == "UK Ag 925"
    assert {said.code for said in found.explain} >= {"cut.remnant.kept", "cut.remnant.more"}


sides = st.tuples(st.floats(15, 70), st.floats(15, 55))


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.lists(sides, min_size=1, max_size=6), st.booleans())
def test_rests_keep_clear_of_pieces_and_each_other_and_a_shear_can_part_them(sizes, shear):
    from lemel.cut.rests import straight

    stock = bar("b", Section.flat(1.6, 80), 260)
    blanks = tuple(plate(f"p{i}", a, b) for i, (a, b) in enumerate(sizes))
    saw = Saw("shear", 0.0, 200, True) if shear else Saw("saw", 0.3, 200)
    found = do(CutProblem((), blanks, (stock,), saw))
    closes(found, (stock,))
    for sheet in found.sheets:
        pieces, rests = boxes_of(sheet), rests_of(sheet)
        for i, rest in enumerate(rests):
            assert rest[0] >= -1e-9
            assert rest[1] >= -1e-9
            assert rest[2] <= 260 + 1e-9
            assert rest[3] <= 80 + 1e-9
            for other in (*pieces, *rests[:i]):
                across = min(rest[2], other[2]) - max(rest[0], other[0])
                along = min(rest[3], other[3]) - max(rest[1], other[1])
                assert min(across, along) <= -saw.kerf_mm + 1e-6
        if shear:
            assert straight([*pieces, *rests])
    assert found.proof.cost is not None
    assert found.proof.bound <= found.proof.cost + 1e-9


def test_what_is_kept_beside_the_remnant_is_not_counted_in_the_proof():
    stock = bar("b", Section.flat(1.6, 60), 200)
    found = do(CutProblem((), (plate("long", 118, 30), plate("short", 60, 25)), (stock,)))
    (sheet,) = found.sheets
    end = sheet.rests[0].bar.mass_g
    assert found.proof.cost == pytest.approx(stock.mass_g - end)
    assert found.use > sum(found.pieces_g.values()) / (stock.mass_g - end)
