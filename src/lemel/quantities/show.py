"""A quantity as a person reads it: rounded to what it is good for, with its unit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Protocol

from lemel.errors import BadInput
from lemel.quantities.units import Unit, convert, unit

__all__ = ["AS_IT_COMES", "HasUnit", "Preference", "show", "show_number"]


class HasUnit(Protocol):
    """Anything with a value and the key of a unit, such as `values.Quantity`."""

    @property
    def value(self) -> float:
        """The number."""

    @property
    def unit(self) -> str:
        """The key of its unit."""


@dataclass(frozen=True, slots=True)
class Preference:
    """The units that a reader wants; "" leaves a quantity in the unit that it comes in.

    A reader of degF reads temperature differences in Fahrenheit degrees too.

    >>> Preference(mass="ozt", temperature="degF")
    Preference(mass='ozt', length='', temperature='degF')
    """

    mass: str = ""
    length: str = ""
    temperature: str = ""

    def __post_init__(self) -> None:
        for dimension in ("mass", "length", "temperature"):
            name = getattr(self, dimension)
            if name and unit(name).dimension != dimension:
                raise BadInput(dimension, name, f"a unit of {dimension}", "Choose another unit.")

    def unit_for(self, key: str) -> str:
        """The key of the unit in which a quantity in unit `key` is shown."""
        dimension = unit(key).dimension
        if dimension == "difference":
            return "degF_diff" if self.temperature and self._fahrenheit else key
        if dimension in ("mass", "length", "temperature"):
            return unit(getattr(self, dimension) or key).key
        return key

    @property
    def _fahrenheit(self) -> bool:
        return unit(self.temperature).key == "degF"


AS_IT_COMES = Preference()
#: Below this a number is dust of the arithmetic and is shown as nothing.
_DUST = Decimal("1e-9")
#: From here on nobody counts places.
_BEYOND = Decimal("1e15")


def show(quantity: HasUnit, prefer: Preference = AS_IT_COMES) -> str:
    """The quantity as text in the reader's unit.

    Each unit has its own number of places (a balance shows 41.20 g, a furnace 960 degC);
    a value that would vanish in them is given two significant figures instead.

    >>> from lemel.quantities import Amount
    >>> show(Amount(Decimal("31.1034768"), "g"), Preference(mass="ozt"))
    '1.0000 ozt'
    >>> show(Amount(Decimal("960"), "degC")), show(Amount(Decimal("0.00031"), "g"))
    ('960 °C', '0.00031 g')
    """
    target = unit(prefer.unit_for(quantity.unit))
    value = quantity.value
    if not math.isfinite(value):
        return f"{value} {target.symbol}".strip()
    exact = convert(value, quantity.unit, target.key)
    text = _rounded(exact, target)
    gap = "" if target.symbol == "%" else " "
    return f"{text}{gap}{target.symbol}".strip()


def show_number(value: float) -> str:
    """A plain number: whole numbers as they are, others to four significant figures.

    >>> show_number(3), show_number(0.123456), show_number(12345678)
    ('3', '0.1235', '12345678')
    """
    if isinstance(value, int) or float(value).is_integer():
        return str(int(value))
    return f"{value:.4g}"


def _rounded(value: Decimal, target: Unit) -> str:
    if abs(value) >= _BEYOND:
        return f"{value:.4g}"
    places = Decimal(1).scaleb(-target.decimals)
    rounded = value.quantize(places, rounding=ROUND_HALF_EVEN)
    # Near nothing a temperature is still a whole number of degrees, a mass is not nothing.
    if _DUST < abs(value) < places * 5 and value != rounded and target.dimension != "temperature":
        rounded = Decimal(f"{value:.2g}")
    text = f"{rounded:f}"
    if target.trims and "." in text:
        text = text.rstrip("0").rstrip(".")
    return text.removeprefix("-") if rounded.is_zero() else text
