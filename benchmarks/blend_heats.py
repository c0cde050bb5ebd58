"""Several heats at once: gap against time, for the blend room and for a native cone solver.

Run: python benchmarks/blend_heats.py [seconds] [--against]
Processor seconds on one core; `--against` needs `pyscipopt`.
"""

from __future__ import annotations

import sys
import time

from blend_boxes import box

from lemel.blend import BlendOptions, do
from lemel.blend.build import build

__all__ = ["SIZES", "Stopwatch", "heats"]

SIZES = ((50, 3), (200, 10), (1000, 30))
SEED = 1


class Stopwatch:
    """Stops the work after some processor seconds, and keeps the gap at chosen times."""

    stopped_by = "clock"

    def __init__(self, seconds: float, marks: tuple[float, ...] = (5.0, 20.0, 60.0)) -> None:
        self._start, self._seconds = time.process_time(), seconds
        self._marks = list(marks)
        self.gaps: dict[float, float] = {}

    def spent(self) -> float:
        return time.process_time() - self._start

    def cancelled(self) -> bool:
        return self.spent() > self._seconds

    def tell(self, done: float, best: float | None = None, bound: float | None = None) -> None:
        del done
        if best is None or bound is None:
            return
        while self._marks and self.spent() >= self._marks[0]:
            self.gaps[self._marks.pop(0)] = (best - bound) / best


def heats(seconds: float, against: bool = False) -> list[tuple[str, str]]:
    """Gap after so many seconds by size; SCIP beside it if asked for."""
    lines = []
    for lots, many in SIZES:
        options = BlendOptions(explain=False, work_most=10**9, gap=1e-4)
        watch = Stopwatch(seconds)
        answer = do(box(lots, many, SEED, options=options), watch=watch)
        on_the_way = ", ".join(f"{100 * g:.2f} % at {s:g} s" for s, g in watch.gaps.items())
        assert answer.proof.gap is not None
        said = f"{100 * answer.proof.gap:.2f} % at {watch.spent():.0f} s ({on_the_way})"
        if against:
            from blend_against import scip

            _, cost, bound = scip(build(box(lots, many, SEED)).program, 1e-4, seconds)
            shown = "no plan" if cost is None else f"{100 * (cost - bound) / cost:.2f} %"
            said += f"; native cone in the same time: {shown}"
            if cost is not None and answer.cost is not None:
                said += f" (its plan {100 * (cost / answer.cost - 1):+.2f} % dearer)"
        lines.append((f"{many} heats of {lots} lots, proven gap", said))
        print(*lines[-1], sep=": ", flush=True)
    return lines


if __name__ == "__main__":
    time_each = float(sys.argv[1]) if len(sys.argv) > 1 and sys.argv[1][0] != "-" else 60.0
    heats(time_each, "--against" in sys.argv)
