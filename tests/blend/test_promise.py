"""The staircase, evidence, courses, explanations and the hand check."""

from __future__ import annotations

import dataclasses
import itertools
import json
import math
from pathlib import Path
from statistics import NormalDist

import numpy as np
import pytest

from lemel import blend
from lemel.blend.charge import Charged
from lemel.blend.explain import margin_shares
from lemel.blend.hold import mean_shortfall, tangents
from lemel.words import codes, say

from .conftest import make_heat, make_lot, make_problem

FOLDER = Path(__file__).parent / "instances"
ONE = blend.from_instance(json.loads((FOLDER / "open_01.json").read_text()))


@pytest.fixture(scope="module")
def answer():
    return blend.do(ONE)


@pytest.mark.outside
def test_the_promise_of_the_first_instance_costs_a_staircase():
    # Solved again at each level by an independent prototype with two solvers.
    stairs = blend.staircase(ONE)
    assert [s.cost for s in stairs] == pytest.approx(
        [130.01, 130.42, 130.53, 133.09, 133.17, 133.32], abs=0.012
    )
    assert stairs[0].extra == 0
    assert stairs[3].tied_fine_g == pytest.approx(0.685, abs=0.01)


@pytest.mark.outside
def test_lots_left_out_of_the_first_instance_say_their_price(answer):
    # The same prototype: L-007 +0.12, L-002 +10.04, L-006 in no plan at all.
    said = {s.values["lot"]: s for s in answer.explain if "lot_left_out" in s.code}
    assert said["L-006"].code == "blend.lot_left_out.impossible"
    assert said["L-007"].values["extra"].value == pytest.approx(0.12, abs=0.03)
    assert said["L-002"].values["extra"].value == pytest.approx(10.04, abs=0.04)
    assert said["L-002"].code == "blend.lot_left_out.poor"


def test_a_binding_limit_tells_the_price_of_a_small_change(answer):
    said = {s.code: s.values["price"].value for s in answer.explain if "binding" in s.code}
    heat = ONE.heats[0]
    more = dataclasses.replace(
        ONE,
        heats=(dataclasses.replace(heat, least_g=heat.least_g + 0.02),),
        options=blend.BlendOptions(explain=False, balance_step_g=0, gap=1e-7),
    )
    exact = dataclasses.replace(ONE, options=more.options)
    step = (blend.do(more).cost - blend.do(exact).cost) / 0.02
    assert said["blend.binding.mass_least"] == pytest.approx(step, rel=0.02)


def test_margins_by_lot_sum_to_the_whole_margin(answer):
    place = {lot.id: i for i, lot in enumerate(ONE.lots)}
    metals = {a.id: k for k, a in enumerate(ONE.additions)}
    heat = answer.heats[0]
    charged = Charged(
        0,
        {place[name]: grams for name, grams in heat.lots.items()},
        {metals[name]: grams for name, grams in heat.additions.items()},
    )
    margin = NormalDist().inv_cdf(0.99) * heat.sd * heat.poured_g
    assert math.fsum(margin_shares(ONE, charged).values()) == pytest.approx(margin, rel=1e-9)


def test_the_dearest_doubt_is_worth_assaying_first(answer):
    values = blend.evidence(ONE, answer, fee=0.5)
    assert values[0].lot == "L-003"
    assert values[0].net == pytest.approx(values[0].saving - 0.5)
    assert all(a.net >= b.net for a, b in itertools.pairwise(values))


def test_every_saying_of_the_room_has_words(answer):
    seven, four = (
        blend.do(blend.from_instance(json.loads((FOLDER / f"open_{n}.json").read_text())))
        for n in ("07", "04")
    )
    melt = blend.Melt("pot", "Ag", 100, 0.92443, 0.000764, 0.925, lower_standards={"800": 0.8})
    spoken = [
        *answer.explain, *seven.explain, *four.explain, *blend.hand_check(ONE, answer),
        *blend.correct(melt, ONE.additions).explain, *blend.correct(melt, ()).explain,
    ]  # fmt: skip
    for one in spoken:
        assert say(one, strict=True)
    assert any(code.startswith("blend.heal.") for code in codes())


