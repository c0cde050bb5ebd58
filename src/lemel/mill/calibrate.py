"""What a bench learns from its own bars: spread, spring and lead, hardness, pace.

Plain least squares on few readings. Each answer says how many readings it rests on and how
well it fits; with fewer than it needs it refuses.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from lemel.errors import require
from lemel.metal import Working
from lemel.mill.loads import roll_load
from lemel.mill.matter import matter_of
from lemel.mill.rules import Rules, rules_of
from lemel.mill.spread import width_rolled_mm
from lemel.tables import Tables
from lemel.values import Composition, Mill

__all__ = [
    "HardnessRead", "Learnt", "PassRead", "SettingRead", "StandLearnt", "TimeRead",
    "learn_hardness", "learn_lead", "learn_pace", "learn_spread", "learn_stand",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class PassRead:
    """Thickness and width before and after one or several passes in one direction, mm."""

    h_in_mm: float
    width_in_mm: float
    h_out_mm: float
    width_out_mm: float


@dataclass(frozen=True, slots=True)
class SettingRead:
    """A strip rolled once: the screw's reading as a gap, and what was measured, mm.

    `soft_mm` is the thickness at which it was last annealed.
    """

    screw_mm: float
    soft_mm: float
    h_in_mm: float
    h_out_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True)
class HardnessRead:
    """Vickers hardness measured at a strain since soft."""

    strain: float
    hv: float


@dataclass(frozen=True, slots=True)
class TimeRead:
    """Minutes that a route was to take and those that it took."""

    planned_min: float
    taken_min: float


@dataclass(frozen=True, slots=True)
class Learnt:
    """A number learnt: its standard deviation, the rms of what is left over, and readings."""

    value: float
    sd: float
    rms: float
    readings: int


@dataclass(frozen=True, slots=True)
class StandLearnt:
    """A mill as its own strips tell it: `mill` with the modulus learnt, the screw's offset.

    Exit height = screw + offset + force / modulus; rms in mm.
    """

    mill: Mill
    offset_mm: float
    modulus_n_mm: float
    rms_mm: float
    readings: int


def learn_spread(
    reads: Sequence[PassRead], roll_r_mm: float, *, tables: Tables | None = None
) -> Learnt:
    """The factor on the spread that fits the measured widths best, in the logarithm.

    Only bars that are narrow enough to spread teach anything. Raises BadInput for fewer
    than two such bars.
    """
    rules = rules_of(tables)
    telling = [r for r in reads if _expected(r, roll_r_mm, 1.0, rules) > r.width_in_mm * 1.002]
    require(
        len(telling) >= 2, "reads", len(telling), "2 or more bars that spread",
        "Roll some narrow bars flat and measure their width before and after.",
    )  # fmt: skip

    def left_over(factor: float) -> float:
        return sum(
            math.log(r.width_out_mm / _expected(r, roll_r_mm, factor, rules)) ** 2 for r in telling
        )

    value = _least_at(left_over, 0.05, 6.0)
    n, step = len(telling), 0.01
    bend = (left_over(value + step) - 2 * left_over(value) + left_over(value - step)) / step**2
    variance = left_over(value) / max(1, n - 1)
    return Learnt(value, math.sqrt(2 * variance / max(bend, 1e-12)), math.sqrt(variance), n)


def _expected(read: PassRead, roll_r_mm: float, factor: float, rules: Rules) -> float:
    return width_rolled_mm(read.width_in_mm, read.h_in_mm, read.h_out_mm, roll_r_mm, factor, rules)


def _least_at(of: Callable[[float], float], lo: float, hi: float) -> float:
    """Where a function with one valley is least, by golden section."""
    golden = (math.sqrt(5) - 1) / 2
    for _ in range(60):
        a, b = hi - golden * (hi - lo), lo + golden * (hi - lo)
        lo, hi = (lo, b) if of(a) < of(b) else (a, hi)
    return (lo + hi) / 2


def learn_stand(
    reads: Sequence[SettingRead], mill: Mill, body: Composition, *, tables: Tables | None = None
) -> StandLearnt:
    """Offset of the screw and modulus of the stand from strips of several widths.

    Straight line of (exit height - screw) over the computed force. Raises BadInput for
    fewer than three strips, or forces too much alike to tell the spring.
    """
    require(
        len(reads) >= 3, "reads", len(reads), "3 or more strips",
        "Roll three to five strips of different width at noted screw settings.",
    )  # fmt: skip
    forces = [_force_n(read, mill, body, tables) for read in reads]
    gaps = [read.h_out_mm - read.screw_mm for read in reads]
    offset, slope, rms = _line(forces, gaps)
    require(
        max(forces) > 1.3 * min(forces) and slope > 0, "reads", round(slope * 1e6, 3),
        "strips whose force differs by a third or more",
        "Roll some much wider and some much narrower strips.",
    )  # fmt: skip
    modulus = 1 / slope
    return StandLearnt(replace(mill, modulus_n_mm=modulus), offset, modulus, rms, len(reads))


def _force_n(read: SettingRead, mill: Mill, body: Composition, tables: Tables | None) -> float:
    matter = matter_of(body, tables)
    load = roll_load(
        mill, 1.0, matter, rules_of(tables), read.h_in_mm, read.h_out_mm, read.width_mm,
        math.log(read.soft_mm / read.h_in_mm), math.log(read.soft_mm / read.h_out_mm),
    )  # fmt: skip
    return float(load.force_n)


def learn_lead(turns_and_gaps: Sequence[tuple[float, float]]) -> Learnt:
    """Travel of the screw per turn, mm, from (turns, gap) read at the feeler or on strips.

    >>> round(learn_lead([(0, 3.0), (1, 2.51), (2, 1.99), (3, 1.50)]).value, 2)
    0.5
    """
    require(
        len(turns_and_gaps) >= 2, "turns_and_gaps", len(turns_and_gaps), "2 or more readings",
        "Note the turns and measure the gap at each.",
    )  # fmt: skip
    turns = [one[0] for one in turns_and_gaps]
    _, slope, rms = _line(turns, [one[1] for one in turns_and_gaps])
    spread = sum((t - sum(turns) / len(turns)) ** 2 for t in turns)
    sd = rms / math.sqrt(spread) if spread > 0 else math.inf
    return Learnt(abs(slope), sd, rms, len(turns))


def learn_hardness(reads: Sequence[HardnessRead], working: Working) -> Working:
    """The hardening curve moved to a bench's own hardness readings.

    With the scale of strain kept, soft and full hardness come from a straight line in
    1 - exp(-strain / scale). Readings at one strain only move both ends alike. Raises
    BadInput without readings.
    """
    require(
        len(reads) >= 1, "reads", 0, "1 or more readings", "Measure the hardness at a known strain."
    )
    ways = [1 - math.exp(-r.strain / working.strain_scale) for r in reads]
    values = [r.hv for r in reads]
    if max(ways) - min(ways) < 0.15:
        table = [working.soft_hv + (working.full_hv - working.soft_hv) * way for way in ways]
        factor = sum(values) / sum(table)
        soft, full = working.soft_hv * factor, working.full_hv * factor
    else:
        soft, rise, _ = _line(ways, values)
        full = soft + rise
    require(
        0 < soft < full, "reads", [r.hv for r in reads], "hardness that grows with strain",
        "Check the readings and their strains.",
    )  # fmt: skip
    return replace(working, soft_hv=soft, full_hv=full, confidence="medium")


def learn_pace(reads: Sequence[TimeRead]) -> Learnt:
    """How much longer (or shorter) this bench takes than planned: one factor on the minutes.

    >>> round(learn_pace([TimeRead(40, 52), TimeRead(60, 75)]).value, 2)
    1.27
    """
    require(len(reads) >= 1, "reads", 0, "1 or more routes", "Note how long a route took.")
    square = sum(r.planned_min**2 for r in reads)
    value = sum(r.planned_min * r.taken_min for r in reads) / square
    left = sum((r.taken_min - value * r.planned_min) ** 2 for r in reads)
    rms = math.sqrt(left / max(1, len(reads) - 1))
    return Learnt(value, rms / math.sqrt(square), rms, len(reads))


def _line(xs: Sequence[float], ys: Sequence[float]) -> tuple[float, float, float]:
    """Intercept, slope, rms of the straight line of least squares."""
    n = len(xs)
    mean_x, mean_y = sum(xs) / n, sum(ys) / n
    spread = sum((x - mean_x) ** 2 for x in xs)
    together = sum((x - mean_x) * (y - mean_y) for x, y in zip(xs, ys, strict=True))
    slope = together / spread if spread > 0 else 0.0
    intercept = mean_y - slope * mean_x
    left = sum((y - intercept - slope * x) ** 2 for x, y in zip(xs, ys, strict=True))
    return intercept, slope, math.sqrt(left / max(1, n - 2))
