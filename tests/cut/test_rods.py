"""Cutting wire and strip is exact: against an independent program, and printed optima."""

from __future__ import annotations

import random
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from lemel.cut import Length, Rod, RodPlan, cut_rods

KERF = 1.0


def begun_mm(plan: RodPlan, rods: Sequence[Rod], *, new: bool) -> float:
    return sum(rod.usable_mm for rod in rods if rod.key in plan.cuts and rod.new is new)


def wishes(plan: RodPlan, pieces: Sequence[Length], rods: Sequence[Rod]) -> list[float]:
    """Left out, from new stock (where there is a choice), new begun, remnants begun: mm."""
    length = {piece.key: piece.length_mm for piece in pieces}
    new = {rod.key for rod in rods if rod.new}
    from_new = sum(length[p] for rod, cut in plan.cuts.items() if rod in new for p in cut)
    return [
        sum(length[p] for p in plan.left_out), from_new,
        begun_mm(plan, rods, new=True), begun_mm(plan, rods, new=False),
    ]  # fmt: skip


def by_assignment(pieces: Sequence[Length], rods: Sequence[Rod], kerf: float) -> list[float]:
    """The same wishes by another model and solver door: one 0-1 column a piece and rod."""
    n, m = len(pieces), len(rods)
    columns = n * m + m
    rows, low, high = [], [], []
    for i in range(n):
        row = np.zeros(columns)
        row[[i * m + j for j in range(m)]] = 1
        rows, low, high = [*rows, row], [*low, 0], [*high, 1]
    for j, rod in enumerate(rods):
        row = np.zeros(columns)
        for i, piece in enumerate(pieces):
            row[i * m + j] = piece.length_mm + kerf
        row[n * m + j] = -(rod.usable_mm + kerf)
        rows, low, high = [*rows, row], [*low, -np.inf], [*high, 0]
    total = sum(piece.length_mm for piece in pieces)
    costs = []
    for kind in range(4):
        cost = np.zeros(columns)
        for j, rod in enumerate(rods):
            if (kind == 2 and rod.new) or (kind == 3 and not rod.new):
                cost[n * m + j] = rod.usable_mm
            for i, piece in enumerate(pieces):
                if kind == 0:
                    cost[i * m + j] = -piece.length_mm
                if kind == 1 and rod.new:
                    cost[i * m + j] = piece.length_mm
        costs.append(cost)
    best: list[float] = []
    for kind, cost in enumerate(costs):
        found = milp(
            cost, integrality=np.ones(columns), bounds=Bounds(0, 1),
            constraints=LinearConstraint(np.array(rows), low, high), options={"mip_rel_gap": 0},
        )  # fmt: skip
        assert found.status == 0
        value = round(float(found.fun))
        best.append(value + total if kind == 0 else value)
        rows, low, high = [*rows, cost], [*low, -np.inf], [*high, value + 0.01]
    return best


def instance(seed: int) -> tuple[list[Length], list[Rod]]:
    """A bench's afternoon: a few lengths several times, short remnants, some new rods."""
    lots = random.Random(seed)
    kinds = [lots.randint(15, 70) for _ in range(lots.randint(1, 4))]
    pieces = [Length(f"p{i}", float(lots.choice(kinds))) for i in range(lots.randint(2, 9))]
    rods = [Rod(f"r{i}", float(lots.randint(20, 130)), False) for i in range(lots.randint(0, 3))]
    longest = lots.choice([90, 150, 240])
    rods += [
        Rod(f"n{i}", float(longest + lots.choice([0, 0, 30]))) for i in range(lots.randint(1, 3))
    ]
    return pieces, rods


@pytest.mark.parametrize("seed", range(100))
def test_every_wish_is_met_as_well_as_an_independent_program_can(seed: int):
    pieces, rods = instance(seed)
    plan = cut_rods(pieces, rods, kerf_mm=KERF)
    assert plan.proof.status == "optimal"
    assert wishes(plan, pieces, rods) == pytest.approx(by_assignment(pieces, rods, KERF), abs=0.5)


def rolls(demand: dict[int, int]) -> list[Length]:
    return [Length(f"{size}-{n}", size) for size, count in demand.items() for n in range(count)]


@pytest.mark.outside
def test_the_paper_machine_needs_73_rolls():
    """General encyclopedia, article "Cutting stock problem" (2024): optimum 73 master rolls."""
    demand = {
        1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20,
        2000: 10, 2050: 12, 2100: 14, 2140: 16, 2150: 18, 2200: 20,
    }  # fmt: skip
    plan = cut_rods(rolls(demand), [Rod(f"m{n}", 5600) for n in range(90)])
    assert (len(plan.cuts), plan.proof.status) == (73, "optimal")


@pytest.mark.outside
def test_the_modelling_textbook_rolls_need_453():
    """Demand of the cutting-stock model in a modelling language's library (raw width 100);
    453 rolls is its printed optimum (from memory)."""
    plan = cut_rods(
        rolls({14: 211, 31: 395, 36: 610, 45: 97}), [Rod(f"m{n}", 100) for n in range(600)]
    )
    assert (len(plan.cuts), plan.proof.status) == (453, "optimal")


def test_the_smallest_remnant_that_does_is_used_before_new_stock():
    rods = [Rod("new", 1000), Rod("long", 200, False), Rod("short", 71, False)]
    plan = cut_rods([Length("a", 40), Length("b", 30)], rods, kerf_mm=1)
    assert plan.cuts == {"short": ("a", "b")}


def test_a_kerf_too_little_leaves_a_piece_out():
    assert cut_rods([Length("a", 40), Length("b", 30)], [Rod("r", 70.9)], kerf_mm=1).left_out
    assert not cut_rods([Length("a", 40), Length("b", 30)], [Rod("r", 71)], kerf_mm=1).left_out


def test_a_piece_goes_only_on_a_rod_that_may_serve_it():
    pieces = [Length("a", 40, frozenset({"hers"})), Length("b", 40, frozenset({"his"}))]
    plan = cut_rods(pieces, [Rod("hers", 100), Rod("his", 60)])
    assert plan.cuts == {"his": ("b",), "hers": ("a",)}


sizes = st.integers(5, 80).map(float)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.lists(sizes, min_size=1, max_size=8), st.lists(sizes, max_size=3), st.integers(60, 200))
def test_each_piece_is_cut_once_or_named_and_no_rod_is_overfull(lengths, remnants, new):
    pieces = [Length(f"p{i}", size) for i, size in enumerate(lengths)]
    rods = [Rod(f"r{i}", size, False) for i, size in enumerate(remnants)]
    rods += [Rod("n0", float(new)), Rod("n1", float(new))]
    plan = cut_rods(pieces, rods, kerf_mm=KERF)
    cut = [name for names in plan.cuts.values() for name in names]
    assert sorted([*cut, *plan.left_out]) == sorted(piece.key for piece in pieces)
    size = {piece.key: piece.length_mm for piece in pieces}
    for rod in rods:
        names = plan.cuts.get(rod.key, ())
        used = sum(size[name] + KERF for name in names) - KERF * bool(names)
        assert used <= rod.usable_mm + 1e-6
    bound, cost = plan.proof.bound, plan.proof.cost
    assert bound is not None
    assert cost is not None
    assert bound <= cost + 1e-9


def test_the_same_question_gets_the_same_answer():
    pieces, rods = instance(7)
    assert cut_rods(pieces, rods, kerf_mm=KERF) == cut_rods(pieces, rods, kerf_mm=KERF)
