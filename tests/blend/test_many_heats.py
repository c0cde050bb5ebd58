"""Several heats: proof where there are few, an honest gap where there are many."""

from __future__ import annotations

import dataclasses

import pytest

from lemel import blend
from lemel.blend.bounds import joint_bound, kinds
from lemel.blend.charge import cost, faults
from lemel.blend.search import find, first_plan, independent
from lemel.values import quiet

from .conftest import make_heat, make_lot, make_problem, random_lots

LIGHT = blend.BlendOptions(explain=False, work_most=30_000, gap=1e-3)


def three_heats(seed, lots=40):
    heats = [make_heat(f"H{k}", 150, 155) for k in range(3)]
    return make_problem(random_lots(seed, lots), heats, options=LIGHT)


@pytest.mark.parametrize("seed", range(2))
def test_the_bound_of_many_heats_lies_below_every_plan(seed):
    problem = three_heats(seed)
    found = find(problem, quiet)
    assert not faults(problem, found.plan, 1e-5)
    assert found.proof.bound <= found.proof.cost
    assert found.proof.gap <= 0.01
    plain = joint_bound(problem, found.plan, quiet, fine=False)
    finer = joint_bound(problem, found.plan, quiet)
    assert plain.cost <= finer.cost + 1e-6


@pytest.mark.parametrize("seed", range(2))
def test_the_bound_holds_against_the_proven_optimum(seed):
    heats = [make_heat(f"H{k}", 60, 63) for k in range(2)]
    options = blend.BlendOptions(explain=False, gap=1e-3)
    problem = make_problem(random_lots(seed, 9), heats, options=options)
    best = blend.do(problem)
    assert best.status == "optimal"
    plan = find(problem, quiet).plan
    for fine in (False, True):
        assert joint_bound(problem, plan, quiet, fine=fine).cost <= best.cost + 1e-6


def test_improving_never_makes_a_plan_dearer():
    problem = three_heats(5)
    start = first_plan(problem, quiet)
    assert find(problem, quiet).proof.cost <= cost(problem, start) + 1e-9


def test_heats_that_share_nothing_are_solved_apart():
    lots = [make_lot(f"A{k}", 30, 930, owner="Ada") for k in range(3)]
    lots += [make_lot(f"B{k}", 30, 930, owner="Bo") for k in range(3)]
    heats = [make_heat("HA", 60, 66, owner="Ada"), make_heat("HB", 60, 66, owner="Bo")]
    problem = make_problem(lots, heats)
    assert independent(problem) == [[0], [1]]
    together = blend.do(problem)
    alone = [blend.do(dataclasses.replace(problem, heats=(heat,))) for heat in heats]
    assert together.cost == pytest.approx(sum(answer.cost for answer in alone), rel=1e-4)
    assert together.proof.status == "optimal"


def test_heats_are_of_one_kind_only_if_they_may_be_swapped():
    heats = [make_heat("H0"), make_heat("H1"), make_heat("H2", least=0.958)]
    assert kinds(make_problem(random_lots(1), heats)) == [[0, 1], [2]]


def test_an_optional_heat_is_formed_only_for_a_demand():
    lots = random_lots(2, 12)
    heats = [make_heat(f"H{k}", 50, 95, required=False, fixed_cost=4.0) for k in range(2)]
    nothing = blend.do(make_problem(lots, heats))
    assert not any(heat.formed for heat in nothing.heats)
    demand = (blend.Demand(("H0", "H1"), 60.0),)
    something = blend.do(make_problem(lots, heats, demands=demand))
    assert sum(heat.formed for heat in something.heats) == 1


def test_equal_questions_get_equal_answers():
    assert blend.do(three_heats(7)) == blend.do(three_heats(7))


def test_a_preview_is_a_sound_plan():
    for problem in (three_heats(3), make_problem(random_lots(3))):
        quick, full = blend.preview(problem), blend.do(problem)
        assert quick.cost >= full.proof.bound - 1e-6
        for heat in quick.heats:
            assert heat.promised >= 0.925 - 1e-7


class Stopper:
    """Stops after some questions; tells how the proof shall call it."""

    stopped_by = "clock"

    def __init__(self, after):
        self.after, self.asked, self.told = after, 0, []

    def cancelled(self):
        self.asked += 1
        return self.asked > self.after

    def tell(self, done, best=None, bound=None):
        self.told.append((done, best, bound))


def test_a_long_search_can_be_stopped_and_keeps_its_best():
    problem = dataclasses.replace(
        three_heats(4), options=dataclasses.replace(LIGHT, work_most=10**9, gap=1e-9)
    )
    watch = Stopper(after=800)
    answer = blend.do(problem, watch=watch)
    assert answer.proof.stopped_by == "clock"
    assert answer.status == "feasible"
    assert answer.heats
    assert min(done for done, _, _ in watch.told) >= 0
    assert max(done for done, _, _ in watch.told) <= 1


@pytest.mark.soak
def test_ten_heats_of_two_hundred_lots_stay_within_half_a_percent():
    heats = [make_heat(f"H{k}", 250, 258) for k in range(10)]
    options = dataclasses.replace(LIGHT, work_most=500_000)
    answer = blend.do(make_problem(random_lots(11, 200), heats, options=options))
    assert answer.proof.gap <= 0.005
