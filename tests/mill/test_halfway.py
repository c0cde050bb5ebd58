"""From any half-done state: the new plan goes on as the old one would have."""

from __future__ import annotations

import pytest

from lemel.mill import MillProblem, bar_after, do
from lemel.values import Section
from tests.mill.metals import ingot, kit, plate, sheet, wire, wire_bar

CASES = {
    "plate": MillProblem(plate(), sheet(0.9, 250, 38), kit()),
    "wire": MillProblem(wire_bar(), wire(1.0, 3000), kit()),
    "thick plate": MillProblem(ingot(Section.flat(4, 50), 80, 165.8), sheet(0.8, 300, 46), kit()),
}


@pytest.mark.parametrize("name", CASES)
def test_a_leg_as_cast_that_is_half_done_is_gone_on_with_at_its_own_strain(name):
    problem = CASES[name]
    route = do(problem)
    first = next(s.n for s in route.steps if s.tool == "anneal")
    worked = [s for s in route.steps[: first - 1] if s.passes]
    assert worked
    for step in worked:
        bar = bar_after(problem, route, step.n)
        assert bar.soft_section is None
        assert bar.cast_section is not None
        again = do(MillProblem(bar, problem.need, problem.kit))
        left = sum(s.minutes for s in route.steps[step.n :])
        # Nothing is filed a second time, no anneal is added, and it takes no longer than before.
        assert again.steps[0].tool != "file"
        assert again.anneals <= route.anneals
        assert again.proof.bound is not None
        assert again.proof.bound <= left + 1e-6
        if again.steps[0].tool == step.tool == "flats":
            assert again.steps[0].strain > step.strain


def test_the_strain_since_cast_is_kept_to_the_last_digit():
    problem = CASES["plate"]
    route = do(problem)
    step = next(s for s in route.steps if s.tool == "flats")
    bar = bar_after(problem, route, step.n)
    from lemel.mill.attempt import attempt
    from lemel.mill.grid import Grid
    from lemel.mill.rules import rules_of
    from lemel.mill.search import minutes_of

    tried = attempt(
        MillProblem(bar, problem.need, problem.kit), None, Grid(), minutes_of(rules_of()),
        full_load=False,
    )  # fmt: skip
    assert tried.task.piece.cast
    assert tried.task.piece.strain == pytest.approx(step.strain, rel=1e-12)


def test_metal_that_was_worked_and_of_which_nobody_knows_more_is_annealed_first():
    from dataclasses import replace

    problem = CASES["plate"]
    route = do(problem)
    step = next(s for s in route.steps if s.tool == "flats")
    bar = replace(bar_after(problem, route, step.n), cast_section=None)
    assert do(MillProblem(bar, problem.need, problem.kit)).steps[0].tool == "anneal"


def test_what_is_left_of_a_bar_that_was_never_annealed_says_so_too():
    """A little wire from the bar: the crops are as cast and worked."""
    route = do(MillProblem(wire_bar(), sheet(5.0, 60, 5), kit()))
    for bar in (*route.stock, *route.offcuts):
        assert (bar.soft_section is None) == (route.anneals == 0)
        if route.passes and not route.anneals:
            assert bar.cast_section == Section.square(6)
