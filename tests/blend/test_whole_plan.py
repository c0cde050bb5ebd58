"""A promise for the whole plan, and what heals when no single change does."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from lemel import blend
from lemel.errors import BadInput
from lemel.values import Composition
from lemel.words import say

from .conftest import COPPER, GRAIN, make_heat, make_lot, make_problem, random_lots

HEATS = [make_heat(f"H{n}", 100, 104) for n in range(3)]


def three(per="heat", **more):
    lots = [
        dataclasses.replace(lot, loading={"gun": 0.003, "class": 0.002})
        for lot in random_lots(5, 18)
    ]
    loose = blend.BlendOptions(explain=False, gap=2e-3)
    return make_problem(lots, HEATS, promise_per=per, options=loose, **more)


def drawn(problem, answer, draws=200_000):
    """The chance that all heats hold, from drawn errors: lots, shared factors, additions."""
    dice = np.random.default_rng(3)
    lots = {lot.id: lot for lot in problem.lots}
    metals = {a.id: a for a in problem.additions}
    own = {name: dice.standard_normal(draws) for name in [*lots, *metals]}
    factors = {f: dice.standard_normal(draws) for lot in lots.values() for f in lot.loading}
    held = np.ones(draws, bool)
    for heat in answer.heats:
        fine = np.full(draws, (heat.mean - 0.925) * heat.poured_g)
        for name, grams in heat.lots.items():
            fine += grams * lots[name].own_sd * own[name]
            for factor, load in lots[name].loading.items():
                fine += grams * load * factors[factor]
        for name, grams in heat.additions.items():
            fine += grams * metals[name].sd * own[name]
        held &= fine >= 0
    return float(held.mean())


def test_a_promise_for_the_plan_is_kept_by_all_heats_together():
    each, plan = blend.do(three()), blend.do(three("plan"))
    assert each.together == pytest.approx(drawn(three(), each), abs=0.001)
    assert plan.together == pytest.approx(drawn(three(), plan), abs=0.001)
    assert each.together < 0.99 < plan.together
    assert plan.cost > each.cost
    assert all(h.probability >= blend.per_heat_probability(0.99, 3) - 1e-9 for h in plan.heats)


def test_what_all_heats_keep_lies_between_bonferroni_and_the_weakest_heat():
    answer = blend.do(three())
    short = [1 - heat.probability for heat in answer.heats]
    assert 1 - sum(short) - 1e-4 <= answer.together <= 1 - max(short) + 1e-4


def test_heats_without_anything_in_common_multiply():
    lots = [make_lot(f"L{k}", 50, 930 + k, 2.0) for k in range(8)]
    answer = blend.do(make_problem(lots, HEATS[:2], additions=(COPPER,)))
    odds = [heat.probability for heat in answer.heats]
    assert answer.together == pytest.approx(odds[0] * odds[1], rel=1e-9)


def test_a_plan_of_one_heat_promises_what_the_heat_does():
    lots = random_lots(5, 12)
    one = blend.do(make_problem(lots, HEATS[:1], promise_per="plan"))
    assert one.cost == blend.do(make_problem(lots, HEATS[:1])).cost
    assert one.together == pytest.approx(one.heats[0].probability, rel=1e-12)


def test_heats_planned_elsewhere_count_towards_the_plan():
    lots = random_lots(5, 12)
    alone = blend.do(make_problem(lots, HEATS[:1], promise_per="plan", promise_heats=10))
    assert alone.heats[0].probability >= 0.999 - 1e-9
    with pytest.raises(BadInput, match="promise_heats"):
        blend.do(make_problem(lots, HEATS, promise_per="plan", promise_heats=2))
    with pytest.raises(BadInput, match="promise_per"):
        blend.do(make_problem(lots, HEATS, promise_per="day"))


def test_the_hand_check_reckons_with_the_heats_share_of_the_promise():
    problem = three("plan")
    answer = blend.do(problem)
    margins = [s for s in blend.hand_check(problem, answer) if s.code == "blend.hand.margin"]
    assert [round(s.values["times"], 4) for s in margins] == [2.7131] * 3


def applied(problem, changes):
    """The problem with a set of heals carried out."""
    heats = {heat.id: heat for heat in problem.heats}
    additions = {a.id: a for a in problem.additions}
    for heal in changes:
        heat = heats.get(heal.heat)
        if heal.kind == "stock":
            additions[heal.about] = dataclasses.replace(
                additions[heal.about], stock_g=heal.needed + 0.02
            )
        elif heal.kind == "probability":
            heats[heal.heat] = dataclasses.replace(heat, probability=heal.needed - 1e-3)
        elif heal.kind == "mass_least":
            heats[heal.heat] = dataclasses.replace(heat, least_g=heal.needed - 0.02)
        elif heal.kind == "giveaway":
            heats[heal.heat] = dataclasses.replace(heat, giveaway_most=heal.needed / 1000 + 1e-5)
        elif heal.kind == "impurity":
            limits = {**heat.impurity_most, heal.about: heal.needed / 1000 + 1e-5}
            heats[heal.heat] = dataclasses.replace(heat, impurity_most=limits)
        elif heal.kind == "owner":
            owners = heat.may_use_owners | set(heal.about.split(", "))
            heats[heal.heat] = dataclasses.replace(heat, may_use_owners=owners)
        else:
            raise AssertionError(heal.kind)
    return dataclasses.replace(
        problem, heats=tuple(heats.values()), additions=tuple(additions.values())
    )


def two_customers():
    lots = [
        make_lot("A", 100, 915, owner="ada", whole=False),
        make_lot("B", 100, 912, owner="bo", whole=False),
    ]
    metals = (
        dataclasses.replace(GRAIN, stock_g=3.0, owner="ada"),
        dataclasses.replace(GRAIN, id="grain of bo", stock_g=3.0, owner="bo"),
        COPPER,
    )
    heats = [make_heat("H1", 100, 105, owner="ada"), make_heat("H2", 100, 105, owner="bo")]
    return make_problem(lots, heats, additions=metals, options=blend.BlendOptions())


def zinc_and_grain():
    alloy = Composition.from_millesimal({"Ag": 890, "Cu": 80, "Zn": 30})
    lot = blend.BlendLot("Z", 120, False, "house", alloy, 0.002, value_per_g=0.8)
    heat = make_heat("H1", 100, 120, impurity_most={"Zn": 0.01}, giveaway_most=0.02)
    metals = (dataclasses.replace(GRAIN, stock_g=5.0),)
    return make_problem([lot], [heat], additions=metals, options=blend.BlendOptions())


@pytest.mark.parametrize("problem", [two_customers(), zinc_and_grain()], ids=["two", "zinc"])
def test_where_no_single_change_heals_the_smallest_sets_do_and_every_part_is_needed(problem):
    answer = blend.do(problem)
    assert answer.status == "infeasible"
    assert answer.heals == ()
    assert answer.heal_sets
    quiet = dataclasses.replace(problem, options=blend.BlendOptions(explain=False))
    for chosen in answer.heal_sets:
        assert len(chosen) == 2
        assert blend.do(applied(quiet, chosen)).cost is not None, chosen
        for left_out in chosen:
            fewer = [heal for heal in chosen if heal is not left_out]
            assert blend.do(applied(quiet, fewer)).cost is None, (chosen, left_out)
    spoken = [say(one, strict=True) for one in answer.explain]
    assert spoken[0].startswith("Not possible as asked, and no single change is enough.")


def test_the_numbers_of_a_set_are_as_worked_by_hand():
    # Each customer alone: g grams of grain in the least 100 g. A: (100 - g) at 915, sd 2;
    # (100 - g)(915 - 925) + g (999 - 925) = 2.3263 sqrt((2 (100 - g))^2 + (0.2 g)^2).
    first = blend.do(two_customers()).heal_sets[0]
    needed = {heal.about: heal.needed for heal in first}
    for name, fineness in (("grain", 915), ("grain of bo", 912)):
        g = needed[name]
        surplus = (100 - g) * (fineness - 925) + g * 74
        assert surplus == pytest.approx(2.32635 * np.hypot(2 * (100 - g), 0.2 * g), rel=1e-3)


def test_several_assays_together_are_offered_where_one_is_not_enough():
    # Two heats of doubtful pieces, each too doubtful by itself.
    lots = [make_lot(name, 50, 926.4, 2.5) for name in "ABCD"]
    heats = [make_heat(name, 98, 100, probability=0.995) for name in ("H1", "H2")]
    answer = blend.do(make_problem(lots, heats, additions=(COPPER,), options=blend.BlendOptions()))
    assert answer.heals == ()
    assays = answer.heal_sets[-1]
    assert {heal.kind for heal in assays} == {"evidence"}
    names = {heal.about for heal in assays}
    assert 1 < len(names) <= 4

    def possible(assayed):
        sure = [dataclasses.replace(l, own_sd=0.0006) if l.id in assayed else l for l in lots]
        return blend.do(make_problem(sure, heats, additions=(COPPER,))).cost is not None

    assert possible(names)
    assert not any(possible(names - {name}) for name in names)


def test_where_nothing_rich_is_at_hand_no_way_out_is_made_up():
    answer = blend.do(
        make_problem([make_lot("A", 50, 800)], additions=(COPPER,), options=blend.BlendOptions())
    )
    assert answer.heal_sets == ()
    assert [s.code for s in answer.explain] == ["blend.infeasible.no_way"]
