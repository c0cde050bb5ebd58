"""How long the cards of the demo month take, and how large they are."""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path


def run() -> list[tuple[str, str]]:
    """Claims of the cards and of the sketches, measured."""
    from lemel import cards, files, sketch
    from lemel.demo import quillmarsh
    from lemel.plan import do

    plan = do(files.read_plan_folder(quillmarsh()))
    with tempfile.TemporaryDirectory() as folder:
        begun = time.perf_counter()
        paths = cards.write(plan, Path(folder))
        first = time.perf_counter() - begun
        size = sum(path.stat().st_size for path in paths)
    again = min(_seconds(lambda: cards.month_pdf(plan)) for _ in range(7))
    drawn = [_seconds(lambda: sketch.way(plan)) for _ in range(7)]
    return [
        ("all cards of the demo month, first time, under 3 s", f"{first:.2f} s"),
        ("files, and their size", f"{len(paths)}, {size / 1e6:.1f} MB"),
        ("the month's PDF again, same plan", f"{again:.2f} s"),
        ("the metal's way as SVG", f"{1000 * statistics.median(drawn):.1f} ms"),
    ]


def _seconds(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun
