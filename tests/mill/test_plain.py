"""The search against the plain programme over all single steps, on the same sizes."""

from __future__ import annotations

import importlib.util
import time
from dataclasses import replace
from pathlib import Path

import pytest

from lemel.mill import MillProblem
from lemel.mill.attempt import attempt, limits_of
from lemel.mill.build import build
from lemel.mill.grid import Grid
from lemel.mill.rules import rules_of
from lemel.mill.search import passages, search
from lemel.values import Section
from tests.mill.metals import (
    HALF_HARD,
    SOFT,
    YELLOW_750,
    ingot,
    kit,
    plate,
    sheet,
    soft,
    strip,
    wire,
    wire_bar,
)

_PATH = Path(__file__).parents[2] / "benchmarks" / "mill_plain.py"
_SPEC = importlib.util.spec_from_file_location("mill_plain", _PATH)
assert _SPEC is not None
assert _SPEC.loader is not None
plain = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(plain)

CASES = {
    "plate": (plate(), sheet(0.9, 250, 38, HALF_HARD)),
    "turned": (ingot(Section.flat(4, 30), 44, 54), sheet(0.9, 70, 50)),
    "wire": (wire_bar(), wire(1.2, 2000)),
    "strip": (ingot(Section.square(6), 60, 33, YELLOW_750), strip(1.8, 4, 120)),
    "slit to wire": (plate(), wire(1.5, 1000, least_mm=200)),
    "square": (wire_bar(), replace(strip(2, 2, 300), section=Section.square(2.0))),
    "worked": (soft(Section.round(1.5), 2000, 36), wire(1.0, 3000)),
}


@pytest.mark.parametrize("name", CASES)
def test_every_single_step_tried_gives_no_better_way(name):
    bar, need = CASES[name]
    problem = MillProblem(bar, need, kit())
    costs = passages(rules_of())
    one = attempt(problem, None, Grid(ratio=1.06, half_open=1), costs, full_load=True)
    assert one.found.path is not None
    limits = limits_of(one.task, full_load=True)
    assert plain.plain_cost(one.task, limits, costs) == pytest.approx(one.cost, abs=1e-9)


def test_soft_ends_agree_as_well():
    bar, need = plate(), sheet(0.9, 250, 38, SOFT)
    one = attempt(
        MillProblem(bar, need, kit()), None, Grid(ratio=1.06), passages(rules_of()), full_load=True
    )
    assert one.found.path is not None
    assert one.found.path.moves[-1].tool == "anneal"


def test_the_search_takes_a_fifth_of_the_plain_programmes_time_at_most():
    bar, need = CASES["plate"]
    costs = passages(rules_of())
    one = attempt(MillProblem(bar, need, kit()), None, Grid(ratio=1.02), costs, full_load=True)
    task, limits = one.task, limits_of(one.task, full_load=True)
    ours, full = [], []
    for _ in range(3):
        start = time.process_time()
        search(build(task), task.matter, task.rules, limits, costs, need.temper)
        ours.append(time.process_time() - start)
        start = time.process_time()
        plain.plain_cost(task, limits, costs)
        full.append(time.process_time() - start)
    assert min(ours) <= min(full) / 5
