"""The search: tangent cuts on the relaxation, whole variables, polish, more cuts, proof.

Outer approximation after Duran and Grossmann (1986), with a cut at the mixed-integer
point itself as well as at the polished one, so that an assignment cannot return for ever.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from lemel.solve.cones import Cut, Tangents
from lemel.solve.engine import Model, Run, solver_name
from lemel.solve.program import Program, Solution
from lemel.values import Proof, Watch

__all__ = ["Search"]

Array = npt.NDArray[np.float64]
ROUNDS_MOST = 400


class Search:
    """One question being answered; `go` gives the Solution."""

    def __init__(
        self,
        program: Program,
        *,
        gap: float,
        work_most: int,
        seed: int,
        watch: Watch,
        twins: Sequence[Sequence[int]] = (),
        cone_tolerance: float = 1e-6,
    ) -> None:
        self._program = program
        self._gap, self._work_most, self._seed, self._watch = gap, work_most, seed, watch
        self._tangents = Tangents(program.cones, twins, cone_tolerance)
        self._whole = np.array([i for i, v in enumerate(program.variables) if v.whole], np.int32)
        self._lp = Model(program, whole=False, gap=gap, seed=seed)
        self._cuts: list[Cut] = []
        self._work = 0
        self._stopped_by = "proof"
        self._best: Array | None = None
        self._upper = np.inf
        self._lower = -np.inf
        self._duals: tuple[float, ...] = ()

    def go(self, start: Sequence[float] | None = None) -> Solution:
        """Search to the gap, or until the work is used up or the watch says stop."""
        root = self._relax()
        if root.status == "infeasible":
            return self._solution("infeasible")
        if root.status == "stopped":
            return self._solution("infeasible")
        self._lower = root.cost
        if not len(self._whole):
            self._keep(root)
            return self._solution("optimal")
        if start is not None:
            self._polish(np.asarray(start, float))
        done = self._tree()
        return self._solution("optimal" if done else "feasible")

    def _tree(self) -> bool:
        mip = Model(self._program, whole=True, gap=self._gap / 2, seed=self._seed)
        mip.add_rows(self._cuts)
        sent = len(self._cuts)
        for _ in range(ROUNDS_MOST):
            if self._best is not None:
                mip.start_from(self._best)
            run = mip.run(self._halts)
            self._work += run.work
            if run.status == "infeasible":
                self._lower = self._upper
                return True
            self._lower = min(self._upper, max(self._lower, run.bound))
            if len(run.x):
                self._add(self._tangents.violated(run.x))
                self._polish(run.x)
            self._tell()
            if self._closed():
                return True
            if run.status == "stopped" or self._halts(0) or sent == len(self._cuts):
                return False
            mip.add_rows(self._cuts[sent:])
            sent = len(self._cuts)
        return False

    def _relax(self) -> Run:
        """The linear model to the cones' tolerance, as it is bounded now."""
        run = self._lp.run(self._halts)
        for _ in range(ROUNDS_MOST):
            self._work += run.work
            if run.status != "optimal":
                break
            cuts = self._tangents.violated(run.x)
            if not cuts:
                break
            self._add(cuts)
            run = self._lp.run(self._halts)
        return run

    def _polish(self, x: Array) -> None:
        """The best point with these whole numbers: a true one, and an upper bound."""
        fixed = np.round(x[self._whole])
        self._lp.set_bounds(self._whole, fixed, fixed)
        run = self._relax()
        if run.status == "optimal" and run.cost < self._upper:
            run.x[self._whole] = fixed
            self._keep(run)

    def _keep(self, run: Run) -> None:
        self._best = self._tangents.lifted(run.x)
        self._upper = run.cost
        self._duals = tuple(float(d) for d in run.duals[: len(self._program.rows)])

    def _add(self, cuts: list[Cut]) -> None:
        self._cuts += cuts
        self._lp.add_rows(cuts)

    def _closed(self) -> bool:
        room = self._gap * max(abs(self._upper), 1e-9) + 1e-9
        return self._upper < np.inf and self._upper - self._lower <= room

    def _halts(self, work: int) -> bool:
        if self._watch.cancelled():
            self._stopped_by = getattr(self._watch, "stopped_by", "user")
            return True
        if self._work + work >= self._work_most:
            self._stopped_by = "work"
            return True
        return False

    def _tell(self) -> None:
        best = None if self._upper == np.inf else self._upper
        bound = None if self._lower == -np.inf else self._lower
        self._watch.tell(min(0.99, self._work / max(1, self._work_most)), best, bound)

    def _solution(self, status: str) -> Solution:
        if self._best is None:
            # A proof only if the relaxation or the tree itself was found to be empty.
            bound = None if not np.isfinite(self._lower) else float(self._lower)
            proof = self._proof("infeasible", None, bound, None)
            return Solution((), proof)
        gap = max(0.0, (self._upper - self._lower) / max(abs(self._upper), 1e-9))
        if status == "optimal":
            self._stopped_by = "proof"
        proof = self._proof(status, float(self._upper), float(self._lower), float(gap))
        self._watch.tell(1.0, proof.cost, proof.bound)
        return Solution(tuple(float(v) + 0.0 for v in self._best), proof, self._duals)

    def _proof(
        self, status: str, cost: float | None, bound: float | None, gap: float | None
    ) -> Proof:
        return Proof(
            status, cost, bound, gap, self._work, self._stopped_by, self._seed, solver_name()
        )
