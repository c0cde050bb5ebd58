"""The same generated boxes for a general branch-and-cut solver with a native cone.

Needs `pyscipopt` (not a dependency of the project); times are processor seconds of both.
Run: python benchmarks/blend_against.py [boxes per size] [seconds per box]
"""

from __future__ import annotations

import statistics
import sys
import time

from blend_boxes import box

from lemel.blend.build import build
from lemel.solve import Program, solve

__all__ = ["one_heat", "scip"]


def scip(program: Program, gap: float, seconds: float) -> tuple[float, float | None, float]:
    """(seconds, cost or None, bound) of SCIP on a program, cones as t^2 >= sum of squares."""
    import pyscipopt

    model = pyscipopt.Model()
    model.hideOutput()
    model.setParam("limits/gap", gap)
    model.setParam("limits/time", seconds)
    model.setParam("timing/clocktype", 1)
    model.setParam("parallel/maxnthreads", 1)
    columns = [
        model.addVar(
            vtype="I" if v.whole else "C",
            lb=v.lo,
            ub=None if v.hi == float("inf") else v.hi,
            obj=v.cost,
        )
        for v in program.variables
    ]
    for row in program.rows:
        total = pyscipopt.quicksum(value * columns[column] for column, value in row.terms)
        if row.lo > float("-inf"):
            model.addCons(total >= row.lo)
        if row.hi < float("inf"):
            model.addCons(total <= row.hi)
    for cone in program.cones:
        squares = []
        for line in cone.lines:
            if len(line) == 1:
                column, value = line[0]
                squares.append(value * value * columns[column] * columns[column])
                continue
            shared = model.addVar(lb=None)
            model.addCons(
                shared == pyscipopt.quicksum(value * columns[column] for column, value in line)
            )
            squares.append(shared * shared)
        t = columns[cone.t]
        model.addCons(pyscipopt.quicksum(squares) <= t * t)
    start = time.process_time()
    model.optimize()
    spent = time.process_time() - start
    found = model.getNSols() > 0
    return spent, model.getObjVal() if found else None, model.getDualbound()


def one_heat(sizes: tuple[int, ...], boxes: int, seconds: float) -> list[tuple[str, str]]:
    """Median processor seconds to a proven 0.1 percent, both solvers on the same programs."""
    lines = []
    for lots in sizes:
        mine, other, late = [], [], 0
        for seed in range(boxes):
            program = build(box(lots, 1, seed, correlated=seed % 2 == 0)).program
            start = time.process_time()
            solution = solve(program, gap=1e-3)
            mine.append(time.process_time() - start)
            spent, cost, bound = scip(program, 1e-3, seconds)
            other.append(spent)
            late += cost is None or cost - bound > 1.1e-3 * abs(cost)
            if cost is not None and solution.proof.cost is not None:
                assert solution.proof.bound is not None
                assert solution.proof.bound <= cost * (1 + 1e-5)
                assert bound <= solution.proof.cost * (1 + 1e-5)
        ratio = statistics.median(other) / statistics.median(mine)
        lines.append(
            (
                f"one heat of {lots} lots to 0.1 %, median of {boxes} (largest)",
                f"{statistics.median(mine):.3f} s ({max(mine):.2f}); native cone "
                f"{statistics.median(other):.3f} s ({max(other):.1f}), {late} not done in "
                f"{seconds:g} s; ratio {ratio:.1f}",
            )
        )
        print(*lines[-1], sep=": ", flush=True)
    return lines


if __name__ == "__main__":
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    limit = float(sys.argv[2]) if len(sys.argv) > 2 else 60.0
    one_heat((10, 50, 200, 1000), many, limit)
