"""The door to the solver: plain MILPs, cones, duals, limits, and who may stop it."""

from __future__ import annotations

import gc
import itertools
import math
import random

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, milp

from lemel.solve import Cone, Program, Row, Variable, relax, solve


def knapsack(seed: int, items: int = 12) -> Program:
    dice = random.Random(seed)
    worth = [dice.randint(5, 60) for _ in range(items)]
    weights = [[dice.randint(3, 40) for _ in range(items)] for _ in range(2)]
    variables = tuple(Variable(f"x{k}", 0, 1, -worth[k], True) for k in range(items))
    rows = tuple(
        Row(f"w{r}", tuple(enumerate(map(float, row))), hi=sum(row) / 2)
        for r, row in enumerate(weights)
    )
    return Program(variables, rows)


@pytest.mark.outside
@pytest.mark.parametrize("seed", range(5))
def test_a_plain_milp_agrees_with_scipy(seed):
    # Second opinion: scipy.optimize.milp.
    program = knapsack(seed)
    rows = np.array([[value for _, value in row.terms] for row in program.rows])
    other = milp(
        [v.cost for v in program.variables],
        integrality=np.ones(len(program.variables)),
        bounds=(0, 1),
        constraints=LinearConstraint(rows, ub=[row.hi for row in program.rows]),
    )
    mine = solve(program, gap=0)
    assert mine.proof.status == "optimal"
    assert mine.proof.cost == pytest.approx(other.fun, abs=1e-9)


@pytest.mark.outside
def test_a_continuous_cone_program_agrees_with_an_interior_point_solver():
    # Second opinion: cvxpy with Clarabel.
    import cvxpy as cp

    dice = np.random.default_rng(3)
    mean, spread = dice.uniform(0.9, 0.96, 6), dice.uniform(0.002, 0.01, 6)
    price = 0.9 * mean + dice.uniform(0, 0.05, 6)
    x = cp.Variable(6, nonneg=True)
    other = cp.Problem(
        cp.Minimize(price @ x),
        [cp.sum(x) == 100, (mean - 0.925) @ x >= 2.326 * cp.norm(cp.multiply(spread, x), 2)],
    )
    other.solve(solver=cp.CLARABEL)
    variables = (*(Variable(f"x{k}", 0, 100, price[k]) for k in range(6)), Variable("t"))
    mine = solve(
        Program(
            variables,
            (
                Row("mass", tuple((k, 1.0) for k in range(6)), 100, 100),
                Row("fine", (*((k, mean[k] - 0.925) for k in range(6)), (6, -2.326)), lo=0),
            ),
            (Cone("spread", 6, tuple(((k, spread[k]),) for k in range(6))),),
        ),
        cone_tolerance=1e-8,
    )
    assert mine.proof.cost == pytest.approx(other.value, rel=1e-5)


@pytest.mark.parametrize("seed", range(6))
def test_a_cone_with_whole_pieces_agrees_with_enumeration(seed):
    dice = random.Random(seed)
    mass = [dice.uniform(10, 40) for _ in range(9)]
    mean = [dice.uniform(-20, 25) for _ in mass]
    spread = [dice.uniform(1, 6) for _ in mass]
    price = [dice.uniform(0.7, 0.95) * m for m in mass]

    def cost(take):
        total = sum(m for m, z in zip(mass, take, strict=True) if z)
        over = sum(m * g for m, g, z in zip(mass, mean, take, strict=True) if z)
        t = math.sqrt(sum((m * s) ** 2 for m, s, z in zip(mass, spread, take, strict=True) if z))
        good = total >= 80 and over >= 2.3263 * t
        return sum(p for p, z in zip(price, take, strict=True) if z) if good else math.inf

    best = min(cost(take) for take in itertools.product((0, 1), repeat=9))
    variables = (*(Variable(f"z{k}", 0, 1, price[k], True) for k in range(9)), Variable("t"))
    mine = solve(
        Program(
            variables,
            (
                Row("mass", tuple(enumerate(mass)), lo=80),
                Row("fine", (*((k, mean[k] * mass[k]) for k in range(9)), (9, -2.3263)), lo=0),
            ),
            (Cone("t", 9, tuple(((k, spread[k] * mass[k]),) for k in range(9))),),
        ),
        gap=1e-7,
    )
    if math.isinf(best):
        assert mine.proof.status == "infeasible"
        assert mine.proof.stopped_by == "proof"
    else:
        assert mine.proof.cost == pytest.approx(best, rel=1e-6)
        assert mine.proof.bound <= best + 1e-6


def test_duals_tell_the_price_of_one_more_unit():
    def priced(least):
        return solve(
            Program(
                (Variable("a", 0, 8, 2.0), Variable("b", 0, 100, 3.0)),
                (Row("need", ((0, 1.0), (1, 1.0)), lo=least),),
            )
        )

    now, more = priced(10.0), priced(11.0)
    assert now.duals[0] == pytest.approx(more.proof.cost - now.proof.cost)


def test_an_impossible_program_is_an_answer_and_no_exception():
    program = Program((Variable("x", 0, 1, 1.0, True),), (Row("r", ((0, 1.0),), lo=2.0),))
    answer = solve(program)
    assert answer.x == ()
    assert (answer.proof.status, answer.proof.stopped_by) == ("infeasible", "proof")


def test_equal_input_gives_equal_answers_to_the_last_bit():
    first, second = (solve(knapsack(9, 25), gap=0) for _ in range(2))
    assert first == second


def test_work_is_a_limit_that_leaves_a_valid_bound():
    full = solve(knapsack(4, 40), gap=0)
    short = solve(knapsack(4, 40), gap=0, work_most=300)
    assert short.proof.stopped_by == "work"
    assert short.proof.bound is not None
    assert short.proof.bound <= full.proof.cost + 1e-9
    assert short.proof.work < full.proof.work


class Impatient:
    """Stops at the first question."""

    def cancelled(self) -> bool:
        return True

    def tell(self, done, best=None, bound=None):
        """Nothing."""


def test_the_watch_can_stop_the_search():
    answer = solve(knapsack(4, 40), gap=0, watch=Impatient())
    assert answer.proof.stopped_by == "user"
    assert answer.proof.status != "optimal"


def test_the_relaxation_is_a_lower_bound():
    assert relax(knapsack(2)).proof.cost <= solve(knapsack(2), gap=0).proof.cost + 1e-9


def test_nothing_is_printed(capfd):
    solve(knapsack(1))
    assert capfd.readouterr() == ("", "")


def test_a_question_that_was_answered_leaves_no_model_behind():
    from lemel.solve.engine import Model

    for seed in range(3):
        solve(knapsack(seed))
    gc.collect()
    assert not [thing for thing in gc.get_objects() if isinstance(thing, Model)]
