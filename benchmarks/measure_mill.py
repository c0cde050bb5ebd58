"""How fast the mill finds its routes, and how much faster than the plain programme.

Times are the least of several interleaved runs on one thread. `run()` is collected by
`make measure`.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from mill_plain import plain_cost

from lemel.mill import MillKit, MillProblem, do, need
from lemel.mill.attempt import attempt, limits_of
from lemel.mill.build import build
from lemel.mill.grid import Grid
from lemel.mill.rules import rules_of
from lemel.mill.search import passages, search
from lemel.tables import Tables, shipped
from lemel.values import (
    Bar,
    Composition,
    DrawBench,
    DrawPlate,
    Grooves,
    Mill,
    Section,
    StockNeed,
    Temper,
)

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})
GOLD = Composition.from_millesimal({"Au": 750, "Ag": 125, "Cu": 125})
SIZES = (7.5, 7.0, 6.5, 6.0, 5.5, 5.0, 4.5, 4.0, 3.5, 3.0, 2.6, 2.3, 2.0, 1.75, 1.5, 1.3, 1.1, 0.9)
HOLES = (
    *(6.0 - 0.25 * i for i in range(12)),
    *(3.0 - 0.1 * i for i in range(10)),
    *(2.0 - 0.05 * i for i in range(31)),
)
KIT = MillKit(
    (Mill("mill", 30, 120, 8, 0.15, 268, 60000, 80000),),
    (Grooves("grooves", "mill", SIZES),),
    (DrawPlate("plate", tuple(Section.round(round(d, 2)) for d in HOLES)),),
    (DrawBench("bench", 3000, 1200),),
)
#: A confident worker on sound metal.
BOLD = {"sterling": {"strain_most": 1.2, "cast_strain_most": 0.6}}


@dataclass(frozen=True)
class Case:
    """A named problem with its mesh for the comparison and its figures."""

    name: str
    problem: MillProblem
    mesh: float
    facts: Tables


def _bar(section: Section, length: float, mass: float, body: Composition = STERLING) -> Bar:
    return Bar("bar", "shop", "ingot", body, 0.0, section, length, mass)


def _need(section: Section, **more: object) -> StockNeed:
    return StockNeed("stock", section, "shop", "any", ("piece",), **more)  # type: ignore[arg-type]


def cases() -> list[Case]:
    """Plate to half hard sheet, bar to wire, gold bar to strip."""
    facts = shipped().with_overrides({"metal_working": BOLD})
    half_hard = Temper("strain", 0.20, 0.27)
    plate = MillProblem(
        _bar(Section.flat(4, 50), 80, 165.8),
        _need(Section.flat(0.8, 46), area_mm=(300.0, 46.0), temper=half_hard),
        KIT, variant="fewest",
    )  # fmt: skip
    wire = MillProblem(
        _bar(Section.square(6, 0.97), 110, 39.8), _need(Section.round(1.0), length_mm=3000.0), KIT,
        variant="fewest",
    )  # fmt: skip
    strip = MillProblem(
        _bar(Section.square(8, 0.97), 50, 47.2, GOLD), _need(Section.flat(2, 5), length_mm=200.0),
        KIT, variant="fewest",
    )  # fmt: skip
    return [
        Case("plate 50x80x4 to 0.8 half hard", plate, 1.01, facts),
        Case("bar 6x6x110 to 1.0 wire", wire, 1.01, facts),
        Case("18 kt bar 8x8x50 to 2x5 strip", strip, 1.03, facts),
    ]


def _least_s(work: Callable[[], object], times: int) -> float:
    best = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


def _against_plain(case: Case) -> tuple[str, str]:
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


def run() -> list[tuple[str, str]]:
    """(claim, measured) rows."""
    rows = []
    for case in cases():
        seconds = _least_s(lambda case=case: do(case.problem, tables=case.facts), 7)
        found = do(case.problem, tables=case.facts)
        rows.append(
            (
                f"mill: {case.name}: fewest passages with their bound, goal 0.5 s",
                f"{seconds:.2f} s: {found.fewest} passes, {found.fewest_anneals} anneals, "
                f"cost {found.fewest_cost:g}, bound {found.fewest_bound:g} ({found.fewest_over})",
            )
        )
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
                case.problem.need, bar, KIT, case.problem.bar.body, tables=case.facts
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
