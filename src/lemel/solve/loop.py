"""The search: tangent cuts on the relaxation, whole variables, polish, more cuts, proof.

Outer approximation after Duran and Grossmann (1986), with a cut at the mixed-integer
point itself as well as at the polished one, so that an assignment cannot return for ever.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from lemel.solve.cones import Cut, Tangents
from lemel.solve.engine import Model, Run, solver_name
from lemel.solve.program import Program, Solution
from lemel.values import Proof, Watch

__all__ = ["Search"]

Array = npt.NDArray[np.float64]
ROUNDS_MOST = 400
#: The relaxation is cut until the cones hide less than this share of the gap.
HIDDEN = 0.02
ROOT_ROUNDS = 80
STALL_ROUNDS = 6
#: Tight cuts per cone that go from the relaxation into the tree.
KEPT = 6
#: Whole columns in the neighbourhoods of the relaxation that are searched first, where the
#: problem has half as many again.
NEAR = (90, 300)
NEAR_ROUNDS = 12
#: Former best points of a tree run that are polished beside its last.
PASSED = 4


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
        run_work: int | None = None,
        loose: bool = False,
    ) -> None:
        self._program = program
        self._gap, self._work_most, self._seed, self._watch = gap, work_most, seed, watch
        self._run_work = run_work or work_most
        self._loose = loose
        self._tangents = Tangents(program.cones, twins, cone_tolerance)
        self._whole = np.array([i for i, v in enumerate(program.variables) if v.whole], np.int32)
        self._lo = np.array([program.variables[i].lo for i in self._whole], float)
        self._hi = np.array([program.variables[i].hi for i in self._whole], float)
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
        whole = bool(len(self._whole))
        root = self._root() if len(self._tangents) and (whole or self._loose) else self._relax()
        if root.status != "optimal":
            return self._solution("infeasible")
        self._lower = root.cost
        if not whole:
            self._keep(root)
            return self._solution("optimal")
        self._thin(root)
        if start is not None:
            self._polish(np.asarray(start, float))
        mip = _Tree(self._program, self._cuts, self._gap, self._seed)
        for near in NEAR:
            if len(self._whole) > 1.5 * near and not self._closed() and not self._halts(0):
                mip.bound(self._whole, *self._neighbourhood(root, near))
                self._rounds(mip, NEAR_ROUNDS, everywhere=False)
        done = self._closed()
        if not done and not self._halts(0):
            mip.bound(self._whole, *self._priced_out(root))
            done = self._rounds(mip, ROUNDS_MOST, everywhere=True)
        return self._solution("optimal" if done else "feasible")

    def _rounds(self, mip: _Tree, most: int, *, everywhere: bool) -> bool:
        """Tree, cut, polish, again; True once the gap is closed. Only a tree over
        `everywhere` proves anything about the whole problem."""
        for _ in range(most):
            run = mip.run(self._cuts, self._best, self._halts_tree)
            self._work += run.work
            if run.status == "infeasible":
                if everywhere:
                    self._lower = self._upper
                return everywhere
            if everywhere:
                self._lower = min(self._upper, max(self._lower, run.bound))
            known = len(self._cuts)
            for x in (*run.passed[-PASSED:-1], *([run.x] if len(run.x) else [])):
                self._add(self._tangents.violated(x))
                self._polish(x)
            self._tell()
            if self._closed():
                return True
            if not everywhere and self._upper - run.bound <= self._room():
                return False
            if self._halts(0):
                return False
            if known == len(self._cuts):
                if run.status == "optimal":
                    return False
                self._run_work *= 2
        return False

    def _neighbourhood(self, root: Run, near: int) -> tuple[Array, Array]:
        """Bounds that leave free what the relaxation uses, and the cheapest of the rest."""
        here, price = root.x[self._whole], np.abs(root.reduced[self._whole])
        price[np.abs(here - np.round(here)) > 1e-6] = -1.0
        price[here > 0.5] *= 0.2
        order = np.argsort(price, kind="stable")
        held = order[max(near, int(np.sum(price < 0)) + near // 2) :]
        lower, upper = self._lo.copy(), self._hi.copy()
        lower[held] = upper[held] = np.round(here[held])
        return lower, upper

    def _priced_out(self, root: Run) -> tuple[Array, Array]:
        """Bounds without the columns whose reduced cost alone would exceed the best plan."""
        lower, upper = self._lo.copy(), self._hi.copy()
        if self._upper < np.inf:
            here, price = root.x[self._whole], root.reduced[self._whole]
            room = self._upper - root.cost + 1e-9
            out = (price > room) & (here <= lower + 1e-9)
            full = (-price > room) & (here >= upper - 1e-9)
            upper[out] = lower[out]
            lower[full] = upper[full]
        return lower, upper

    def _relax(self) -> Run:
        """The linear model, as it is bounded now, to the cones' tolerance."""
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

    def _root(self) -> Run:
        """The relaxation until the cones hide little of the cost."""
        run = self._lp.run(self._halts)
        costs = [-np.inf] * STALL_ROUNDS
        for _ in range(ROOT_ROUNDS):
            self._work += run.work
            costs.append(run.cost)
            least = HIDDEN * self._gap * abs(run.cost)
            if run.status != "optimal" or costs[-1] - costs[-1 - STALL_ROUNDS] < least:
                break
            prices = self._prices(run)
            cuts = self._tangents.violated(run.x, self._tangents.summed(self._cuts, prices))
            hidden = self._tangents.missing(run.x, self._cuts, prices)
            if not cuts or 0 < hidden <= least:
                break
            self._add(cuts)
            before, run = run, self._lp.run(self._halts)
            if run.status == "stopped":
                # Too few rounds only weaken the bound; the last finished one is good.
                self._cuts = self._cuts[: len(self._cuts) - len(cuts)]
                return before
        return run

    def _prices(self, run: Run) -> Array:
        return run.duals[len(self._program.rows) :]

    def _thin(self, root: Run) -> None:
        """Keep per cone the sum of its cuts and the dearest few; begin the models anew."""
        prices = self._prices(root)
        kept = self._tangents.along(self._tangents.summed(self._cuts, prices))
        count = dict.fromkeys(range(len(self._tangents)), 0)
        for k in np.argsort(prices, kind="stable"):
            cut = self._cuts[k]
            if prices[k] < 0 and count[cut.cone] < KEPT:
                count[cut.cone] += 1
                kept.append(cut)
        self._lp = Model(self._program, whole=False, gap=self._gap, seed=self._seed)
        self._cuts = []
        self._add(kept)

    def _polish(self, x: Array) -> None:
        """The best point with these whole numbers: a true one, and an upper bound."""
        fixed = np.clip(np.round(x[self._whole]), self._lo, self._hi)
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
        self._lp.add_rows(cut.row for cut in cuts)

    def _closed(self) -> bool:
        return self._upper < np.inf and self._upper - self._lower <= self._room()

    def _room(self) -> float:
        return self._gap * max(abs(self._upper), 1e-9) + 1e-9

    def _halts_tree(self, work: int) -> bool:
        return work >= self._run_work or self._halts(work)

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
        elif self._stopped_by == "proof":
            self._stopped_by = "work"
        proof = self._proof(status, float(self._upper), float(self._lower), float(gap))
        self._watch.tell(1.0, proof.cost, proof.bound)
        return Solution(tuple(float(v) + 0.0 for v in self._best), proof, self._duals)

    def _proof(
        self, status: str, cost: float | None, bound: float | None, gap: float | None
    ) -> Proof:
        return Proof(
            status, cost, bound, gap, self._work, self._stopped_by, self._seed, solver_name()
        )


class _Tree:
    """The model with whole columns; cuts are sent to it once each."""

    def __init__(self, program: Program, cuts: Sequence[Cut], gap: float, seed: int) -> None:
        self._model = Model(program, whole=True, gap=gap / 2, seed=seed)
        self._model.add_rows(cut.row for cut in cuts)
        self._sent = len(cuts)

    def bound(self, columns: npt.NDArray[np.int32], lower: Array, upper: Array) -> None:
        self._model.set_bounds(columns, lower, upper)

    def run(self, cuts: Sequence[Cut], best: Array | None, halts: Callable[[int], bool]) -> Run:
        self._model.add_rows(cut.row for cut in cuts[self._sent :])
        self._sent = len(cuts)
        if best is not None:
            self._model.start_from(best)
        return self._model.run(halts)
