"""What a hand can do: numbers brought to the steps that a tool can be set to."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Context, Decimal

from lemel.errors import BadInput
from lemel.quantities.rows import read_rows

__all__ = ["hand_band", "hand_gap", "hand_mass", "hand_step", "hand_temperature", "to_step"]

_WAYS = {"nearest": ROUND_HALF_EVEN, "down": ROUND_FLOOR, "up": ROUND_CEILING}
#: Binary dust beyond this many digits must not push a value over an edge.
_DUST = Context(prec=12)


def to_step(value: float, step: float, way: str = "nearest") -> float:
    """A value on a grid of `step`: "nearest" (ties to even), "down" or "up".

    Reckoned in decimals, so that 0.3 on a grid of 0.05 is 0.3 whichever way.

    >>> to_step(1.237, 0.05), to_step(0.1 + 0.2, 0.05, "up"), to_step(41.2, 0.01, "down")
    (1.25, 0.3, 41.2)
    """
    if way not in _WAYS:
        raise BadInput("way", way, ", ".join(_WAYS), "Name a way to round.")
    grid = Decimal(repr(float(step)))
    if not grid.is_finite() or grid <= 0:
        raise BadInput("step", step, "more than 0", "Give the tool's step.")
    given = Decimal(repr(float(value)))
    if not given.is_finite():
        raise BadInput("value", value, "a finite number", "Check the number.")
    steps = _DUST.divide(given, grid)
    return float(steps.to_integral_value(rounding=_WAYS[way]) * grid)


def hand_step(what: str) -> float:
    """The step that a hand manages: `temperature` (K), `gap`, `length` (mm), `mass` (g), `time`."""
    for row in read_rows("hand"):
        if row["key"] == what:
            return float(row["step"])
    known = ", ".join(row["key"] for row in read_rows("hand"))
    raise BadInput("what", what, known, "Ask for one of these.")


def hand_temperature(temp_c: float, way: str = "nearest") -> float:
    """A temperature to set, degC.

    >>> hand_temperature(963.4)
    960.0
    """
    return to_step(temp_c, hand_step("temperature"), way)


def hand_band(lo_c: float, hi_c: float) -> tuple[float, float]:
    """A band of temperature for paper, degC: rounded inwards, so that it stays inside.

    Where no step lies inside, both ends are the step nearest to the middle.

    >>> hand_band(932, 958), hand_band(951, 958)
    ((940.0, 950.0), (950.0, 950.0))
    """
    if hi_c < lo_c:
        raise BadInput("hi_c", hi_c, f"at least {lo_c:g}", "Swap the ends of the band.")
    lo, hi = hand_temperature(lo_c, "up"), hand_temperature(hi_c, "down")
    if lo <= hi:
        return lo, hi
    middle = hand_temperature((lo_c + hi_c) / 2)
    return middle, middle


def hand_gap(gap_mm: float, step_mm: float | None = None, way: str = "nearest") -> float:
    """A roll gap or thickness that can be set, mm; `step_mm` None: a common bench mill's."""
    return to_step(gap_mm, hand_step("gap") if step_mm is None else step_mm, way)


def hand_mass(mass_g: float, step_g: float | None = None, way: str = "nearest") -> float:
    """A mass that the balance can show, g; `step_g` None: a common bench balance's."""
    return to_step(mass_g, hand_step("mass") if step_g is None else step_g, way)
