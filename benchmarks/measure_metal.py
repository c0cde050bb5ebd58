"""How fast the metal room is beside an independent library, and how closely they agree.

Ratios in one run, each the minimum of several, in processor time so that a busy machine
does not count: one alloy, a batch of a thousand, a casting's path in a thousand steps; the
start of `lemel alloy` beside numpy's, interleaved.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial

from lemel.metal import freezing, melting, melting_many
from lemel.metal.bounds import liquidus, solidus
from lemel.metal.model import model_of
from lemel.metal.segregation import freeze_segregated
from lemel.tables import shipped
from lemel.values import Composition

REPEATS = 7
SYSTEM = "Ag-Au-Cu"
ALLOYS = (
    {"Ag": 0.925, "Cu": 0.075},
    {"Au": 0.75, "Ag": 0.125, "Cu": 0.125},
    {"Au": 0.375, "Ag": 0.20, "Cu": 0.425},
)
#: As a bisection would be done with the library's own defaults: to this many kelvins.
BISECT_TO_K = 0.05
LIVE = 4


def least_s(work: Callable[[], object], repeats: int = REPEATS) -> float:
    """Shortest processor time of several runs, s."""
    best = float("inf")
    for _ in range(repeats):
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return best


def alone(parts: dict[str, float]) -> Callable[[], object]:
    """Liquidus and solidus of one alloy, past every cache."""
    model = model_of(Composition.of(parts), shipped())

    def solve() -> object:
        return solidus(model.system, model.x, liquidus(model.system, model.x))

    return solve


def whole(parts: dict[str, float]) -> Callable[[], object]:
    """All of `melting`, the casting's path included, past every cache."""
    model = model_of(Composition.of(parts), shipped())

    def solve() -> object:
        top = liquidus(model.system, model.x)
        solidus(model.system, model.x, top)
        return freeze_segregated(model.system, model.x, top)

    return solve


def thousand() -> tuple[tuple[str, ...], object]:
    """Seeded shares of a thousand alloys."""
    import numpy as np

    elements = tuple(SYSTEM.split("-"))
    return elements, np.random.default_rng(3).dirichlet(np.ones(len(elements)), 1000)


def run() -> list[tuple[str, str]]:
    """Claims and what was measured, for `make measure`."""
    found = speeds()
    found.append(start_up())
    found.append(agreement())
    return found


def speeds() -> list[tuple[str, str]]:
    from reference_metal import Oracle

    oracle = Oracle(SYSTEM, shipped(), prepared=False)
    prepared = Oracle(SYSTEM, shipped(), sampling=500)
    elements, shares = thousand()
    theirs = ready = 0.0
    for parts in ALLOYS:
        moles = [parts.get(e, 1e-9) / m for e, m in zip(elements, oracle.masses, strict=True)]
        x = [n / sum(moles) for n in moles]

        def bisect(one: Oracle, x: list[float] = x) -> object:
            top = one.bisect(x, 1 - 1e-7, BISECT_TO_K)
            return top, one.bisect(x, 1e-7, BISECT_TO_K)

        theirs += least_s(partial(bisect, oracle), 2) / len(ALLOYS)
        ready += least_s(partial(bisect, prepared), 2) / len(ALLOYS)
    mine = sum(least_s(alone(parts)) for parts in ALLOYS) / len(ALLOYS)
    full = sum(least_s(whole(parts)) for parts in ALLOYS) / len(ALLOYS)
    batch = least_s(lambda: melting_many(elements, shares), 3) / 1000
    model = model_of(Composition.of(ALLOYS[0]), shipped())
    top = liquidus(model.system, model.x)
    path = least_s(lambda: freeze_segregated(model.system, model.x, top, steps=1000), 3)
    return [
        ("liquidus and solidus of one alloy, against bisection by default calls: 50 times faster",
         f"{theirs / mine:.0f} times ({1000 * mine:.1f} ms against {theirs:.2f} s; "
         f"{ready / mine:.0f} times with its records built beforehand)"),
        ("the same for a batch of 1000: 500 times faster",
         f"{theirs / batch:.0f} times ({1000 * batch:.2f} ms each; {ready / batch:.0f} times)"),
        ("all of `melting` with the casting's path, not cached", f"{1000 * full:.1f} ms"),
        ("a casting's path in 1000 steps: at most 20 single calls",
         f"{path / full:.1f} calls ({1000 * path:.0f} ms)"),
    ]  # fmt: skip


def children_s() -> float:
    """Processor time of all child processes so far, s."""
    times = os.times()
    return times.children_user + times.children_system


def start_up() -> tuple[str, str]:
    """`lemel alloy` from cold beside `import numpy`, interleaved; both with their bytecode."""
    start = "import sys; from lemel.cli import main; sys.exit(main())"
    alloy = [sys.executable, "-c", start, "alloy", "Ag=925", "Cu=75", "--json"]
    numpy = [sys.executable, "-c", "import numpy"]
    best = {"alloy": float("inf"), "numpy": float("inf")}
    with tempfile.TemporaryDirectory() as kept:
        surroundings = {**os.environ, "PYTHONPYCACHEPREFIX": kept}
        surroundings.pop("PYTHONDONTWRITEBYTECODE", None)
        for turn in range(REPEATS + 1):
            for name, words in (("alloy", alloy), ("numpy", numpy)):
                before = children_s()
                subprocess.run(words, check=True, capture_output=True, env=surroundings)
                if turn:  # the first run writes the bytecode
                    best[name] = min(best[name], children_s() - before)
    return (
        "cold start of `lemel alloy`: at most 2.5 times `import numpy`",
        f"{best['alloy'] / best['numpy']:.2f} times ({1000 * best['alloy']:.0f} ms)",
    )


def agreement() -> tuple[str, str]:
    """Some compositions of the reference, solved live on both sides."""
    from reference_metal import Oracle, reference, samples

    worst = 0.0
    for key in ("Ag-Cu", SYSTEM):
        oracle = Oracle(key, shipped())
        for shares in samples(key, shipped(), LIVE):
            row = reference(oracle, shares)
            range_ = melting(Composition.of(shares))
            freezing(Composition.of(shares))
            worst = max(
                worst,
                abs(range_.liquidus_c - row["liquidus_c"]),
                abs(range_.solidus_c - row["solidus_c"]),
            )
    return (
        f"liquidus and solidus agree with pycalphad, {2 * LIVE} alloys live: 0.05 K",
        f"{worst:.4f} K at most",
    )


if __name__ == "__main__":
    for claim, measured in run():
        sys.stdout.write(f"{claim}: {measured}\n")
