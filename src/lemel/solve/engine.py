"""The solver library behind a small wall: one model, rows added as one goes, run, read.

Only this module imports `highspy`. One thread and a fixed seed, always.
"""

from __future__ import annotations

import weakref
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import highspy
import numpy as np
import numpy.typing as npt

from lemel.errors import Broken
from lemel.solve.program import Program

__all__ = ["CHECKPOINT_WORK", "Model", "Run", "solver_name"]

Array = npt.NDArray[np.float64]
#: Work units for one checkpoint of the tree search; a simplex iteration counts one. The
#: library tells iterations only after a run, so a limit inside a run counts checkpoints.
CHECKPOINT_WORK = 100
#: Entries of the matrix at which a step counts double, so that work goes with time.
HEAVY_ENTRIES = 8_000

_DONE = highspy.HighsModelStatus.kOptimal
_IMPROVED = int(highspy.cb.HighsCallbackType.kCallbackMipImprovingSolution)
_LOST = (highspy.HighsModelStatus.kUnknown, highspy.HighsModelStatus.kIterationLimit)
#: Simplex iterations before a run counts as going in circles.
_COLD_PATIENCE, _WARM_PATIENCE = 200_000, 2_000
_IMPOSSIBLE = (
    highspy.HighsModelStatus.kInfeasible,
    highspy.HighsModelStatus.kUnboundedOrInfeasible,
)
_STOPPED = (
    highspy.HighsModelStatus.kUnknown,
    highspy.HighsModelStatus.kInterrupt,
    highspy.HighsModelStatus.kSolutionLimit,
    highspy.HighsModelStatus.kIterationLimit,
    highspy.HighsModelStatus.kTimeLimit,
)


class _Silent(highspy.Highs):
    """The library's object without the greeting that it prints when callbacks are switched on."""

    def __init__(self) -> None:
        super().__init__()  # type: ignore[no-untyped-call]

    def enableCallbacks(self) -> None:
        self.setOptionValue("output_flag", False)


def solver_name() -> str:
    """Name and version of the library, for the proof."""
    return f"highs {_Silent().version()}"


@dataclass(frozen=True, slots=True)
class Run:
    """What one run gave: `x` empty if no point, `bound` a valid lower bound or -inf."""

    status: str
    x: Array
    cost: float
    bound: float
    duals: Array
    reduced: Array
    work: int
    passed: tuple[Array, ...] = ()


