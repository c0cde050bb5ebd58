"""What a route promises: the metal is all accounted for and no step breaks a limit."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lemel.mill import Route
from lemel.values import DrawBench, DrawPlate, Section, Temper
from tests.mill.metals import (
    HALF_HARD,
    SOFT,
    STERLING,
    YELLOW_916,
    ingot,
    kit,
    plate,
    route,
    sheet,
    soft,
    strip,
    wire,
    wire_bar,
)

DENSITY = 10.36


def balance_g(found: Route) -> float:
    return sum(b.mass_g for b in (*found.stock, *found.offcuts)) + found.loss_g


CASES = {
    "sheet": lambda: (plate(), sheet(0.9, 250, 38)),
    "wire": lambda: (wire_bar(), wire(1.0, 3800)),
    "strip": lambda: (wire_bar(), strip(1.6, 5, 350)),
    "slit strip": lambda: (plate(), strip(1.2, 6, 300)),
    "half round": lambda: (wire_bar(), _half_round()),
    "button": lambda: (ingot(Section.round(13), 3.6, 8.5, YELLOW_916), strip(1.7, 3, 60)),
    "wire from plate": lambda: (plate(), wire(1.0, 3000, least_mm=300)),
}


def _half_round():  # type: ignore[no-untyped-def]
    section = Section.of("half_round", {"height": 2.2, "width": 4})
    return replace(strip(2.2, 4, 210), section=section)


@pytest.mark.parametrize("case", CASES)
def test_mass_in_is_stock_and_offcuts_and_loss(case):
    bar, need = CASES[case]()
    found = route(bar, need)
    assert found.status == "optimal", found.objections
    assert balance_g(found) == pytest.approx(bar.mass_g, rel=1e-12)
    assert found.loss_g >= 0


@pytest.mark.parametrize("case", CASES)
def test_volume_is_constant_from_step_to_step(case):
    bar, need = CASES[case]()
    found = route(bar, need)
    volume = None
    for step in found.steps:
        now = step.section.area_mm2 * step.length_mm
        if step.tool in ("cut", "file") or volume is None:
            volume = now
        assert now == pytest.approx(volume, rel=1e-9), step


@pytest.mark.parametrize("case", CASES)
def test_the_stock_serves_the_need(case):
    bar, need = CASES[case]()
    found = route(bar, need)
    made = found.stock[0]
    if need.area_mm is not None:
        assert min(made.section.width_mm, made.length_mm) >= min(need.area_mm) - 1e-6
        assert max(made.section.width_mm, made.length_mm) >= max(need.area_mm) - 1e-6
    else:
        assert sum(one.length_mm for one in found.stock) >= need.length_mm
        assert made.section.width_mm >= need.section.width_mm * 0.98
    assert abs(made.section.thickness_mm - need.section.thickness_mm) <= need.tolerance_mm
    assert made.parents == (bar.id,)
    assert made.origin == bar.origin


def test_no_leg_strains_the_metal_beyond_its_limit():
    found = route(wire_bar(), wire(0.6, 9000))
    first_anneal = next(s.n for s in found.steps if s.tool == "anneal")
    assert all(s.strain <= 0.5 + 1e-9 for s in found.steps if s.n < first_anneal)
    assert all(s.strain <= 1.0 + 1e-9 for s in found.steps)
    assert found.anneals == sum(s.tool == "anneal" for s in found.steps)


def test_the_easy_route_keeps_to_the_comfortable_load():
    found = route(plate(), sheet(0.9, 250, 38))
    assert max(s.torque_nm for s in found.steps) <= 268 * 0.6 + 1e-6
    assert {s.effort for s in found.steps} <= {"easy", "firm"}
    assert found.fewest < found.passes


def test_full_load_is_work_for_two_hands():
    found = route(plate(), sheet(0.9, 250, 38), variant="fewest")
    assert "two_hands" in {s.effort for s in found.steps}
    assert found.passes == found.fewest


def test_soft_stock_is_annealed_last():
    found = route(wire_bar(), wire(1.0, 3800, SOFT))
    worked = [s for s in found.steps if s.tool != "crop"]
    assert worked[-1].tool == "anneal"
    assert found.stock[0].soft_section == found.stock[0].section


def test_half_hard_sheet_ends_inside_its_window():
    found = route(plate(), sheet(0.9, 250, 38, HALF_HARD))
    assert 0.20 - 1e-6 <= found.steps[-1].strain <= 0.27 + 1e-6


def test_a_hardness_band_is_kept():
    found = route(plate(), sheet(0.9, 250, 38, Temper("hv", 95, 105)))
    assert 95 - 0.1 <= found.steps[-1].hv <= 105 + 0.1


def test_stock_that_is_there_needs_no_work():
    bar = soft(Section.round(1.0), 7900, 64.3)
    found = route(bar, wire(1.0, 5000, SOFT))
    assert (found.passes, found.anneals, found.steps) == (0, 0, ())
    assert found.stock[0].mass_g == pytest.approx(64.3)


def test_wire_of_unknown_history_is_annealed_before_it_is_drawn():
    from dataclasses import replace

    bar = replace(soft(Section.round(1.0), 7900, 64.3), soft_section=None, kind="stock")
    found = route(bar, wire(0.8, 5000))
    assert found.steps[0].tool == "anneal"


def test_a_half_worked_bar_goes_on_from_where_it_is():
    bar = soft(Section.square(3.0, 0.97), 360, 32.6)
    found = route(bar, wire(1.0, 3500))
    assert all(s.section.thickness_mm <= 3.0 for s in found.steps)
    assert found.passes < route(wire_bar(), wire(1.0, 3500)).passes


def test_a_wide_salver_is_beaten_out_where_the_metal_allows():
    bar = ingot(Section.round(52), 9.3, 205)
    found = route(bar, sheet(0.9, 157, 157, disc_mm=155))
    assert found.status == "optimal"
    assert "hammer" in {s.tool for s in found.steps}
    assert found.stock[0].length_mm >= 155


def test_a_sheet_wider_than_the_barrel_is_hammered_where_the_metal_allows():
    bar = ingot(Section.flat(8, 90), 60, 8 * 90 * 60 * DENSITY / 1000)
    found = route(bar, sheet(0.9, 157, 157))
    assert {"flats", "hammer"} <= {s.tool for s in found.steps}
    assert all(s.width_mm <= 110 for s in found.steps if s.tool == "flats")
    note = next(o for o in found.objections if o.code == "mill.sheet.wider_than_barrel")
    assert note.grade == "note"
    assert note.remedy is not None
    assert note.remedy.code == "mill.way.narrower_sheets"


def test_a_thin_sheet_wider_than_the_barrel_is_refused_with_ways_out():
    bar = ingot(Section.flat(6, 90), 60, 6 * 90 * 60 * DENSITY / 1000)
    found = route(bar, sheet(0.4, 157, 157))
    assert found.status == "infeasible"
    assert found.objections[0].code == "mill.sheet.wider_than_barrel"
    assert len(found.ways_out) >= 2


def test_a_light_bar_is_refused_with_what_is_missing():
    found = route(wire_bar(), wire(0.6, 12000))
    assert [o.code for o in found.objections] == ["mill.bar.too_light"]
    assert found.objections[0].values["short"].value == pytest.approx(1.9, abs=0.4)
    assert found.ways_out


def test_a_short_bar_may_be_taken_for_what_it_gives():
    found = route(wire_bar(), wire(0.6, 12000), accept_short=True)
    assert found.status == "optimal"
    assert 0.9 < found.serves < 1


def test_a_missing_hole_is_named_with_the_next_ones():
    found = route(wire_bar(), wire(0.93, 1000), kit())
    assert route(wire_bar(), wire(7.2, 10)).objections[0].code == "mill.bar.too_thin"
    assert found.status == "optimal"
    assert route(wire_bar(), wire(0.42, 1000)).objections[0].code == "mill.hole.missing"


def _small_plate(*holes: float, pull_n: float = 3000):  # type: ignore[no-untyped-def]
    plates = (DrawPlate("small plate", tuple(Section.round(d) for d in holes)),)
    return replace(kit(), drawplates=plates, drawbenches=(DrawBench("bench", pull_n, 30_000),))


def test_a_gap_in_the_plate_is_named_with_the_hole_that_closes_it():
    """A button is forged until the grooves take it; the plate then begins too fine."""
    button, need = ingot(Section.round(30), 6, 43.5), wire(2.0, 300)
    found = route(button, need, _small_plate(2.0, 1.9))
    assert [o.code for o in found.objections] == ["mill.hole.too_far"]
    first = found.ways_out[0].values["first"].value
    assert route(button, need, _small_plate(first, 2.0, 1.9)).status == "optimal"


def test_a_pull_that_is_too_weak_is_named_with_the_pull_that_does_it():
    bar, need, holes = ingot(Section.square(6), 90, 33.6), wire(2.0, 300), (2.25, 2.0)
    found = route(bar, need, _small_plate(*holes, pull_n=200))
    assert [o.code for o in found.objections] == ["mill.hole.pull"]
    force = found.ways_out[0].values["force"].value
    assert 200 < force < 1000
    assert route(bar, need, _small_plate(*holes, pull_n=2 * force)).status == "optimal"


def test_a_plate_is_cut_into_wider_bars_where_square_ones_come_out_short():
    bar = soft(Section.flat(3, 40), 80, 99.4)
    found = route(bar, wire(1.5, 400))
    assert found.status == "optimal"
    assert found.stock[0].length_mm >= 400
    assert found.steps[0].note.code == "mill.note.cut_slit_one"
    assert balance_g(found) == pytest.approx(bar.mass_g, rel=1e-12)


def test_thin_sheet_is_refused_with_the_least_gauge():
    found = route(plate(), sheet(0.1, 60, 38))
    assert found.objections[0].code == "mill.sheet.below_least_gauge"
    assert found.ways_out


def test_a_temper_that_needs_a_thicker_start_says_how_thick():
    bar = soft(Section.flat(1.0, 40), 100, 41.4)
    found = route(bar, sheet(0.9, 80, 36, HALF_HARD))
    assert found.objections[0].code == "mill.temper.thicker_start"
    assert found.objections[0].values["start"].value == pytest.approx(0.9 * 2.71828**0.2, rel=1e-3)


def test_without_a_mill_the_hammer_does_it():
    from lemel.mill import MillKit

    found = route(ingot(Section.round(22), 5, 28), sheet(0.9, 40, 25), MillKit())
    assert found.status == "optimal"
    assert {s.tool for s in found.steps} <= {"file", "hammer", "anneal", "trim", "turn"}


def test_each_answer_has_words():
    from lemel.words import say

    for case in CASES.values():
        found = route(*case())
        for step in found.steps:
            if step.note is not None:
                assert say(step.note)
        for caution in found.cautions:
            assert say(caution)
    assert STERLING.share("Ag") == 0.925


def test_stock_within_its_tolerance_is_left_alone():
    bar = soft(Section.flat(1.58, 40), 150, 98)
    found = route(bar, strip(1.6, 5, 140))
    assert found.status == "optimal"
    assert found.passes == 0
    assert [s.tool for s in found.steps] == ["cut"]


@pytest.mark.parametrize("changes", [{"pace": 0}, {"mesh": 0.9}, {"variant": "hard"}])
def test_a_figure_that_cannot_be_is_refused(changes):
    from lemel.errors import BadInput

    with pytest.raises(BadInput):
        route(plate(), sheet(0.9, 250, 38), **changes)


def test_grooves_of_a_mill_that_is_not_there_are_refused():
    from dataclasses import replace

    from lemel.errors import BadInput

    with pytest.raises(BadInput, match="mill"):
        route(plate(), sheet(0.9, 250, 38), replace(kit(), mills=()))


def test_a_salver_is_rolled_as_wide_as_it_goes_before_it_is_beaten():
    bar = ingot(Section.flat(6, 60), 70, 261)
    found = route(bar, sheet(0.9, 157, 157, disc_mm=155))
    tools = [s.tool for s in found.steps]
    assert tools.index("flats") < tools.index("cut") < tools.index("hammer")
    assert max(s.width_mm for s in found.steps if s.tool == "flats") <= 110
    assert balance_g(found) == pytest.approx(261, rel=1e-12)
    assert found.stock[0].section.width_mm >= 155


def test_faults_are_cut_away_before_the_first_pass():
    from dataclasses import replace

    from lemel.values import BarFault

    sound = route(plate(), sheet(0.9, 180, 36))
    piped = replace(plate(), faults=(BarFault("pipe"), BarFault("pits", depth_mm=0.2)))
    found = route(piped, sheet(0.9, 180, 36))
    assert [s.tool for s in found.steps[:2]] == ["crop", "file"]
    assert {o.code for o in found.objections} >= {"mill.fault.pipe", "mill.fault.pits"}
    assert balance_g(found) == pytest.approx(166, rel=1e-12)
    assert found.loss_g > sound.loss_g
    assert found.steps[2].section.thickness_mm < 4.8


def test_the_first_passes_on_a_casting_are_gentle():
    found = route(wire_bar(), wire(1.0, 3000))
    before = 36.0
    for step in found.steps:
        if step.tool == "anneal":
            break
        if step.tool == "groove":
            each = 1 - (step.section.area_mm2 / before) ** (1 / step.passes)
            assert each <= 0.10 + 1e-6
            before = step.section.area_mm2
