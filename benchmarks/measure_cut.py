"""How full the sheets are, how sure the answers, and how long they take.

Times are seconds of one processor (the work is single-threaded).
"""

from __future__ import annotations

import math
import random
import time
from collections.abc import Callable
from typing import Any

from lemel.cut import Length, Part, Rod, cut_rods, do, need, pack, shortest_length_mm
from lemel.demo import examples
from lemel.files import read_cut
from lemel.values import Composition, OrderLine, Quiet

REPEATS = 7
#: A watch of its own, so that no answer comes from memory.
AWAKE = Quiet()

#: The order-21 squared square: A. J. W. Duijvestijn, J. Combinatorial Theory B 25 (1978).
SQUARED = (50, 35, 27, 8, 19, 15, 17, 11, 6, 24, 29, 25, 9, 2, 7, 18, 16, 42, 4, 37, 33)
#: E. Hopper, thesis (2000), T1a: width and height of 17 pieces of one sheet 200 x 200.
T1A = (
    82, 38, 37, 13, 81, 22, 16, 25, 21, 64, 29, 55, 52, 178, 98, 39, 102, 37, 46, 103, 29, 86,
    10, 37, 63, 26, 50, 11, 13, 40, 60, 29, 119, 20,
)  # fmt: skip
ELL = ((0.0, 0.0), (20.0, 0.0), (20.0, 5.0), (5.0, 5.0), (5.0, 20.0), (0.0, 20.0))


def run() -> list[tuple[str, str]]:
    """Claims and what was measured, for `make measure`."""
    return [*_sheets(), *_rods(), _needs(), _outlines()]


def _sheets() -> list[tuple[str, str]]:
    squares = [Part(f"s{i}", "rect", a, a, (0,)) for i, a in enumerate(SQUARED)]
    pieces = [
        Part(f"t{i}", "rect", high, wide)
        for i, (wide, high) in enumerate(zip(T1A[::2], T1A[1::2], strict=True))
    ]
    discs = [Part(f"d{i}", "disc", 28, 28, (0,)) for i in range(12)]
    ells = [Part(f"l{i}", "path", 20, 20, (0, 90, 180, 270), ELL) for i in range(8)]
    found = []
    for claim, parts, width, optimum in (
        ("21 squares of the perfect square of side 112", squares, 112.0, 112.0),
        ("17 pieces cut from one sheet 200 x 200, turns allowed", pieces, 200.0, 200.0),
        ("12 discs of 28 mm on a sheet 86 mm wide", discs, 86.0, None),
        ("8 angles of 20 mm on a sheet 45 mm wide", ells, 45.0, None),
    ):
        seconds, packing = _best(lambda p=parts, w=width: pack(p, math.inf, w, watch=AWAKE))
        bound = optimum or shortest_length_mm(parts, width)
        use = sum(part.area_mm2 for part in parts) / (packing.used_mm * width)
        least = "optimum" if optimum else "bound"
        found.append(
            (
                claim,
                f"{packing.used_mm:.1f} mm long ({least} {bound:.1f}), {100 * use:.0f} % used, "
                f"{seconds:.2f} s",
            )
        )
    return found


def _rods() -> list[tuple[str, str]]:
    times, proven = [], 0
    for seed in range(50):
        lots = random.Random(seed)
        kinds = [lots.uniform(15, 70) for _ in range(5)]
        pieces = [Length(f"p{i}", lots.choice(kinds)) for i in range(20)]
        rods = [Rod(f"r{i}", lots.uniform(30, 150), False) for i in range(4)]
        rods += [Rod(f"n{i}", 300.0) for i in range(8)]
        begun = time.process_time()
        proven += cut_rods(pieces, rods, kerf_mm=0.3).proof.status == "optimal"
        times.append(time.process_time() - begun)
    times.sort()
    return [
        (
            "20 pieces of 5 lengths from 4 remnants and new rods, 50 seeded cases",
            f"{proven} proven, median {1000 * times[25]:.0f} ms, longest {1000 * times[-1]:.0f} ms",
        )
    ]


def _needs() -> tuple[str, str]:
    sterling = {"UK Ag 925": Composition.from_millesimal({"Ag": 925, "Cu": 75})}
    orders = tuple(
        OrderLine(f"r{size}", "O", "shop", "ring", 1,
                  {"size": f"ISO {size}", "width_mm": 5, "thickness_mm": 1.6}, "UK Ag 925")
        for size in range(48, 68)
    )  # fmt: skip
    seconds, asked = _best(lambda: need(orders, sterling))
    return (
        f"blanks and stock for {len(orders)} rings",
        f"{1000 * seconds:.1f} ms, {len(asked.stock)} strip",
    )


def _outlines() -> tuple[str, str]:
    """The example of nine outlines in three shapes, once, with nothing remembered."""
    asked = read_cut(examples() / "cut_outline.toml")
    bodies = {line.standard: asked.body for line in asked.lines}
    begun = time.process_time()
    wanted = need(asked.lines, bodies, asked.saw, watch=AWAKE)
    middle = time.process_time()
    laid = do(asked.problem(wanted.blanks), watch=AWAKE)
    ended = time.process_time()
    along, across = wanted.stock[0].area_mm or (0.0, 0.0)
    return (
        f"{len(wanted.blanks)} outlines of 3 shapes: sheet to ask for and layout, goal 2 s",
        f"{along:.0f} x {across:.0f} mm in {middle - begun:.2f} s, "
        f"{laid.use:.0%} used in {ended - middle:.2f} s",
    )


def _best(deed: Callable[[], Any]) -> tuple[float, Any]:
    times = []
    for _ in range(REPEATS):
        begun = time.process_time()
        answer = deed()
        times.append(time.process_time() - begun)
    return min(times), answer


if __name__ == "__main__":
    for claim, measured in run():
        print(f"{claim}: {measured}")
