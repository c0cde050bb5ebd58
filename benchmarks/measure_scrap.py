"""How long a belief takes, from a drawer to a warehouse; and whether its intervals are honest."""

from __future__ import annotations

import time

import numpy as np

from lemel.scrap import AssayedHeat, ScrapProblem, believe
from lemel.values import Composition, Lot, Reading

CLASSES = ("own_offcut", "old_hollowware", "maker_marked", "hallmarked", "filings_clean", "caster")
SEED = 5
REPEATS = 7


def warehouse(lots: int, heats: int) -> ScrapProblem:
    """So many lots in six classes, two readings on every second one, heats of ten lots each."""
    rng = np.random.default_rng(SEED)
    sterling = Composition.from_millesimal({"Ag": 925, "Cu": 75})
    bags = tuple(
        Lot(
            f"L{i:04d}", "house", "Ag", "offcut", 100.0, stated=sterling,
            scrap_class=CLASSES[i % len(CLASSES)],
        )
        for i in range(lots)
    )  # fmt: skip
    readings = [
        Reading(
            f"x{i}-{k}", f"L{i:04d}", "xrf-hand-abraded", {"Ag": rng.normal(0.921, 0.005)},
            source=f"day {i % 8}",
        )
        for i in range(0, lots, 2)
        for k in range(2)
    ]  # fmt: skip
    charges = []
    for h in range(heats):
        chosen = rng.choice(lots, 10, replace=False)
        grams = tuple((f"L{i:04d}", 10.0) for i in sorted(chosen))
        charges.append(AssayedHeat(f"H{h:02d}", grams, 9.99, 110.0))
        readings.append(
            Reading(f"dip{h}", f"H{h:02d}", "silver-volhard", {"Ag": rng.normal(0.927, 0.002)})
        )
    return ScrapProblem(bags, tuple(readings), tuple(charges))


def run() -> list[tuple[str, str]]:
    """Claims and what was measured, for `make measure`."""
    found = []
    for lots, heats in ((20, 0), (100, 10), (1000, 30)):
        problem = warehouse(lots, heats)
        best = min(_seconds(problem) for _ in range(REPEATS if lots < 1000 else 3))
        answer = believe(problem)
        claim = f"{lots} lots, {len(problem.readings)} readings, {heats} heats in one batch"
        shared = len(answer.beliefs.factors)
        found.append((claim, f"{best * 1000:.0f} ms, {shared} shared factors"))
    return found


def _seconds(problem: ScrapProblem) -> float:
    start = time.perf_counter()
    believe(problem)
    return time.perf_counter() - start


if __name__ == "__main__":
    for claim, measured in run():
        print(f"{claim}: {measured}")
