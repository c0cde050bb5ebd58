"""The face of the room; loads the solver only when it is called."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from lemel.solve.program import Program, Solution
from lemel.values import Watch, quiet

__all__ = ["relax", "solve", "solver_name"]


def solve(
    program: Program,
    *,
    gap: float = 5e-5,
    work_most: int = 2_000_000,
    seed: int = 1,
    watch: Watch = quiet,
    twins: Sequence[Sequence[int]] = (),
    start: Sequence[float] | None = None,
    cone_tolerance: float = 1e-6,
    run_work: int | None = None,
) -> Solution:
    """The least-cost point of a program with whole variables and second-order cones.

    Args:
        program: variables, linear rows and cones; without cones it is a plain MILP,
            without whole variables a plain cone program (with duals of the rows).
        gap: stop once (cost - bound) / |cost| is proven to be at most this.
        work_most: effort in the solver's own units (one per simplex iteration, a hundred
            per checkpoint of the tree), so that equal input gives equal answers.
        seed: of the solver's own random choices.
        watch: asked at every checkpoint whether to stop; told the best cost and bound.
        twins: groups of cone indices whose lines correspond one by one and whose cuts
            are then shared (identical heats).
        start: a point whose whole variables are tried first.
        cone_tolerance: how far, as a share of 1 + ||D x||, a cone may be missed.
        run_work: most work of one run of the tree before its points are polished and cut
            (None: no limit but work_most); small where good points matter more than proof.

    Returns:
        A Solution. `proof.status` "infeasible" with `stopped_by` "proof" is proven;
        with "work", "clock" or "user" it only says that nothing was found in time.
        `duals` belong to the rows with the whole variables held where they are: the
        change of cost for a unit more on a row's right-hand side, for small changes.

    Source: outer approximation by tangents, Duran and Grossmann, Mathematical
    Programming 36 (1986) 307-339 (from memory); cone rows: Boyd and Vandenberghe, Convex
    Optimization (2004) section 4.4.

    >>> from lemel.solve import Program, Row, Variable
    >>> knapsack = Program(
    ...     (Variable("a", 0, 1, -6, True), Variable("b", 0, 1, -5, True)),
    ...     (Row("weight", ((0, 4.0), (1, 3.0)), hi=5.0),),
    ... )
    >>> solve(knapsack).x
    (1.0, 0.0)
    """
    from lemel.solve.loop import Search

    return Search(
        program, gap=gap, work_most=work_most, seed=seed, watch=watch, twins=twins,
        cone_tolerance=cone_tolerance, run_work=run_work,
    ).go(start)  # fmt: skip


def relax(
    program: Program,
    *,
    gap: float = 1e-5,
    work_most: int = 2_000_000,
    seed: int = 1,
    watch: Watch = quiet,
    twins: Sequence[Sequence[int]] = (),
) -> Solution:
    """The same program with every variable divisible: its cost is a lower bound of `solve`.

    The cones are cut until they hide about a fiftieth of `gap` of the cost, so `x` may break
    them a little; the cost is a valid bound all the same, and `duals` belong to it.
    """
    from lemel.solve.loop import Search

    loose = tuple(dataclasses.replace(v, whole=False) for v in program.variables)
    return Search(
        dataclasses.replace(program, variables=loose), gap=gap, work_most=work_most, seed=seed,
        watch=watch, twins=twins, loose=True,
    ).go()  # fmt: skip


def solver_name() -> str:
    """Name and version of the solver library, for a proof put together of several."""
    from lemel.solve.engine import solver_name as name

    return name()
