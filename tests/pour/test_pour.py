"""Moulds, fill and chill: the bench's own numbers, conservation, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lemel import melt, metal, pour
from lemel.errors import BadInput
from lemel.tables import shipped
from lemel.values import (
    Charge,
    ChargeLine,
    Composition,
    Crucible,
    Figure,
    Furnace,
    IngotNeed,
    Mould,
    Section,
)
from lemel.words import remedy, say

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})
GOLD18 = Composition.from_millesimal({"Au": 750, "Ag": 125, "Cu": 125})
PLATE = Mould("plate 40 x 80 x 5", "plate", Section.flat(5, 40), 80, 2000)
BAR = Mould("bar 6 x 6 x 90", "bar", Section.square(6), 90, 1500)


def need(low_g, high_g=None, count=1, sections=()):
    return IngotNeed("N", (low_g, high_g or low_g), count, "ada", "UK Ag 925", "silver", sections)


def problem(mass_g, mould=PLATE, **more):
    return pour.PourProblem("M1", "ada", STERLING, 0.0006, mass_g, more.pop("bath_c", 957.0), mould,
                            **more)  # fmt: skip


def test_the_plate_holds_about_166_grams_and_347_are_three_pours():
    best = pour.need(need(347, 520), (PLATE,), STERLING).choices[0]
    assert best.holds_g == pytest.approx(166, abs=1)
    assert best.pours == 3
    assert best.verdict == "split"


def test_a_bar_of_6_x_6_x_90_is_33_6_grams_and_too_light_for_35_2():
    best = pour.need(need(35.2), (BAR,), STERLING).choices[0]
    assert best.holds_g == pytest.approx(33.6, abs=0.1)
    assert best.full_g < best.holds_g < 35.2
    assert best.bars == 2


def test_less_than_the_least_bar_is_a_button_and_never_a_refusal():
    gold = GOLD18
    found = pour.need(need(7.5, 8.0), (PLATE, BAR), gold)
    assert found.choices[0].mould == pour.BUTTON
    assert found.choices[0].ingot.section.kind == "round"
    assert {o.code for o in found.objections} == {"pour.mould.too_big"}
    made = pour.do(
        pour.PourProblem("M4", "ada", gold, 0.001, 8.0, found.choices[0].pour_at_c, None)
    )
    assert made.verdict == "sound"
    assert made.castings[0].bar.mass_g == pytest.approx(7.95, abs=0.001)


def test_sterling_leaves_the_fire_between_950_and_960():
    for mould in (PLATE, BAR):
        for grams in (40, 150, 400):
            heat = pour.pour_heat(STERLING, mould, grams)
            assert 950 <= heat.bath_c <= 960
            assert 40 <= heat.bath_c - heat.liquidus_c <= 75


def test_what_the_pour_says_is_what_a_bench_furnace_is_set_to():
    line = ChargeLine("S1", "lot", "sheet", 200.0, STERLING)
    charge = Charge("M1", "ada", (line,), STERLING, 0.0006, 0.925, (199.4, 0.1))
    choice = pour.need(need(150, 170), (PLATE,), STERLING).choices[0]
    pot = Crucible("pot", "silver", "graphite", 110, 280)
    plan = melt.do(melt.MeltProblem(charge, choice.pour_at_c, Furnace("f", 1200, 1100), pot))
    assert plan.setpoint_band_c == (950.0, 960.0)


masses = st.floats(3, 900)
moulds = st.sampled_from([*pour.mould_library(), PLATE, BAR])


@given(masses, moulds, st.integers(1, 6), st.sampled_from([None, 0.0, 1.5]))
def test_nothing_is_lost_in_the_pour(mass_g, mould, wanted, skin_g):
    plan = pour.do(problem(mass_g, mould, ingots_wanted=wanted, crucible_skin_g=skin_g))
    bars = sum(casting.bar.mass_g for casting in plan.castings)
    feeders = sum(casting.feeder_g for casting in plan.castings)
    assert bars + feeders + plan.rest_g + plan.residue_g == pytest.approx(mass_g, rel=1e-9)
    assert plan.rest_g >= 0
    density = metal.density_g_cm3(STERLING)
    for casting in plan.castings:
        bar = casting.bar
        volume = bar.section.area_mm2 * bar.length_mm / 1000
        assert volume * density == pytest.approx(bar.mass_g, rel=1e-9)
        assert bar.kind == "ingot"
        assert bar.soft_section is None
        held = pour.cavity(mould, STERLING)
        assert held.least_g - 1e-9 <= bar.mass_g <= held.full_g + 1e-9


@given(st.floats(2, 800), st.integers(1, 4))
def test_every_choice_serves_its_need(low_g, count):
    wanted = need(low_g, low_g * 1.4, count)
    found = pour.need(wanted, (PLATE, BAR, *pour.mould_library()[::3]), STERLING)
    assert found.choices or any(o.grade == "stop" for o in found.objections)
    for choice in found.choices:
        each = choice.ingot.mass_g * choice.bars / count
        assert each >= low_g - 1e-6
        if choice.verdict not in ("split", "button"):
            assert choice.ingot.mass_g <= low_g * 1.4 + 1e-6
        assert choice.total_g >= choice.bars * (choice.ingot.mass_g + choice.feeder_g)


def test_a_need_with_sections_gets_only_moulds_of_that_kind():
    found = pour.need(need(25, 40, sections=(Section.square(5),)), (PLATE, BAR), STERLING)
    assert [c.mould for c in found.choices] == [BAR.id]
    assert "pour.mould.section" in [o.code for o in found.objections]


def test_the_cold_bar_is_smaller_than_the_mould_by_its_contraction():
    section, length_mm = pour.cold_bar(BAR, STERLING, 1000)
    assert section.dim("side") == pytest.approx(5.90, abs=0.01)
    assert length_mm < 90
    held = pour.cavity(BAR, STERLING)
    assert 0.04 < held.holds_g / held.full_g - 1 < 0.06


def test_an_open_trough_fills_to_less_depth_and_an_adjustable_plate_is_set_narrower():
    trough = Mould("t", "open", Section.flat(10, 20), 100, 1000)
    section, length_mm = pour.cold_bar(trough, STERLING, 0.5 * pour.cavity(trough, STERLING).full_g)
    assert section.dim("thickness") == pytest.approx(4.92, abs=0.05)
    assert length_mm > 97
    slide = Mould("s", "adjustable", Section.flat(4, 60), 80, 2000)
    section, length_mm = pour.cold_bar(slide, STERLING, 0.5 * pour.cavity(slide, STERLING).full_g)
    assert section.dim("width") == pytest.approx(29.5, abs=0.2)
    assert length_mm > 78


@pytest.mark.parametrize(
    ("more", "verdict", "code"),
    [
        ({"bath_c": 905.0}, "cold", "pour.bath.cold"),
        ({"bath_c": 1050.0}, "hot", "pour.bath.hot"),
        ({"mould_c": 20.0}, "cold", "pour.mould.damp"),
        ({"mould_c": 320.0}, "hot", "pour.mould.hot"),
        ({"mass_g": 30.0}, "short", "pour.metal.below_least"),
        ({"mass_g": 120.0}, "short", "pour.metal.short"),
    ],
)
def test_a_poor_pour_says_why_with_the_number_and_the_way_out(more, verdict, code):
    plan = pour.do(problem(more.pop("mass_g", 200.0), **more))
    assert plan.verdict == verdict
    told = next(o for o in plan.objections if o.code == code)
    assert any(character.isdigit() for character in say(told))
    assert remedy(told)


def test_a_plate_too_thin_is_refused_and_a_hesitant_one_asked_about():
    thin = Mould("thin", "plate", Section.flat(2, 40), 80, 2000)
    assert pour.do(problem(90, thin)).verdict == "thin"
    assert pour.need(need(40, 60), (thin,), STERLING).choices[0].mould != "thin"
    bare = Figure(4000.0, "W/m2K", "measured")
    wide = Mould("wide", "plate", Section.flat(2.6, 90), 80, 2500, h_w_m2k=bare, coating="")
    assert "pour.mould.misrun" in [o.code for o in pour.do(problem(220, wide)).objections]


def test_a_thin_plate_wants_more_superheat_and_an_open_trough_less():
    plate3 = Mould("p3", "plate", Section.flat(3, 40), 80, 2000)
    trough = Mould("t", "open", Section.flat(10, 20), 100, 1000)
    heats = [pour.pour_heat(STERLING, m, 150).bath_c for m in (trough, BAR, plate3)]
    assert heats == sorted(heats)
    assert heats[2] - heats[0] == pytest.approx(25, abs=2)


def test_more_metal_than_the_mould_takes_is_said_and_kept():
    plan = pour.do(problem(347.0))
    assert len(plan.castings) == 1
    told = next(o for o in plan.objections if o.code == "pour.metal.left")
    assert told.values["rest"].value == pytest.approx(plan.rest_g)
    assert plan.rest_g > 100


def test_few_channels_can_be_filled_from_one_lift_out():
    many = Mould("five", "bar", Section.square(5), 100, 2000, channels=5)
    plan = pour.do(problem(200, many, ingots_wanted=5))
    assert plan.per_lift_out in (2, 3)  # 17 to 19 s in hand; two channels, three at most
    assert "pour.lift_out.too_many" in [o.code for o in plan.objections]


def test_rise_of_the_mould_is_about_33_kelvin_per_100_grams_in_two_kilograms():
    for grams in (50, 100, 200, 300):
        even = pour.mould_equilibrium_c(PLATE, STERLING, grams, 940, 120)
        assert even - 120 == pytest.approx(0.33 * grams, rel=0.2)
        curve = metal.heat_curve(STERLING)
        given_j = grams * (curve.enthalpy_at(940) - curve.enthalpy_at(even))
        assert given_j == pytest.approx(2000 * 0.46 * (even - 120), rel=1e-6)


def test_a_mould_comes_down_slower_the_colder_it_is_wanted():
    waits = [pour.mould_wait_s(PLATE, 250, to_c) for to_c in (200, 180, 150, 120)]
    assert waits == sorted(waits)
    assert waits[2] == pytest.approx(710, rel=0.1)
    whole = pour.mould_wait_s(PLATE, 250, 180) + pour.mould_wait_s(PLATE, 180, 150)
    assert whole == pytest.approx(waits[2], rel=1e-3)


def test_a_heavy_mould_takes_longer_to_warm_and_a_warm_one_nothing():
    heavy = Mould("h", "plate", Section.flat(5, 40), 80, 3000)
    assert 15 < pour.warm_up_min(PLATE, 150) < pour.warm_up_min(heavy, 150) < 45
    assert pour.warm_up_min(PLATE, 150, from_c=180) == 0
    assert pour.do(problem(190)).preheat_min == pytest.approx(pour.warm_up_min(PLATE, 150))


def test_cautions_stand_at_their_step_and_every_one_has_words():
    plan = pour.do(problem(190.0))
    codes = [c.code for c in plan.cautions]
    assert {"pour.care.mould_dry", "pour.care.spill", "pour.care.oil"} <= set(codes)
    assert {c.at for c in plan.cautions} == {"pour", "cool"}
    for said in (*plan.cautions, *plan.objections, *plan.explain, *plan.rehearse):
        assert say(said)


@pytest.mark.parametrize(
    ("more", "field"),
    [({"mass_g": 0.0}, "mass_g"), ({"ingots_wanted": 0}, "ingots_wanted"),
     ({"bath_c": 5.0}, "bath_c"), ({"mould_c": 2000.0}, "mould_c")],
)  # fmt: skip
def test_impossible_figures_are_sent_back(more, field):
    with pytest.raises(BadInput) as told:
        pour.do(problem(more.pop("mass_g", 100.0), **more))
    assert told.value.field == field


def test_freezing_time_is_that_of_the_joint():
    assert pour.biot(BAR, STERLING) < 0.1
    slow = pour.freeze_time_s(BAR, STERLING, 940, 150, surface_rise=False)
    assert slow == pytest.approx(1.5, rel=0.1)
    assert pour.freeze_time_s(BAR, STERLING, 940, 150) > slow
    assert pour.freeze_time_s(BAR, STERLING, 940, 200) > pour.freeze_time_s(BAR, STERLING, 940, 20)
    rate = pour.least_pour_rate_g_s(BAR, STERLING, 940, 150)
    full = pour.cavity(BAR, STERLING).full_g
    assert rate == pytest.approx(full / (0.6 * pour.freeze_time_s(BAR, STERLING, 940, 150)))


def test_a_pure_metal_runs_further_than_an_alloy_of_the_same_heat():
    fine = Composition.pure("Ag")
    top = metal.melting(fine).liquidus_c + 50
    alloy_top = metal.melting(STERLING).liquidus_c + 50
    assert pour.run_length_mm(BAR, fine, top, 150) > 1.5 * pour.run_length_mm(
        BAR, STERLING, alloy_top, 150
    )


def test_graphite_of_a_hot_pot_is_the_same_in_both_rooms():
    hot = shipped().row("pour_pot", "graphite").number("c_hot_j_gk")
    assert melt.graphite_j_gk(950) == pytest.approx(hot, rel=0.01)


def test_the_library_holds_sound_moulds_only():
    assert len(pour.mould_library()) >= 12
    for mould in pour.mould_library():
        held = pour.cavity(mould, STERLING)
        assert 0 < held.least_g < held.full_g < held.holds_g
