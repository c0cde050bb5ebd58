"""Units and gauges: exact factors in, exact numbers out, and how a number is written for a hand.

Comes in: numbers with the names of units, text such as "2 ozt", gauge numbers with their
system. Goes out: `Decimal`s, an `Amount`, a text with its unit. Temperature and temperature
difference are two dimensions and never convert into each other. May ask: `errors` only.
"""

from lemel.quantities.gauges import GAUGE_SYSTEMS, GaugeSize, from_gauge, gauge_sizes, to_gauge
from lemel.quantities.hand import (
    hand_band,
    hand_gap,
    hand_mass,
    hand_step,
    hand_temperature,
    to_step,
)
from lemel.quantities.show import AS_IT_COMES, Preference, show, show_number
from lemel.quantities.units import (
    Amount,
    Unit,
    convert,
    convert_exactly,
    parse_amount,
    unit,
    units,
)

__all__ = [
    "AS_IT_COMES", "Amount", "GAUGE_SYSTEMS", "GaugeSize", "Preference", "Unit", "convert",
    "convert_exactly", "from_gauge", "gauge_sizes", "hand_band", "hand_gap", "hand_mass",
    "hand_step", "hand_temperature", "parse_amount", "show", "show_number", "to_gauge", "to_step",
    "unit", "units",
]  # fmt: skip
