"""The same generated boxes for general solvers.

Beside the room stand plain tangents around a general branch and cut (`blend_plain`, always at
hand) and a general solver with a native cone, `pyscipopt`, which is no dependency of the
project: where it is not installed the line says so. Times are processor seconds of all.
Run: python benchmarks/blend_against.py [boxes per size] [seconds per box]
"""

from __future__ import annotations

import importlib.util
import statistics
import sys
import time
from collections.abc import Callable

from blend_boxes import box
from blend_plain import plain

from lemel.blend.build import build
from lemel.solve import Program, solve

__all__ = ["one_heat", "rivals", "scip"]


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


Rival = Callable[[Program, float, float], tuple[float, float | None, float]]


def rivals() -> dict[str, Rival | None]:
    """The other solvers by name; None: not installed here."""
    native = scip if importlib.util.find_spec("pyscipopt") else None
    return {"native cone": native, "plain tangents": plain}


def one_heat(sizes: tuple[int, ...], boxes: int, seconds: float) -> list[tuple[str, str]]:
    """Median processor seconds to a proven 0.1 percent, every solver on the same programs."""
    lines = []
    for lots in sizes:
        programs = [
            build(box(lots, 1, seed, correlated=seed % 2 == 0)).program for seed in range(boxes)
        ]
        mine = [_own(program) for program in programs]
        median = statistics.median(spent for spent, _, _ in mine)
        said = [f"{median:.3f} s ({max(spent for spent, _, _ in mine):.2f})"]
        for name, rival in rivals().items():
            if rival is None:
                said.append(f"{name}: not installed")
                continue
            said.append(f"{name} {_beside(rival, programs, mine, seconds)}")
        lines.append((f"one heat of {lots} lots to 0.1 %, median of {boxes} (largest)",
                      "; ".join(said)))  # fmt: skip
        print(*lines[-1], sep=": ", flush=True)
    return lines


def _own(program: Program) -> tuple[float, float, float]:
    start = time.process_time()
    proof = solve(program, gap=1e-3).proof
    assert proof.cost is not None
    assert proof.bound is not None
    return time.process_time() - start, proof.cost, proof.bound


def _beside(
    rival: Rival, programs: list[Program], mine: list[tuple[float, float, float]], seconds: float
) -> str:
    times, late, quicker = [], 0, 0
    for program, (own_time, own_cost, own_bound) in zip(programs, mine, strict=True):
        spent, cost, bound = rival(program, 1e-3, seconds)
        times.append(spent)
        late += cost is None or cost - bound > 1.1e-3 * abs(cost)
        quicker += spent < own_time
        assert bound <= own_cost * (1 + 1e-5)
        assert cost is None or own_bound <= cost * (1 + 1e-5)
    ratio = statistics.median(times) / statistics.median(spent for spent, _, _ in mine)
    return (
        f"{statistics.median(times):.3f} s ({max(times):.1f}), {late} not done in {seconds:g} s, "
        f"quicker on {quicker}; ratio {ratio:.1f}"
    )


if __name__ == "__main__":
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    limit = float(sys.argv[2]) if len(sys.argv) > 2 else 60.0
    one_heat((10, 50, 200, 1000), many, limit)
