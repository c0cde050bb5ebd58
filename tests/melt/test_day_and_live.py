"""The day's order and its closing time; a heat followed reading by reading."""

from __future__ import annotations

import importlib
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from lemel import melt
from lemel.errors import BadInput
from lemel.tables import shipped
from lemel.values import Composition, Crucible, Saying
from lemel.words import remedy, say
from tests.melt import synthetic

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})
GOLD = Composition.from_millesimal({"Au": 750, "Ag": 125, "Cu": 125})


@pytest.fixture
def day(charge_of, furnace, pot):
    gold_pot = Crucible("Y pot", "yellow", "graphite", 30, 120)
    heats = (
        melt.DayHeat(
            melt.MeltProblem(charge_of(STERLING, ("S1", "casting", 250.0)), 957, furnace, pot),
            mould="plate", pours=2, wait_s=200, kiln_min=10, mill_min=40,
        ),
        melt.DayHeat(
            melt.MeltProblem(
                charge_of(STERLING, ("S5", "hollowware", 180.0), heat="M2"), 957, furnace, pot
            ),
            mould="bar",
        ),
        melt.DayHeat(
            melt.MeltProblem(
                charge_of(GOLD, ("G1", "casting", 80.0), heat="M3"), 955, furnace, gold_pot,
                None, "yellow",
            ),
            mould="bar",
        ),
    )  # fmt: skip
    return melt.DayProblem(furnace, heats, closes_min=18 * 60, opens_min=9 * 60)


def test_the_fire_is_lit_as_late_as_the_closing_time_allows(day):
    plan = melt.plan_day(day)
    assert plan.status == "feasible"
    assert plan.light_up_min == pytest.approx(plan.latest_light_up_min)
    assert max(e.end_min for e in plan.entries) == pytest.approx(18 * 60)
    assert plan.length_min > 120  # cool-down is watched


def test_no_place_does_two_things_at_once(day):
    plan = melt.plan_day(day)
    for place in ("furnace", "plate", "bar", "pickle", "kiln", "mill"):
        spans = sorted((e.start_min, e.end_min) for e in plan.entries if e.place == place)
        assert spans
        for (_, end), (start, _) in pairwise(spans):
            assert start >= end - 1e-9
    for entry in plan.entries:
        assert say(Saying(entry.code, {"heat": entry.heat}))


def test_one_pair_of_hands_does_one_thing_at_a_time(day):
    plan = melt.plan_day(day)
    assert plan.proven
    assert plan.length_min == pytest.approx(plan.least_min)
    busy = sorted((e.start_min, e.end_min) for e in plan.entries if e.hands)
    assert sum(end - start for start, end in busy) == pytest.approx(plan.hands_min)
    for (_, end), (start, _) in pairwise(busy):
        assert start >= end - 1e-9


def test_no_hand_comes_before_its_metal_is_ready(day):
    """The fire played again at the day's own moments has every bath ready by then.

    To one swing of the controller: a moment that differs in its last digit shifts the swing.
    """
    plan = melt.plan_day(day)
    fire_room = importlib.import_module("lemel.melt.day_fire")
    settle_room = importlib.import_module("lemel.melt.settle")
    heats = [
        settle_room.settle(one.problem, day.furnace, one.problem.crucible, shipped())[0]
        for one in day.heats
    ]
    at_fire = ("charge", "swap", "top_up", "pour", "pour_again")
    acts = [e for e in plan.entries if e.hands and e.code.removeprefix("melt.day.") in at_fire]
    starts = [e.start_min - plan.light_up_min for e in acts]
    pourings = [fire_room.Pouring(one.pours, one.wait_s) for one in day.heats]
    played = fire_room.play_day(heats, pourings, shipped(), starts)
    assert [one.code for one in played.acts] == [e.code for e in acts]
    for one, start, after in zip(played.acts, starts, starts[1:], strict=False):
        assert after >= start + one.minutes + one.lag_min - 0.25
    assert played.run.put_in_j / 3.6e6 == pytest.approx(plan.energy_kwh, rel=1e-3)