def test_the_hand_check_reckons_the_same_addition(answer):
    lever = next(s for s in blend.hand_check(ONE, answer) if s.code == "blend.hand.lever")
    grain = answer.heats[0].additions["grain-fine"]
    assert lever.values["grams"].value == pytest.approx(grain, abs=1e-6)
    lines = [s for s in blend.hand_check(ONE, answer) if s.code == "blend.hand.line"]
    total = next(s for s in blend.hand_check(ONE, answer) if s.code == "blend.hand.sum")
    assert math.fsum(s.values["fine"].value for s in lines) == pytest.approx(
        total.values["fine"].value
    )


def test_the_mean_shortfall_agrees_with_a_simulation():
    draws = np.random.default_rng(7).standard_normal(400_000)
    for surplus, spread in ((0.0, 1.0), (1.5, 1.0), (-0.7, 0.4), (2.0, 3.0)):
        simulated = np.maximum(0.0, -surplus - spread * draws).mean()
        assert mean_shortfall(surplus, spread) == pytest.approx(simulated, abs=0.01)
        below = max(a * spread - b * surplus for a, b in tangents())
        assert below <= mean_shortfall(surplus, spread) + 1e-12
        assert below == pytest.approx(mean_shortfall(surplus, spread), abs=0.002 * spread)


def test_hold_and_correct_keeps_room_for_the_correction():
    lots = [make_lot("A", 95, 921, 2.5), make_lot("B", 30, 940, 3.0, whole=False)]
    heat = make_heat(least_g=100, most_g=125, course="hold_and_correct")
    answer = blend.do(make_problem(lots, [heat]))
    made = answer.heats[0]
    assert made.correction_with == "grain"
    assert 0 < made.correction_g < made.correction_most_g
    assert made.poured_g + made.correction_most_g <= 125 + 1e-6
    tight = blend.do(make_problem(lots, [dataclasses.replace(heat, most_g=106.0)])).heats[0]
    assert tight.poured_g + tight.correction_most_g <= 106 + 1e-6
    assert tight.probability > made.probability


def test_a_corrected_melt_keeps_its_promise_in_a_simulation():
    # Plan for the sample, draw the truth, sample it, correct: short about one time in a hundred.
    lots = [make_lot("A", 95, 921, 2.5), make_lot("B", 30, 940, 3.0, whole=False)]
    heat = make_heat(least_g=100, most_g=125, course="hold_and_correct")
    made = blend.do(make_problem(lots, [heat])).heats[0]
    dice = np.random.default_rng(11)
    truth = made.mean + made.sd * dice.standard_normal(20_000)
    read = truth + 0.0008 * dice.standard_normal(20_000)
    needed = made.poured_g * (0.925 - read + NormalDist().inv_cdf(0.99) * 0.0008) / (0.999 - 0.925)
    grams = np.clip(needed, 0.0, 125 - made.poured_g)
    after = (truth * made.poured_g + 0.999 * grams) / (made.poured_g + grams)
    assert (after < 0.925).mean() <= 0.013
    assert grams.mean() == pytest.approx(made.correction_g, rel=0.05)


def test_the_three_courses_stand_side_by_side():
    terms = blend.CourseTerms(assay_fee=0.3, assay_days=2, second_melt_cost=2.0)
    roomy = dataclasses.replace(ONE, heats=(dataclasses.replace(ONE.heats[0], most_g=175.0),))
    priced = {c.course: c for c in blend.courses(roomy, terms)}
    assert set(priced) == {"one_shot", "hold_and_correct", "pour_prove_remelt"}
    assert priced["hold_and_correct"].cost < priced["one_shot"].cost
    assert 0 < priced["pour_prove_remelt"].second_melt < 0.5
    assert priced["pour_prove_remelt"].days > 2
    bare = blend.courses(roomy, blend.CourseTerms(own_instrument=False))
    assert [c.course for c in bare] == ["one_shot", "pour_prove_remelt"]
