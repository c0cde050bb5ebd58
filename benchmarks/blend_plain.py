"""A second solver that is always at hand: plain tangents around a general branch and cut.

What anybody would write in an afternoon with `scipy.optimize.milp`: solve, cut every broken
cone at the point, hold the whole numbers for a true plan, solve again. None of the room's own
devices (leaning cuts, neighbourhoods, warm starts). It measures what those are worth; the
harder rival, a solver with cones of its own, is `blend_against.scip`.
"""

from __future__ import annotations

import time
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array, vstack

from lemel.solve import Program

__all__ = ["plain"]

ROUNDS = 60
MISS_MG = 0.05


class _Model:
    def __init__(self, program: Program) -> None:
        self.costs = np.array([v.cost for v in program.variables])
        self.lo = np.array([v.lo for v in program.variables])
        self.hi = np.array([v.hi for v in program.variables])
        self.whole = np.array([v.whole for v in program.variables])
        self.rows = self._matrix([row.terms for row in program.rows])
        self.row_lo = np.array([row.lo for row in program.rows])
        self.row_hi = np.array([row.hi for row in program.rows])
        self.cones = [(cone.t, self._matrix(cone.lines)) for cone in program.cones]

    def _matrix(self, lines: Any) -> csr_array:
        row = [k for k, line in enumerate(lines) for _ in line]
        column = [i for line in lines for i, _ in line]
        value = [c for line in lines for _, c in line]
        return csr_array((value, (row, column)), shape=(len(lines), len(self.costs)))

    def cut(self, x: np.ndarray) -> float:
        """Tangents at x for every broken cone; the worst violation, mg of fine metal."""
        worst = 0.0
        for t, lines in self.cones:
            image = lines @ x
            length = float(np.linalg.norm(image))
            worst = max(worst, length - x[t])
            if length - x[t] > 0.2 * MISS_MG:
                row = (image / length) @ lines
                row[t] -= 1.0
                self.rows = vstack([self.rows, csr_array(row[None, :])], format="csr")
                self.row_lo = np.append(self.row_lo, -np.inf)
                self.row_hi = np.append(self.row_hi, 0.0)
        return worst

    def solve(self, gap: float, seconds: float, fixed: np.ndarray | None = None) -> Any:
        """One run, or with the whole numbers held at those of `fixed`."""
        lo, hi = self.lo.copy(), self.hi.copy()
        if fixed is not None:
            lo[self.whole] = hi[self.whole] = np.round(fixed[self.whole])
        return milp(
            self.costs, integrality=np.zeros_like(lo) if fixed is not None else self.whole,
            bounds=Bounds(lo, hi),
            constraints=LinearConstraint(self.rows, self.row_lo, self.row_hi),
            options={"mip_rel_gap": gap / 2, "time_limit": max(0.1, seconds)},
        )  # fmt: skip


def plain(program: Program, gap: float, seconds: float) -> tuple[float, float | None, float]:
    """(processor seconds, cost or None, bound)."""
    start = time.process_time()
    model, cost, bound = _Model(program), None, -np.inf
    for _ in range(ROUNDS):
        left = seconds - (time.process_time() - start)
        run = model.solve(gap, left)
        if run.x is None or left <= 0:
            break
        bound = max(bound, float(run.mip_dual_bound))
        model.cut(run.x)
        for _ in range(ROUNDS):
            held = model.solve(gap, left, fixed=run.x)
            if held.x is None:
                break
            if model.cut(held.x) <= MISS_MG:
                cost = min(float(held.fun), np.inf if cost is None else cost)
                break
        if cost is not None and cost - bound <= gap * abs(cost):
            break
    return time.process_time() - start, cost, bound