def test_a_busy_day_is_laid_out_too_and_says_whether_it_is_the_shortest(day):
    plan = melt.plan_day(replace(day, heats=day.heats * 2, opens_min=0))
    assert plan.status == "feasible"
    assert plan.least_min <= plan.length_min + 1e-9
    busy = sorted((e.start_min, e.end_min) for e in plan.entries if e.hands)
    assert all(b >= end - 1e-9 for (_, end), (b, _) in pairwise(busy))


def test_heats_are_put_by_family_then_owner_then_finest_first(day, charge_of):
    first, second, gold = day.heats
    bo = replace(second, problem=replace(second.problem, charge=replace(
        second.problem.charge, owner="bo", heat="M4")))  # fmt: skip
    fine = Composition.from_millesimal({"Ag": 999, "Cu": 1})
    finest = replace(first, problem=replace(
        first.problem, charge=charge_of(fine, ("F", "grain", 200.0), heat="M5")))  # fmt: skip
    ordered = melt.by_family((first, bo, gold, second, finest))
    assert [heat.name for heat in ordered] == ["M5", "M1", "M2", "M4", "M3"]
    assert melt.by_family(ordered) == ordered


def fire_minutes(plan, heat):
    """From the charge until the bath is stirred."""
    own = [e for e in plan.entries if e.heat == heat]
    charged = next(e.start_min for e in own if e.code == "melt.day.charge")
    return next(e.start_min for e in own if e.code == "melt.day.pour") - charged


def test_a_second_heat_from_hot_takes_a_fraction_of_the_first(day):
    plan = melt.plan_day(day)
    first, second, third = (fire_minutes(plan, heat) for heat in ("M1", "M2", "M3"))
    assert second < first / 2
    alone = sum(melt.do(one.problem).energy_kwh for one in day.heats)
    assert plan.energy_kwh < 0.85 * alone
    assert third < first


def test_every_pour_finds_its_mould_warm(day):
    plan = melt.plan_day(day)
    for mould in ("plate", "bar"):
        on_mould = [e for e in plan.entries if e.place == mould]
        assert [e.code for e in on_mould[:2]] == ["melt.day.set_mould", "melt.day.warm_mould"]
        assert on_mould[1].end_min - on_mould[1].start_min >= 25 - 1e-9
        assert on_mould[2].code == "melt.day.pour"
        assert on_mould[2].start_min == pytest.approx(on_mould[1].end_min)


def test_too_late_is_refused_with_what_still_fits(day):
    latest = melt.plan_day(day).latest_light_up_min
    assert melt.plan_day(replace(day, light_up_min=latest - 1)).status == "feasible"
    for over_min, code in ((5, "melt.day.lid_off"), (300, "melt.day.another")):
        plan = melt.plan_day(replace(day, light_up_min=latest + over_min))
        assert plan.status == "infeasible"
        told = plan.objections[-1]
        assert told.code == "melt.day.too_late"
        assert told.remedy.code == code
        assert say(told)
        assert remedy(told)


def test_a_long_day_is_offered_fewer_heats(charge_of, furnace, pot):
    one = melt.DayHeat(
        melt.MeltProblem(charge_of(STERLING, ("S", "casting", 250.0)), 957, furnace, pot),
        pours=3, wait_s=900,
    )  # fmt: skip
    many = melt.DayProblem(furnace, (one,) * 6, closes_min=14 * 60, light_up_min=9 * 60)
    plan = melt.plan_day(many)
    assert plan.status == "infeasible"
    assert plan.objections[-1].remedy.code == "melt.day.fewer"
    assert 1 <= plan.objections[-1].remedy.values["heats"] < 6


def test_owners_that_meet_in_a_pot_and_pots_that_come_back_are_named(day):
    first, second, third = day.heats
    other = replace(second.problem.charge, owner="bo")
    mixed = replace(second, problem=replace(second.problem, charge=other))
    plan = melt.plan_day(replace(day, heats=(first, third, mixed)))
    codes = [note.code for note in plan.notes]
    assert codes == ["melt.owner.wash", "melt.owner.own_dish", "melt.day.regroup"]
    for note in plan.notes:
        assert say(note)


