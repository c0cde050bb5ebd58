"""After a sample: closed form, cone program, limits, ways out."""

from __future__ import annotations

import math
from statistics import NormalDist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lemel import blend
from lemel.errors import BadInput
from lemel.tables import shipped
from lemel.values import Composition

GRAIN = blend.BlendAddition("grain", Composition.from_millesimal({"Ag": 999}, rest=True), 0.0, 1.06)
MASTER = blend.BlendAddition(
    "master", Composition.from_millesimal({"Ag": 935, "Cu": 65}), 0.0, 1.02
)
COPPER = blend.BlendAddition("copper", Composition.pure("Cu"), 0.0, 0.03)


def melt(**more):
    figures = {
        "id": "pot", "main": "Ag", "mass_g": 100, "mean": 0.92443, "sd": 0.000764, "least": 0.925
    }  # fmt: skip
    return blend.Melt(**(figures | more))


def test_a_poor_melt_takes_the_grams_of_the_closed_form():
    # Worked by hand: 100 (0.57 + 2.3263 x 0.764) / 74 = 3.17 g of fine grain.
    done = blend.correct(melt(), [GRAIN, COPPER])
    assert done.status == "corrected"
    assert done.additions == {"grain": 3.18}
    assert done.alone["grain"] == pytest.approx(3.17, abs=0.005)
    assert done.promised >= 0.925


def test_master_alloy_needs_seven_times_the_mass_and_may_not_fit():
    assert blend.correct(melt(), [MASTER]).additions["master"] == pytest.approx(23.5, abs=0.1)
    assert blend.correct(melt(room_g=10), [MASTER]).status == "infeasible"
    assert blend.correct(melt(room_g=10), [MASTER, GRAIN]).additions == {"grain": 3.18}


def test_a_melt_that_keeps_its_promise_is_left_alone():
    done = blend.correct(melt(mean=0.931, sd=0.0008), [GRAIN, COPPER])
    assert (done.status, done.additions) == ("kept", {})


def test_a_rich_melt_bears_copper_where_more_metal_is_worth_something():
    # Worked by hand: 100 (6.0 - 2.3263 x 0.8) / 925 = 0.447 g of copper.
    done = blend.correct(melt(mean=0.931, sd=0.0008, worth_per_g=0.8), [COPPER])
    assert done.additions["copper"] == pytest.approx(0.44, abs=0.011)
    assert done.promised >= 0.925


def test_scarce_grain_is_stretched_with_master():
    scarce = blend.BlendAddition("grain", GRAIN.composition, 0.0, 1.06, stock_g=2.0)
    done = blend.correct(melt(), [scarce, MASTER])
    assert done.additions["grain"] <= 2.0
    assert done.additions["master"] > 0
    assert done.promised >= 0.925


def test_what_cannot_be_mended_is_offered_at_a_lower_standard():
    done = blend.correct(melt(mean=0.918), [COPPER], balance_step_g=0.01)
    assert done.status == "infeasible"
    lower = blend.correct(melt(mean=0.918, lower_standards={"800": 0.8, "900": 0.9}), [COPPER])
    assert lower.lower == "900"
    assert lower.lower_given_away_g == pytest.approx(1.8)


def test_giveaway_may_be_capped():
    done = blend.correct(melt(giveaway_most=0.003), [GRAIN])
    assert done.mean <= 0.928


@settings(max_examples=30, derandomize=True, deadline=None)
@given(st.floats(20, 400), st.floats(0.90, 0.93), st.floats(0.0, 0.004), st.floats(0.5, 0.999))
def test_one_clean_addition_agrees_with_the_closed_form(mass, mean, sd, probability):
    done = blend.correct(
        melt(mass_g=mass, mean=mean, sd=sd, probability=probability), [GRAIN], balance_step_g=0.01
    )
    exact = max(
        0.0, mass * (0.925 - mean + NormalDist().inv_cdf(probability) * sd) / (0.999 - 0.925)
    )
    assert done.additions.get("grain", 0.0) == pytest.approx(exact, abs=0.021)
    assert done.promised >= 0.925 - 1e-12


@pytest.mark.outside
def test_the_cost_of_doubt_is_the_grain_that_a_better_assay_would_save():
    # Worked figures of two lots fused by hand: 418.20 g and 47.90 g at 917.816 with spread
    # 1.867; on the mean 45.25 g of 999.0 reach 925, at 2.33 sd 72.65 g (blend statistics after
    # JCGM 100:2008, propagation of uncertainty).
    mass = 418.20 + 47.90
    on_the_mean = blend.grams_to_mend(
        mass, 0.917816, 0.0, least=0.925, content=0.999, probability=0.5
    )
    assert on_the_mean == pytest.approx(45.25, abs=0.01)
    level = NormalDist().cdf(2.33)
    promised = blend.grams_to_mend(
        mass, 0.917816, 0.001867, least=0.925, content=0.999, probability=level
    )
    assert promised == pytest.approx(72.65, abs=0.1)


@pytest.mark.parametrize(
    ("field", "value"),
    [("mass_g", 0), ("mean", 1.2), ("sd", -1), ("probability", 1.0), ("sd", math.nan)],
)
def test_a_melt_that_cannot_be_is_refused(field, value):
    with pytest.raises(BadInput, match=field):
        melt(**{field: value})


def soldered(share):
    return blend.Soldered(mass_g=120, body=0.925, body_sd=0.0015, solder_share=share, solder=0.65)


def chosen(share, **more):
    return blend.seams(
        soldered(share), least=0.925, content=0.999, price_per_g=1.06, worth_per_g=0.85,
        sale_per_g=0.7, **more,
    )  # fmt: skip


def test_much_solder_is_sawn_out_and_little_is_drowned():
    # Worked by hand for a share of 6 percent, certain: drowning takes
    # 120 (0.925 - 0.9085 + 2.3263 x 0.94 x 0.0015) / 0.074 = 32.1 g.
    much, little = chosen((0.06, 0.0)), chosen((0.003, 0.0), labour=2.0)
    assert much.drown_g == pytest.approx(32.1, abs=0.1)
    assert much.better == "saw"
    assert much.cut_away_g == pytest.approx(3 * 0.06 * 120)
    assert little.better == "drown"


def test_an_unsure_share_of_solder_speaks_for_the_saw():
    sure, unsure = chosen((0.02, 0.0)), chosen((0.02, 0.01))
    assert unsure.drown_cost - unsure.saw_cost > sure.drown_cost - sure.saw_cost


def test_the_options_stand_on_the_rooms_own_table():
    options, rules = blend.BlendOptions(), shipped().table("blend_rules")
    assert options.sample_sd == rules["sample_sd"].number("value")
    assert options.guard_short == rules["guard_short"].number("value")
    assert options.first_probability == rules["first_probability"].number("value")
