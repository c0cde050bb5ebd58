"""Named cases: plate, wire and strip, reproduced or beaten, with what is proven of them."""

from __future__ import annotations

import time
from dataclasses import replace

import pytest

from lemel.mill import MillProblem, Route, do
from lemel.tables import Tables
from lemel.values import Bar, StockNeed
from tests.mill.metals import GROOVES, kit, strip, wire
from tests.mill.named import (
    BENCH_RULES,
    BOLD,
    PLATE,
    PLATE_NEED,
    STRIP,
    WIDE_KIT,
    WIRE,
    gold,
    named,
    tables,
)


def fewest(bar: Bar, need: StockNeed, facts: Tables, **options: object) -> Route:
    tools = options.pop("tools", None) or kit(opening_mm=8)
    problem = MillProblem(bar, need, tools, variant="fewest", **options)  # type: ignore[arg-type]
    return do(problem, tables=facts)


def passes_by(route: Route, tool: str) -> int:
    return sum(step.passes for step in route.steps if step.tool == tool)


def test_plate_to_half_hard_sheet_in_13_passes_and_2_anneals_with_a_closed_certificate():
    found = fewest(PLATE, PLATE_NEED, tables(BOLD))
    assert (found.passes, found.anneals) == (13, 2)
    assert found.fewest_over == "all_sizes"
    assert found.fewest_bound == pytest.approx(found.fewest_cost)
    assert 0.20 <= found.steps[-1].strain <= 0.27 + 1e-6
    # From the second pass on a plate of 50 mm the frame binds rather than the crank.
    assert sum(s.limit == "frame" for s in found.steps) >= 4


@pytest.mark.parametrize("ratio", [1.03, 1.02, 1.01, 1.005])
def test_the_plate_needs_13_passes_on_every_mesh(ratio):
    found = fewest(PLATE, PLATE_NEED, tables(BOLD), mesh=ratio)
    assert (found.passes, found.anneals) == (13, 2)


def test_plate_at_less_than_full_load_takes_as_many_passes_as_was_found_before():
    """13 at the full crank, 15 at 70 %, 23 at 50 %, 31 at 40 %, at most."""
    for comfort, known in ((0.7, 15), (0.5, 23), (0.4, 31)):
        tools = kit(opening_mm=8, torque_nm=268 * comfort)
        found = fewest(PLATE, PLATE_NEED, tables(BOLD), tools=tools)
        assert found.passes <= known
        assert found.passes >= 13


def test_wire_under_bench_rules_is_no_worse_than_the_prototype():
    found = fewest(WIRE, wire(1.0, 3000), tables(BOLD, BENCH_RULES))
    assert found.anneals <= 3
    assert passes_by(found, "groove") <= 27
    assert found.passes <= 30
    assert found.proof.status == "optimal"


def test_wire_with_closed_grooves_is_proven_over_all_sizes():
    """Stricter than the prototype: legs end closed, a quarter is drawn from square to round."""
    found = fewest(WIRE, wire(1.0, 3000), tables(BOLD), prove=True)
    assert (found.passes, found.anneals) == (27, 3)
    assert found.fewest_over == "all_sizes"
    assert found.fewest_cost - found.fewest_bound <= 2 + 1e-9
    for step in found.steps:
        if step.tool == "anneal" and step.section.kind == "square":
            assert min(abs(step.section.dim("side") - g) for g in GROOVES) < 1e-9


@pytest.mark.parametrize(
    ("strain", "cast", "anneals", "most"), [(1.05, 0.5, 2, 15), (0.69, 0.4, 3, 15)]
)
def test_gold_strip_with_its_gap(strain, cast, anneals, most):
    """18 kt 8 x 8 x 50 to 2 x 5: 10-11 groove and 4 flat passes, on grooves up to 7.5 mm."""
    found = fewest(
        STRIP, strip(2.0, 5.0, 200), tables(gold(strain, cast)), tools=WIDE_KIT, prove=True
    )
    assert found.anneals == anneals
    assert found.passes <= most
    assert passes_by(found, "flats") <= 5
    assert found.fewest_cost - found.fewest_bound <= 2 + 1e-9
    assert found.stock[0].section.width_mm == pytest.approx(5.0, abs=0.15)


def test_the_prototypes_entry_square_for_the_strip_comes_from_its_spread():
    """From a 4.19 square Hill's spread gives 5.0 mm of width, from 3.82 it gives 4.5."""
    from lemel.mill import width_rolled_mm
    from lemel.mill.rules import rules_of

    rules = rules_of()
    assert width_rolled_mm(4.19, 4.19, 2.0, 30, 1, rules) == pytest.approx(5.0, abs=0.02)
    assert width_rolled_mm(3.82, 3.82, 2.0, 30, 1, rules) == pytest.approx(4.5, abs=0.02)


def test_a_route_is_found_in_half_a_second():
    problem = MillProblem(PLATE, PLATE_NEED, kit())
    times = []
    for _ in range(3):
        start = time.perf_counter()
        do(problem)
        times.append(time.perf_counter() - start)
    # The goal is 0.5 s; three times that is asserted, for busy machines.
    assert min(times) < 1.5


@pytest.mark.parametrize("case", named(), ids=lambda case: case.name)
def test_each_named_case_is_proven_on_its_grid_and_within_two_passes_over_all_sizes(case):
    """On its grid (grooves, four half-open sizes, exact target and temper points) the search
    is exact; over all sizes at most two passages could be saved."""
    found = do(replace(case.problem, prove=True), tables=case.facts)
    assert found.proof.status == "optimal"
    assert found.proof.gap == pytest.approx(0, abs=1e-9)
    assert found.fewest_over == "all_sizes"
    assert found.fewest_gap is not None
    assert found.fewest_gap <= 2 + 1e-9