class Model:
    """One linear model, with or without whole variables, that keeps its rows between runs."""

    def __init__(self, program: Program, *, whole: bool, gap: float, seed: int) -> None:
        self._highs = _Silent()
        self._whole = whole
        self._columns = len(program.variables)
        self._entries = sum(len(row.terms) for row in program.rows)
        self._checkpoints = 0
        self._patience = _COLD_PATIENCE
        self._halt: Callable[[int], bool] | None = None
        for name, value in (
            ("threads", 1),
            ("random_seed", seed),
            ("mip_rel_gap", gap),
            ("mip_abs_gap", 1e-9),
            ("mip_feasibility_tolerance", 1e-7),
        ):
            self._highs.setOptionValue(name, value)
        self._pass(program)
        me = weakref.ref(self)

        def called(kind: Any, message: str, out: Any, into: Any, data: Any) -> None:
            model = me()
            if model is not None:
                model._called(kind, message, out, into, data)

        # The library holds its callback where the collector cannot see it: a bound method
        # would keep every model for ever.
        self._highs.setCallback(called, None)
        kinds = highspy.cb.HighsCallbackType
        if whole:
            self._highs.startCallback(kinds.kCallbackMipInterrupt)
            self._highs.startCallback(kinds.kCallbackMipImprovingSolution)
        else:
            self._highs.startCallback(kinds.kCallbackSimplexInterrupt)

    def _pass(self, program: Program) -> None:
        lp = highspy.HighsLp()
        lp.num_col_ = self._columns
        lp.num_row_ = len(program.rows)
        lp.col_cost_ = np.array([v.cost for v in program.variables], float)
        lp.col_lower_ = np.array([v.lo for v in program.variables], float)
        lp.col_upper_ = np.array([v.hi for v in program.variables], float)
        lp.row_lower_ = np.array([row.lo for row in program.rows], float)
        lp.row_upper_ = np.array([row.hi for row in program.rows], float)
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        sizes = [len(row.terms) for row in program.rows]
        lp.a_matrix_.start_ = np.concatenate(([0], np.cumsum(sizes))).astype(np.int32)
        lp.a_matrix_.index_ = np.array([i for r in program.rows for i, _ in r.terms], np.int32)
        lp.a_matrix_.value_ = np.array([c for r in program.rows for _, c in r.terms], float)
        if self._whole:
            kinds = highspy.HighsVarType
            lp.integrality_ = [
                kinds.kInteger if v.whole else kinds.kContinuous for v in program.variables
            ]
        if self._highs.passModel(lp) == highspy.HighsStatus.kError:
            raise Broken("the solver refused the model")

    def add_rows(self, rows: Iterable[tuple[npt.NDArray[np.int32], Array, float, float]]) -> None:
        """Further rows: (columns, coefficients, lower, upper)."""
        for columns, values, lower, upper in rows:
            self._entries += len(columns)
            self._highs.addRow(lower, upper, len(columns), columns, values)

    def set_bounds(self, columns: npt.NDArray[np.int32], lower: Array, upper: Array) -> None:
        """New bounds for some columns."""
        self._highs.changeColsBounds(len(columns), columns, lower, upper)

    def set_costs(self, costs: Array) -> None:
        """New costs for all columns."""
        every = np.arange(self._columns, dtype=np.int32)
        self._highs.changeColsCost(self._columns, every, costs)

    def start_from(self, x: Sequence[float] | Array) -> None:
        """A point to begin with; it need not be feasible."""
        point = highspy.HighsSolution()
        point.col_value = [float(value) for value in x]
        self._highs.setSolution(point)

    def run(self, halt: Callable[[int], bool] | None = None) -> Run:
        """Solve. `halt(work)` is asked at checkpoints and stops the run."""
        self._halt = halt
        self._checkpoints = 0
        self._passed: list[Array] = []
        if not self._whole:
            self._highs.setOptionValue("simplex_iteration_limit", self._patience)
        self._highs.run()
        if self._highs.getModelStatus() in _LOST and not self._whole:
            # Numbers went astray, or round in a circle, from a warm basis: once more from
            # nothing.
            self._highs.clearSolver()
            self._highs.setOptionValue("simplex_iteration_limit", _COLD_PATIENCE)
            self._highs.run()
        info = self._highs.getInfo()
        if not self._whole:
            done = max(0, int(info.simplex_iteration_count))
            self._patience = max(_WARM_PATIENCE, min(_COLD_PATIENCE, 10 * done))
        iterations = max(0, int(info.simplex_iteration_count))
        work = int(self._weight() * (iterations + CHECKPOINT_WORK * self._checkpoints))
        return self._read(info, work)

    def _weight(self) -> float:
        """How much slower a step is on this model than on a small one."""
        return 1.0 + self._entries / HEAVY_ENTRIES

    def _read(self, info: Any, work: int) -> Run:
        nothing = np.empty(0)
        status = self._highs.getModelStatus()
        if status in _IMPOSSIBLE:
            return Run("infeasible", nothing, np.inf, np.inf, nothing, nothing, work)
        done = status == _DONE
        if not done and status not in _STOPPED:
            raise Broken(f"the solver ended with {self._highs.modelStatusToString(status)}")
        has_point = int(info.primal_solution_status) == 2 and (done or self._whole)
        point = self._highs.getSolution()
        x = np.array(point.col_value, float) if has_point else nothing
        cost = float(info.objective_function_value) if has_point else np.inf
        if self._whole:
            bound, duals, reduced = float(info.mip_dual_bound), nothing, nothing
        else:
            bound = cost if done else -np.inf
            duals = np.array(point.row_dual, float) if done else nothing
            reduced = np.array(point.col_dual, float) if done else nothing
        ended = "optimal" if done else "stopped"
        return Run(ended, x, cost, bound, duals, reduced, work, tuple(self._passed))

    def _called(self, kind: Any, _message: str, out: Any, into: Any, _data: Any) -> None:
        if int(kind) == _IMPROVED:
            self._passed.append(np.array(out.mip_solution, float))
            return
        self._checkpoints += self._whole
        work = int(self._weight() * CHECKPOINT_WORK * self._checkpoints)
        # The library keeps the flag from the last run: it must be set either way.
        into.user_interrupt = self._halt is not None and self._halt(work)
