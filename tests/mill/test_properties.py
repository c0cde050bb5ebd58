"""What must hold whatever the figures: more can only help, finer can only help."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lemel import metal
from lemel.mill import FlatCase, MillProblem, flat_schedule
from lemel.mill import do as find
from lemel.values import Section
from tests.mill.metals import (
    HALF_HARD,
    STERLING,
    ingot,
    kit,
    mill,
    plate,
    route,
    sheet,
    soft,
    strip,
    wire,
    wire_bar,
)

SIZES = (4.0, 3.6, 3.3, 3.0, 2.7, 2.5, 2.3, 2.1, 1.9, 1.75, 1.6, 1.45, 1.3, 1.2, 1.1, 1.0, 0.9, 0.8)
BASE = FlatCase(
    SIZES, 1.0, 0.5, 0.3, mill=mill(), width_mm=40, working=metal.working(STERLING), comfort=0.8
)
MORE = st.floats(1.0, 3.0)


def cost(case: FlatCase) -> float:
    found = flat_schedule(case).cost
    return float("inf") if found is None else found


@given(torque=st.floats(40, 300), more=MORE)
def test_more_torque_never_costs_passes(torque, more):
    weak = replace(BASE, mill=mill(torque_nm=torque))
    strong = replace(BASE, mill=mill(torque_nm=torque * more))
    assert cost(strong) <= cost(weak)


@given(frame=st.floats(15e3, 60e3), more=MORE)
def test_a_stronger_frame_never_costs_passes(frame, more):
    weak = replace(BASE, mill=mill(frame_n=frame))
    strong = replace(BASE, mill=mill(frame_n=frame * more))
    assert cost(strong) <= cost(weak)


@given(strain=st.floats(0.35, 1.2), more=MORE, cast=st.floats(0.3, 0.6))
def test_a_higher_strain_limit_never_costs_anything(strain, more, cast):
    careful = replace(BASE, strain_most=strain, cast_strain_most=cast)
    bold = replace(BASE, strain_most=strain * more, cast_strain_most=cast * more)
    assert cost(bold) <= cost(careful)


@given(comfort=st.floats(0.3, 0.9), more=st.floats(1.0, 1.6))
def test_comfort_only_ever_adds_passes(comfort, more):
    assert cost(replace(BASE, comfort=comfort * more)) <= cost(replace(BASE, comfort=comfort))


@given(between=st.lists(st.floats(0.81, 3.99), min_size=1, max_size=6, unique=True))
def test_a_finer_grid_that_holds_the_coarse_one_is_never_worse(between):
    finer = tuple(sorted({*SIZES, *between}, reverse=True))
    assert cost(replace(BASE, thickness_mm=finer)) <= cost(BASE)


@pytest.mark.parametrize(
    ("bar", "need"),
    [(plate(), sheet(0.9, 250, 38, HALF_HARD)), (plate(), sheet(0.6, 120, 90))],
)
def test_nested_meshes_of_the_whole_planner_are_never_worse(bar, need):
    costs = []
    for ratio in (1.02**4, 1.02**2, 1.02):
        found = route(bar, need, variant="fewest", mesh=ratio)
        costs.append(found.proof.cost)
    assert all(finer <= coarser + 1e-9 for coarser, finer in pairwise(costs))


@settings(max_examples=15)
@given(
    side=st.floats(4.0, 6.0), mass=st.floats(15, 60), diameter=st.sampled_from([0.8, 1.0, 1.5, 2.0])
)
def test_metal_and_volume_are_kept_through_every_route_of_wire(side, mass, diameter):
    length = mass / 10.36 / side**2 * 1000
    bar = ingot(Section.square(side), length, mass)
    found = route(bar, wire(diameter, 100))
    parts = sum(b.mass_g for b in (*found.stock, *found.offcuts))
    assert parts + found.loss_g == pytest.approx(mass, rel=1e-12)
    volumes = [s.section.area_mm2 * s.length_mm for s in found.steps if s.tool != "file"]
    assert max(volumes) == pytest.approx(min(volumes), rel=1e-9)


@settings(max_examples=8)
@given(thick=st.floats(1.0, 3.5), wide=st.floats(5.0, 35.0))
def test_strip_comes_out_of_plate_at_any_size(thick, wide):
    found = route(plate(), strip(thick, wide, 60))
    assert found.status == "optimal"
    assert found.stock[0].section.thickness_mm == pytest.approx(thick, abs=0.05)
    assert found.stock[0].section.width_mm >= wide * 0.98


def test_going_on_from_any_step_costs_no_more_than_the_rest_of_the_route():
    """Half-worked metal is planned anew from where it is, softening and all."""
    problem = MillProblem(plate(), sheet(0.9, 250, 38), kit(), variant="fewest", mesh=1.01)
    whole = find(problem)
    first_soft = next(s.n for s in whole.steps if s.tool == "anneal")
    soft_at = None
    for step in whole.steps:
        if step.tool == "anneal":
            soft_at = step.section
        if step.n < first_soft or step.tool not in ("flats", "anneal"):
            continue
        half = replace(
            soft(step.section, step.length_mm, 164.34), soft_section=soft_at, kind="working"
        )
        rest = find(replace(problem, bar=half))
        left = sum(s.passes for s in whole.steps if s.n > step.n)
        left += 12 * sum(s.tool == "anneal" for s in whole.steps if s.n > step.n)
        assert rest.proof.cost <= left + 1e-6, step.n


def test_a_wider_piece_on_the_same_mill_takes_more_passes():
    """Plate of the same thickness, 30, 50 and 80 mm across the rolls."""
    passes = []
    for wide in (30, 50, 80):
        bar = ingot(Section.flat(4, wide), 80, 4 * wide * 80 * 0.01036)
        passes.append(route(bar, sheet(0.8, 250, wide - 4), variant="fewest").passes)
    assert passes[0] < passes[1] < passes[2]


def test_the_same_problem_gives_the_same_route():
    problem = MillProblem(wire_bar(), wire(1.0, 3000), kit())
    assert find(problem) == find(problem)


def test_a_second_mill_never_makes_a_route_longer():
    """The better of two mills is taken, and the bound holds for both."""
    weak, strong = mill(torque_nm=120), replace(mill(), id="mill 2")
    one = replace(kit(grooved=False), mills=(weak,))
    two = replace(one, mills=(weak, strong))
    need = sheet(0.9, 250, 38)
    alone = route(plate(), need, one, variant="fewest")
    both = route(plate(), need, two, variant="fewest")
    assert both.proof.cost < alone.proof.cost
    assert both.fewest_bound <= both.proof.cost + 1e-9


def test_a_weaker_mill_never_takes_fewer_passes_over_all():
    costs = []
    for torque in (120, 180, 268, 400):
        costs.append(route(plate(), sheet(0.9, 250, 38), kit(torque_nm=torque)).fewest_cost)
    assert all(weak >= strong for weak, strong in pairwise(costs))
