"""When it cracks: what goes on, what is cut away, what it says of the heat."""

from __future__ import annotations

import pytest

from lemel.errors import BadInput
from lemel.mill import CRACKS, MillProblem, bar_after, crack, do
from lemel.words import say
from tests.mill.metals import kit, plate, sheet, wire, wire_bar

PROBLEM = MillProblem(plate(), sheet(0.9, 200, 34), kit())
ROUTE = do(PROBLEM)
LATE = next(s.n for s in ROUTE.steps if s.tool == "anneal") - 1


@pytest.mark.parametrize("kind", CRACKS)
def test_what_goes_on_and_what_is_cut_away_are_the_cracked_bar(kind):
    whole = bar_after(PROBLEM, ROUTE, LATE)
    advice = crack(PROBLEM, ROUTE, LATE, kind, 20.0, 0.3)
    assert advice.bar is not None
    parts = advice.bar.mass_g + sum(one.mass_g for one in advice.offcuts) + advice.loss_g
    assert parts == pytest.approx(whole.mass_g, rel=1e-9)
    assert all(say(one) for one in (*advice.do, *advice.says))


@pytest.mark.parametrize("kind", CRACKS)
def test_the_new_route_anneals_first_and_goes_gentler(kind):
    advice = crack(PROBLEM, ROUTE, LATE, kind, 20.0, 0.3)
    assert advice.route is not None
    assert advice.route.status == "optimal"
    worked = [s for s in advice.route.steps if s.tool != "file"]
    assert worked[0].tool == "anneal"
    assert max(s.strain for s in advice.route.steps) < 1.0


def test_an_early_crack_makes_the_heat_suspect_and_a_late_one_does_not():
    early = crack(PROBLEM, ROUTE, 3, "edge", 0.0, 0.5)
    assert early.suspect
    assert early.bar is not None
    assert early.bar.suspect
    wires = MillProblem(wire_bar(), wire(1.0, 3000), kit())
    drawn = do(wires)
    hard = max(drawn.steps, key=lambda s: s.strain)
    assert not crack(wires, drawn, hard.n, "cross", 10.0, 0.5).suspect


def test_a_crack_that_is_seen_after_the_anneal_came_with_the_work_before_it():
    annealed = ROUTE.steps[LATE]
    assert annealed.tool == "anneal"
    before, after = (crack(PROBLEM, ROUTE, n, "edge", 0.0, 0.5) for n in (LATE, LATE + 1))
    assert after.says == before.says
    assert not after.suspect


def test_metal_as_cast_is_held_against_what_cast_metal_takes():
    from lemel.metal import working

    limits = working(plate().body)
    share = crack(PROBLEM, ROUTE, LATE, "edge", 0.0, 0.5).says[0].values["share"].value
    strain = ROUTE.steps[LATE - 1].strain
    assert share == pytest.approx(100 * strain / limits.cast_strain_most)
    assert limits.cast_strain_most < limits.strain_most


def test_a_deep_blister_sends_the_bar_back_to_the_pot():
    advice = crack(PROBLEM, ROUTE, 3, "blister", 20.0, 2.0)
    assert advice.bar is None
    assert advice.route is None
    assert advice.suspect
    assert advice.offcuts[0].faults[-1].kind == "crack"


def test_a_split_end_costs_only_the_end():
    whole = bar_after(PROBLEM, ROUTE, LATE)
    advice = crack(PROBLEM, ROUTE, LATE, "fish_mouth", 0.0, 5.0)
    assert advice.bar is not None
    assert advice.bar.length_mm == pytest.approx(whole.length_mm - 8.0)
    assert advice.bar.section == whole.section


def test_the_longer_part_goes_on_after_a_cross_crack():
    whole = bar_after(PROBLEM, ROUTE, LATE)
    advice = crack(PROBLEM, ROUTE, LATE, "cross", whole.length_mm * 0.8, 2.0)
    assert advice.bar is not None
    assert advice.bar.length_mm == pytest.approx(whole.length_mm * 0.8 - 2.0)


@pytest.mark.parametrize(
    ("step", "kind", "place", "depth"),
    [(99, "edge", 0, 0.5), (3, "rust", 0, 0.5), (3, "edge", -1, 0.5), (3, "edge", 0, 90)],
)
def test_a_crack_that_cannot_be_is_refused(step, kind, place, depth):
    with pytest.raises(BadInput):
        crack(PROBLEM, ROUTE, step, kind, place, depth)


def test_metal_after_an_anneal_knows_where_it_was_soft():
    after = next(s for s in ROUTE.steps if s.tool == "anneal")
    bar = bar_after(PROBLEM, ROUTE, after.n)
    assert bar.soft_section == after.section
    assert bar.anneals == 1
    assert bar.kind == "working"
