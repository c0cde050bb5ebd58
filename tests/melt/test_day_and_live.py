"""The day's order and its closing time; a heat followed reading by reading."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from lemel import melt
from lemel.errors import BadInput
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
    assert plan.energy_kwh < 0.7 * alone
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


def test_too_hot_is_said(default_set):
    model, _ = default_set
    live = melt.start_live(model, STERLING, 250, setpoint_c=500, pour_at_c=957)
    for minute in range(1, 6):
        live = live.read(60 * minute, 120 * minute)
    assert "melt.live.too_hot" in [s.code for s in live.answer().advice]
