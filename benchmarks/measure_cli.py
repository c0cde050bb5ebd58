"""How soon the front door answers, and what the demo month costs in time and memory."""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
import time

PROGRAM = "import sys; from lemel.cli import run; sys.exit(run({words!r}))"


def _seconds(code: str) -> float:
    begun = time.perf_counter()
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)
    return time.perf_counter() - begun


def _ratio(code: str, against: str, rounds: int = 7) -> float:
    """Best of interleaved runs over best of the other, so that a busy machine hits both."""
    pairs = [(_seconds(code), _seconds(against)) for _ in range(rounds)]
    return min(one for one, _ in pairs) / min(other for _, other in pairs)


def run() -> list[tuple[str, str]]:
    """Claims and what was measured."""
    numpy = "import numpy"
    rows = [
        (f"lemel {' '.join(words)}: cold start over `import numpy`, {goal}",
         f"{_ratio(PROGRAM.format(words=words), numpy):.2f}")
        for words, goal in (
            (["--help"], "at most 1.5"),
            (["alloy", "Ag=925", "Cu=75", "--json"], "at most 2.5"),
        )
    ]  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        words = ["demo", "--json", "--into", folder]
        done = subprocess.run(
            [sys.executable, "-c", PROGRAM.format(words=words)],
            check=True, capture_output=True, text=True,
        )  # fmt: skip
    seconds = json.loads(done.stdout)["seconds"]
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    rows.append(("the demo month planned, under 5 s", f"{seconds:.1f} s"))
    rows.append(("peak memory of the demo, stated", f"{peak:.0f} MiB"))
    return rows


if __name__ == "__main__":
    for claim, measured in run():
        print(f"{claim}: {measured}")