def test_a_day_before_opening_is_not_planned(day):
    plan = melt.plan_day(replace(day, opens_min=17 * 60))
    assert plan.status == "infeasible"


def test_a_day_needs_heats_and_pots(day, charge_of, furnace):
    with pytest.raises(BadInput):
        melt.plan_day(replace(day, heats=()))
    potless = melt.DayHeat(melt.MeltProblem(charge_of(STERLING, ("S", "sheet", 90.0)), 957))
    with pytest.raises(BadInput) as told:
        melt.plan_day(replace(day, heats=(potless,)))
    assert "crucible" in told.value.field


def follow(model, truth, *, minutes=30, grams=250.0, seed=0, noise_k=3.0):
    """Readings once a minute from a furnace that the estimator does not know."""
    bath = melt.bath_of(STERLING)
    real = melt.Run(truth, bath, grams, setpoint_c=957)
    whole = melt.Run(truth, bath, grams, setpoint_c=957)
    whole.advance(4000, lambda _t, _d, b, f: f >= 0.999 and b >= 953)
    chance = np.random.default_rng(seed)
    live = melt.start_live(model, STERLING, grams, setpoint_c=957, pour_at_c=957)
    answers = []
    for _ in range(minutes):
        real.advance(60)
        if real.t_s >= whole.t_s:
            break
        live = live.read(real.t_s, real.display_c + noise_k * chance.standard_normal())
        answers.append((real.t_s, real.bath_c, live.answer()))
    return answers, whole.t_s, live


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_half_way_through_the_pour_is_foreseen_within_eight_percent(default_set, seed):
    model, _ = default_set
    truth = synthetic.truth_from_prior(model, np.random.default_rng(seed))
    answers, ready_s, _ = follow(model, truth, seed=seed)
    for t_s, _, answer in answers[len(answers) // 2 :]:
        assert answer.ready_in_s is not None
        assert t_s + answer.ready_in_s.middle == pytest.approx(ready_s, rel=0.08)
        assert answer.advice
        for said in answer.advice:
            assert say(said)


def test_readings_narrow_the_answer(default_set):
    model, _ = default_set
    truth = synthetic.truth_from_prior(model, np.random.default_rng(5))
    answers, _, _ = follow(model, truth, seed=5)
    widths = [a.ready_in_s.high - a.ready_in_s.low for _, _, a in answers if a.ready_in_s]
    assert widths[-2] < widths[0] / 2


def test_one_wild_reading_is_doubted(default_set):
    model, _ = default_set
    _, _, live = follow(model, model, minutes=8)
    doubted = live.read(live.run.t_s + 30, 1400)
    assert doubted.doubted
    assert "melt.live.odd" in [s.code for s in doubted.answer().advice]
    assert doubted.run.state[5].mean() == pytest.approx(live.run.state[5].mean(), abs=60)


def test_a_top_up_is_seen_in_the_bath_and_not_only_on_the_display(default_set):
    model, bath = default_set
    real = melt.Run(model, bath, 250.0, setpoint_c=957)
    live = melt.start_live(model, STERLING, 250, setpoint_c=957, pour_at_c=957)
    for _ in range(17):
        real.advance(60)
        live = live.read(real.t_s, real.display_c)
    now = live.answer()
    assert "melt.live.pour" in [s.code for s in now.advice]
    live = live.happened(melt.AddMetal(real.t_s, 150))
    after = live.answer()
    assert after.bath_c.middle < now.bath_c.middle - 80
    assert after.liquid.middle < 0.9
    assert "melt.live.part_frozen" in [s.code for s in after.advice]
    assert after.ready_in_s.middle > 30


def test_a_furnace_that_stands_still_is_noticed(default_set):
    model, bath = default_set
    real = melt.Run(model, bath, 250.0, setpoint_c=957)
    live = melt.start_live(model, STERLING, 250, setpoint_c=957, pour_at_c=957)
    seen = []
    for minute in range(16):
        if minute == 7:
            real.on = False
        real.advance(60)
        live = live.read(real.t_s, real.display_c)
        seen += [s.code for s in live.answer().advice]
    assert "melt.live.stuck" in seen


def test_lid_setpoint_switch_and_pour_are_followed(default_set):
    model, _ = default_set
    live = melt.start_live(model, STERLING, 250, setpoint_c=957, pour_at_c=957)
    live = live.happened(melt.LidOpen(60, float("inf")))
    assert live.run.lid_off
    live = live.lid_on(90).happened(melt.SetTo(100, 940)).happened(melt.PowerOff(120))
    assert not live.run.lid_off
    assert live.run.setpoint_c == 940
    assert live.answer().ready_in_s is None
    live = live.happened(melt.PourOut(130))
    assert live.run.mass_g == 0
    with pytest.raises(BadInput):
        live.read(50, 400)
    with pytest.raises(BadInput):
        live.read(200, 5000)


def test_fillings_to_come_are_counted_in_and_asked_for(default_set):
    model, bath = default_set
    real = melt.Run(model, bath, 150.0, setpoint_c=957)
    live = melt.start_live(model, STERLING, 150, setpoint_c=957, pour_at_c=957, top_ups_g=(100.0,))
    plain = melt.start_live(model, STERLING, 150, setpoint_c=957, pour_at_c=957)
    assert live.answer().ready_in_s.middle > plain.answer().ready_in_s.middle + 30
    foreseen_s, codes = [], []
    for minute in range(1, 25):
        real.advance(60)
        live = live.read(real.t_s, real.display_c)
        now = live.answer()
        codes = [s.code for s in now.advice]
        foreseen_s.append(real.t_s + now.ready_in_s.middle)
        if "melt.live.top_up" in codes:
            break
        assert "melt.live.wait_top_up" in codes, minute
    for said in live.answer().advice:
        assert say(said)
    live = live.happened(melt.AddMetal(real.t_s, 100))
    real.add(100, 20)
    real.advance(1800, lambda _t, _d, b, f: f >= 0.999 and b >= 953)
    assert foreseen_s[len(foreseen_s) // 2] == pytest.approx(real.t_s, abs=120)
    live = live.happened(melt.PourOut(real.t_s))
    assert [s.code for s in live.answer().advice] == ["melt.live.poured"]


def test_a_furnace_that_is_better_known_is_foreseen_in_a_narrower_band(default_set):
    model, _ = default_set
    sure = dict.fromkeys(melt.parameter_names(), 0.02)
    wide, narrow = (
        melt.start_live(model, STERLING, 250, setpoint_c=957, pour_at_c=957, ln_sd=sd).answer()
        for sd in (None, sure)
    )
    width = [one.ready_in_s.high - one.ready_in_s.low for one in (wide, narrow)]
    assert width[1] < width[0] / 2


def test_the_lines_of_a_log_are_followed_as_the_hands_wrote_them(default_set):
    model, _ = default_set
    live = melt.start_live(model, STERLING, 250, setpoint_c=957, pour_at_c=957)
    text = "minutes,display_c,event,amount\n1,70,,\n2,,lid_off,\n2.5,190,lid_on,\n"
    text += "3,,set,940\n4,,add,50\n5,,off,\n6,,pour,\n"
    faults = []
    for line in melt.log_lines(text.splitlines(), id="log", wrong=faults.append):
        live = live.follow(line)
        assert live.run.lid_off == (line.event == "lid_off")
    assert not faults
    assert live.run.setpoint_c == 940
    assert live.run.mass_g == 0
    assert [t for t, _ in live.readings] == [60, 150]


def test_a_wrong_line_is_told_and_left_out():
    text = ["minutes,display_c", "1,70", "2,hot", "0.5,80", "3,200"]
    faults = []
    lines = list(melt.log_lines(text, id="log", wrong=faults.append))
    assert [line.t_s for line in lines] == [60, 180]
    assert [fault.field for fault in faults] == ["log line 3.display_c", "log line 4.minutes"]


def test_too_hot_is_said(default_set):
    model, _ = default_set
    live = melt.start_live(model, STERLING, 250, setpoint_c=500, pour_at_c=957)
    for minute in range(1, 6):
        live = live.read(60 * minute, 120 * minute)
    assert "melt.live.too_hot" in [s.code for s in live.answer().advice]
