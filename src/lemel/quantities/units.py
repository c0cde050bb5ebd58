"""The closed list of units, exact conversion between them, and reading them from text."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Context, Decimal, InvalidOperation
from fractions import Fraction
from functools import cache
from types import MappingProxyType

from lemel.errors import BadInput
from lemel.quantities.rows import read_rows

__all__ = [
    "Amount",
    "Number",
    "Unit",
    "convert",
    "convert_exactly",
    "parse_amount",
    "unit",
    "units",
]

Number = int | float | str | Decimal | Fraction

#: Quotients that never end are cut at this many significant digits.
_DIGITS = Context(prec=28)
_AMOUNT = re.compile(
    r"\s*(?P<number>[-+]?\s*(?:\d+\s+\d+/\d+|\d+/\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?))"
    r"\s*(?P<unit>.*?)\s*"
)


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: value in the dimension's base = value * factor + offset, both exact.

    `decimals` is how many places are written after the point and `trims` whether idle
    zeros are left off; `symbol` is what is printed.
    """

    key: str
    dimension: str
    factor: Fraction
    offset: Fraction
    symbol: str
    decimals: int
    trims: bool
    note: str
    source: str
    trust: str


@dataclass(frozen=True, slots=True)
class Amount:
    """An exact number with the key of its unit."""

    value: Decimal
    unit: str

    def to(self, wanted: str) -> Decimal:
        """The same amount in another unit of the same dimension."""
        return convert(self.value, self.unit, wanted)


@cache
def units() -> Mapping[str, Unit]:
    """All units by key, in the order of the table."""
    return MappingProxyType({row["key"]: _unit_of(row) for row in read_rows("units")})


def unit(name: str) -> Unit:
    """A unit by key or by another of its names. BadInput where there is none, or more than one.

    >>> unit("pennyweight").key
    'dwt'
    """
    known, spelled, loose = units(), _spellings(), _loose_spellings()
    asked = name.strip()
    if asked in known:
        return known[asked]
    if asked in spelled:
        return known[spelled[asked]]
    unclear = _ambiguous().get(asked.lower())
    if unclear:
        choices, why = unclear
        raise BadInput("unit", name, " or ".join(choices), f"Say which one: {why}.")
    joined = re.sub(r"[\s-]+", "_", asked).lower()
    if joined in loose:
        return known[loose[joined]]
    raise BadInput("unit", name, ", ".join(known), "Write one of these units; letter case counts.")


def convert(value: Number, from_unit: str, to_unit: str) -> Decimal:
    """A value in another unit of the same dimension.

    Exact wherever the quotient ends, else to 28 significant digits. A temperature (degC,
    degF, kelvin) and a temperature difference (K, degF_diff) are different dimensions:
    nothing turns one into the other. Raises BadInput for an unknown or unclear unit, for
    two dimensions, and for a temperature below absolute zero.

    >>> convert(2, "ozt", "g")
    Decimal('62.2069536')
    >>> convert(1435, "degF", "degC").quantize(Decimal("0.1"))
    Decimal('779.4')
    >>> convert(18, "degF_diff", "K")
    Decimal('10')
    """
    exact = convert_exactly(value, from_unit, to_unit)
    return _DIGITS.divide(Decimal(exact.numerator), Decimal(exact.denominator)).normalize() + 0


def convert_exactly(value: Number, from_unit: str, to_unit: str) -> Fraction:
    """The same as `convert`, as a fraction: no digit is lost."""
    source, target = unit(from_unit), unit(to_unit)
    if source.dimension != target.dimension:
        raise BadInput(
            "unit",
            to_unit,
            f"a unit of {source.dimension.replace('_', ' ')}: "
            + ", ".join(u.key for u in units().values() if u.dimension == source.dimension),
            _why_not(source, target),
        )
    base = exact_number("value", value) * source.factor + source.offset
    if source.dimension == "temperature" and base < units()["kelvin"].offset:
        raise BadInput("value", value, "-273.15 degC or more", "Check the number and its scale.")
    return (base - target.offset) / target.factor


def parse_amount(text: str, default_unit: str | None = None) -> Amount:
    """A number with its unit as somebody writes it: "2 ozt", "1 1/2 in", "-5 degC", "0.8mm".

    A bare number takes `default_unit`, or is refused where there is none. A decimal
    comma is refused, since a comma also parts thousands.

    >>> parse_amount("1 1/2 ozt")
    Amount(value=Decimal('1.5'), unit='ozt')
    """
    found = _AMOUNT.fullmatch(text)
    if not found:
        do = "Use a point, not a comma." if "," in text else "Begin with the number."
        raise BadInput("amount", text, "a number and a unit, such as 2 ozt or 0.8 mm", do)
    name = found["unit"] or default_unit
    if name is None:
        raise BadInput("amount", text, "a number and a unit, such as 2 ozt or 0.8 mm", "Name it.")
    if "," in name:
        raise BadInput("amount", text, "a number with a point", "Write 1.5, not 1,5.")
    size = sum(exact_number("amount", part) for part in found["number"].strip("+- ").split())
    signed = Fraction(-size if found["number"].startswith("-") else size)
    value = _DIGITS.divide(Decimal(signed.numerator), Decimal(signed.denominator))
    return Amount(value, unit(name).key)


def exact_number(field: str, value: Number) -> Fraction:
    """A number without loss; a float counts for the digits that it prints as."""
    try:
        if isinstance(value, bool):
            raise ValueError
        if isinstance(value, float):
            return Fraction(Decimal(repr(value)))
        if isinstance(value, str):
            return Fraction(value.strip())
        return Fraction(value)
    except (ValueError, OverflowError, InvalidOperation, ZeroDivisionError, TypeError):
        raise BadInput(field, value, "a finite number", "Write a plain number.") from None


def _why_not(source: Unit, target: Unit) -> str:
    if {source.dimension, target.dimension} == {"temperature", "difference"}:
        return (
            "A temperature and a temperature difference are not the same: K and degF_diff "
            "are differences, degC, degF and kelvin are temperatures."
        )
    return f"{target.key} measures {target.dimension.replace('_', ' ')}."


def _unit_of(row: dict[str, str]) -> Unit:
    return Unit(
        row["key"],
        row["dimension"],
        _ratio(row["factor"]),
        _ratio(row["offset"]),
        row["symbol"],
        int(row["decimals"]),
        row["trim"] == "yes",
        row["note"],
        row["source"],
        row["trust"],
    )


def _ratio(text: str) -> Fraction:
    above, _, below = text.partition("/")
    return Fraction(above) / Fraction(below or "1")


@cache
def _spellings() -> Mapping[str, str]:
    return {alias: row["key"] for row in read_rows("units") for alias in row["aliases"].split()}


@cache
def _loose_spellings() -> Mapping[str, str]:
    """Names of four letters and more, where letter case cannot change the meaning."""
    spelled = {**{key: key for key in units()}, **_spellings()}
    return {name.lower(): key for name, key in spelled.items() if len(name) > 3}


@cache
def _ambiguous() -> Mapping[str, tuple[tuple[str, ...], str]]:
    return {
        row["key"]: (tuple(row["choices"].split()), row["why"]) for row in read_rows("ambiguous")
    }
