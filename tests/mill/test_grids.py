"""The search against exhaustive search: on given grids, and on 200 small ones by seed."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from lemel import metal
from lemel.errors import BadInput
from lemel.mill import FlatCase, flat_schedule
from tests.mill.by_hand import every_way, pass_allowed
from tests.mill.metals import STERLING, YELLOW_750, mill

#: Three grids whose optimum was found by exhaustive search of a prototype.
GIVEN = {
    "temper window": (
        FlatCase(
            (4.0, 3.6, 3.2, 2.9, 2.6, 2.3, 2.0, 1.8, 1.6, 1.4, 1.2, 1.1, 1.0, 0.9, 0.8),
            0.7, 0.5, 0.3, (0.20, 0.33), 0.45, pass_cost=1, anneal_cost=10,
        ),
        (40, 10, 3),
    ),
    "any temper": (
        FlatCase(
            (5.0, 4.7, 4.4, 4.1, 3.8, 3.5, 3.2, 2.9, 2.6, 2.3, 2.0, 1.75, 1.5, 1.3, 1.1, 0.95,
             0.8, 0.7, 0.6),
            1.1, 0.45, 0.3, None, 0.6, pass_cost=1, anneal_cost=3,
        ),
        (14, 8, 2),
    ),
    "quarter hard": (
        FlatCase(
            (3.0, 2.7, 2.4, 2.2, 2.0, 1.8, 1.6, 1.45, 1.3, 1.15, 1.0, 0.9, 0.8, 0.72, 0.65,
             0.58, 0.5),
            0.69, 0.4, 0.3, (0.09, 0.16), 0.3, pass_cost=1, anneal_cost=8,
        ),
        (36, 12, 3),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", GIVEN)
def test_a_given_grid_has_its_known_optimum(name):
    case, (cost, passes, anneals) = GIVEN[name]
    found = flat_schedule(case)
    assert (found.cost, len(found.passes), len(found.anneals)) == (cost, passes, anneals)
    assert every_way(case, pass_allowed(case)) == cost


def _small_case(seed: int) -> FlatCase:
    """A grid of at most ten sizes; every other one with the loads of a real mill."""
    dice = random.Random(seed)
    thick = dice.uniform(1.0, 6.0)
    sizes = [thick]
    for _ in range(dice.randint(4, 9)):
        sizes.append(sizes[-1] * dice.uniform(0.82, 0.96))
    window = None
    if dice.random() < 0.5:
        low = dice.uniform(0.05, 0.4)
        window = (low, low + dice.uniform(0.15, 0.5))
    case = FlatCase(
        tuple(sizes), dice.uniform(0.5, 1.2), dice.uniform(0.3, 0.6), dice.uniform(0.1, 0.3),
        window, anneal_cost=dice.choice([2.0, 5.0, 12.0]), as_cast=dice.random() < 0.7,
        width_mm=dice.uniform(8, 50),
    )  # fmt: skip
    if seed % 2:
        return replace(case, draft_most_mm=thick * dice.uniform(0.12, 0.35))
    tool = mill(
        torque_nm=dice.uniform(150, 500), frame_n=dice.uniform(40e3, 120e3),
        modulus_n_mm=dice.uniform(50e3, 150e3), roll_mu=dice.uniform(0.12, 0.18),
    )  # fmt: skip
    body = STERLING if dice.random() < 0.5 else YELLOW_750
    return replace(case, mill=tool, working=metal.working(body))


@pytest.mark.parametrize("block", range(10))
def test_two_hundred_small_grids_agree_with_exhaustive_search(block):
    ways = 0
    for seed in range(block * 20, block * 20 + 20):
        case = _small_case(seed)
        known = every_way(case, pass_allowed(case))
        found = flat_schedule(case)
        if found.cost is None:
            assert known == float("inf"), seed
        else:
            ways += 1
            assert found.cost == pytest.approx(known, abs=1e-9), seed
    # A set in which hardly anything has a way would prove little.
    assert ways >= 8


def test_a_schedule_stands_up_to_its_own_rules():
    for seed in range(60):
        case = _small_case(seed)
        found = flat_schedule(case)
        if found.cost is None:
            continue
        allowed, soft, at, cast = pass_allowed(case), case.thickness_mm[0], None, case.as_cast
        del cast
        at = soft
        for thin in found.passes:
            if at in found.anneals:
                soft = at
            assert allowed(soft, at, thin)
            at = thin
        assert at == case.thickness_mm[-1]
        assert found.cost == len(found.passes) + case.anneal_cost * len(found.anneals)


@pytest.mark.parametrize(
    "changes",
    [
        {"thickness_mm": (1.0, 2.0)},
        {"thickness_mm": (1.0,)},
        {"draft_most_mm": None},
    ],
)
def test_a_case_that_cannot_be_is_refused(changes):
    case = replace(GIVEN["any temper"][0], **changes)
    with pytest.raises(BadInput):
        flat_schedule(case)
