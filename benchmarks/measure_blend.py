"""What the blend room claims about its speed and its promise, measured in a few minutes.

The longer tables have scripts of their own: blend_heats.py (a minute a size),
blend_against.py (beside a native cone solver) and measure_promise.py (three hundred boxes).
"""

from __future__ import annotations

import json
import statistics
import time
from pathlib import Path

from blend_boxes import box
from blend_heats import Stopwatch

from lemel import blend
from lemel.blend.build import build
from lemel.solve import solve

__all__ = ["run"]

INSTANCES = Path(__file__).parents[1] / "tests" / "blend" / "instances"
BOXES = 10


def run() -> list[tuple[str, str]]:
    """(claim, measured) pairs; processor seconds of one core."""
    return [*_instances(), *_one_heat(), _preview(), *_heats()]


def _instances() -> list[tuple[str, str]]:
    lines = []
    for file in sorted(INSTANCES.glob("open_*.json")):
        data = json.loads(file.read_text())
        problem = blend.from_instance(data, blend.BlendOptions(explain=False))
        start = time.process_time()
        answer = blend.do(problem)
        spent = time.process_time() - start
        if answer.cost is None:
            said = f"infeasible, proven in {spent:.2f} s"
        else:
            off = answer.cost / data["expected"]["cost"] - 1
            said = f"{off:+.1e} off the optimum, gap {answer.proof.gap:.1e}, {spent:.2f} s"
        lines.append((f"open instance {file.stem[-2:]} to a gap of 5e-5", said))
    return lines


def _one_heat() -> list[tuple[str, str]]:
    lines = []
    for lots in (10, 50, 200, 1000):
        times = []
        for seed in range(BOXES):
            program = build(box(lots, 1, seed, correlated=seed % 2 == 0)).program
            start = time.process_time()
            assert solve(program, gap=1e-3).proof.status == "optimal"
            times.append(time.process_time() - start)
        said = f"{statistics.median(times):.3f} s (largest {max(times):.2f} s)"
        lines.append((f"one heat of {lots} lots to a proven 0.1 %, median of {BOXES}", said))
    return lines


def _preview() -> tuple[str, str]:
    times = []
    for seed in range(BOXES):
        problem = box(40, 1, seed)
        start = time.process_time()
        blend.preview(problem)
        times.append(time.process_time() - start)
    said = f"{statistics.median(times):.3f} s (largest {max(times):.2f} s)"
    return (f"preview of one heat of 40 lots (goal 0.2 s), median of {BOXES}", said)


def _heats() -> list[tuple[str, str]]:
    lines = []
    for lots, many, seconds in ((50, 3, 10.0), (200, 10, 15.0)):
        options = blend.BlendOptions(explain=False, work_most=10**9, gap=1e-4)
        watch = Stopwatch(seconds)
        answer = blend.do(box(lots, many, 1, options=options), watch=watch)
        assert answer.proof.gap is not None
        said = f"{100 * answer.proof.gap:.2f} % in {watch.spent():.0f} s"
        lines.append((f"{many} heats of {lots} lots, proven gap", said))
    return lines


if __name__ == "__main__":
    for claim, measured in run():
        print(f"{claim}: {measured}")
