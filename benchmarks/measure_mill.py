"""How fast the mill finds its routes, and how much faster than the plain programme.

Times are seconds of one processor (the work is single-threaded), so that a busy machine
does not count; the least of several interleaved runs. `run()` is collected by `make measure`.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from mill_plain import plain_cost

from lemel.mill import do, need
from lemel.mill.attempt import attempt, limits_of
from lemel.mill.build import build
from lemel.mill.grid import Grid
from lemel.mill.rules import rules_of
from lemel.mill.search import passages, search

sys.path.append(str(Path(__file__).resolve().parents[1]))

from tests.mill.named import Named, named


def _least_s(work: Callable[[], object], times: int) -> float:
    best = float("inf")
    for _ in range(times):
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return best


def _against_plain(case: Named) -> tuple[str, str]:
    """The search and the plain programme on the same sizes, interleaved, least of three."""
    costs = passages(rules_of(case.facts))
    grid = Grid(ratio=case.mesh, half_open=4)
    one = attempt(case.problem, case.facts, grid, costs, full_load=True)
    task, limits = one.task, limits_of(one.task, full_load=True)

    def ours() -> float:
        found = search(
            build(task), task.matter, task.rules, limits, costs, case.problem.need.temper
        )
        return found.path.cost if found.path else float("inf")

    def plain() -> float:
        return plain_cost(task, limits, costs)

    assert abs(ours() - plain()) < 1e-6, case.name
    fast, slow = [], []
    for _ in range(3):
        slow.append(_least_s(plain, 1))
        fast.append(_least_s(ours, 3))
    ratio = min(slow) / min(fast)
    return (
        f"mill: {case.name}, equal grid of {len(one.graph.nodes)}: search / plain at most 1/5",
        f"{min(fast):.3f} s against {min(slow):.2f} s: 1/{ratio:.0f}",
    )


def _over_all(case: Named) -> tuple[str, str]:
    """What is proven over all sizes between those of the grid, and how long that takes."""
    start = time.process_time()
    found = do(replace(case.problem, prove=True), tables=case.facts)
    seconds = time.process_time() - start
    return (
        f"mill: {case.name}: gap over all sizes at most 2 passes",
        f"{found.fewest_gap:.2f} passes ({found.fewest_cost:g} against {found.fewest_bound:g}, "
        f"{found.fewest_over}), {seconds:.1f} s",
    )


def run() -> list[tuple[str, str]]:
    """(claim, measured) rows."""
    rows = []
    for case in named():
        seconds = _least_s(lambda case=case: do(case.problem, tables=case.facts), 7)
        found = do(case.problem, tables=case.facts)
        rows.append(
            (
                f"mill: {case.name}: fewest passages with their bound, goal 0.5 s",
                f"{seconds:.2f} s: {found.fewest} passes, {found.fewest_anneals} anneals, "
                f"cost {found.fewest_cost:g}, proven on its grid",
            )
        )
        rows.append(_over_all(case))
        easy = replace(case.problem, variant="easy")
        rows.append(
            (
                f"mill: {case.name}: the printed route, goal 0.5 s",
                f"{_least_s(lambda easy=easy, case=case: do(easy, tables=case.facts), 7):.2f} s",
            )
        )
        bar = (case.problem.bar,)
        quick = _least_s(
            lambda case=case, bar=bar: need(
                case.problem.need, bar, case.problem.kit, case.problem.bar.body, tables=case.facts
            ),
            7,
        )
        rows.append(
            (f"mill: {case.name}: verdict on one bar, goal 50 ms", f"{quick * 1000:.0f} ms")
        )
        rows.append(_against_plain(case))
    return rows


if __name__ == "__main__":
    for claim, measured in run():
        print(f"{claim:90} {measured}")
