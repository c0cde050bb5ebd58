"""Readers of single values: numbers, words, dates, money, fineness."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any

from lemel.files.place import Place

__all__ = [
    "day", "limited", "millesimal", "money", "name", "read_number", "one_word", "percent",
    "percent_from", "positive",
    "text", "whole", "words", "yes_no",
]  # fmt: skip

#: Numbers as people write them; no words, no other alphabets, no gaps.
_PLAIN = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")
_MOST_DIGITS = 15
_TRUE = {"yes": True, "true": True, "no": False, "false": False}


def _decimal(data: Any, place: Place) -> Decimal:
    """Any way of writing a finite number."""
    if place.textual and isinstance(data, str):
        if "," in data:
            raise place.fault(data, "a number with a point", "Write 12.5, not 12,5.")
        data = data.strip()
        if not _PLAIN.fullmatch(data):
            raise place.fault(data, "a number", "Give a plain number such as 12.5.")
    elif isinstance(data, bool) or not isinstance(data, int | float | Decimal):
        raise place.fault(data, "a number", "Give a plain number, without quotes or unit.")
    try:
        value = Decimal(str(data))
    except (InvalidOperation, ValueError):
        raise place.fault(data, "a number", "Give a plain number such as 12.5.") from None
    if not value.is_finite() or (value and abs(value.adjusted()) > _MOST_DIGITS):
        raise place.fault(str(data), "a finite number", "Give a number that a bench can meet.")
    return value


def read_number(data: Any, place: Place) -> float:
    """A finite number."""
    return float(_decimal(data, place))


def limited(
    lo: float, hi: float = math.inf, *, above: bool = False
) -> Callable[[Any, Place], float]:
    """A number from `lo` (or above it) to `hi`."""
    allowed = f"more than {lo:g}" if above else f"{lo:g} or more"
    if hi < math.inf:
        allowed = f"more than {lo:g}, up to {hi:g}" if above else f"{lo:g} to {hi:g}"

    def read(data: Any, place: Place) -> float:
        value = read_number(data, place)
        if value < lo or value > hi or (above and value == lo):
            raise place.fault(value, allowed, "Check the figure and its unit.")
        return value

    return read


positive = limited(0, above=True)


def percent(data: Any, place: Place) -> float:
    """0 to 100, as a fraction."""
    return percent_from(0, 100)(data, place)


def percent_from(lo: float, hi: float) -> Callable[[Any, Place], float]:
    """A percentage within limits, as a fraction."""

    def read(data: Any, place: Place) -> float:
        return limited(lo, hi)(data, place) / 100

    return read


def millesimal(data: Any, place: Place) -> float:
    """0 to 1000 parts, as a mass fraction."""
    return float(limited(0, 1000)(data, place)) / 1000


def whole(lo: int = 0, hi: int = 1_000_000) -> Callable[[Any, Place], int]:
    """A whole number within limits."""

    def read(data: Any, place: Place) -> int:
        value = _decimal(data, place)
        if value != value.to_integral_value() or not lo <= value <= hi:
            raise place.fault(str(data), f"a whole number from {lo} to {hi}", "Count again.")
        return int(value)

    return read


def money(data: Any, place: Place) -> Decimal:
    """An exact amount, zero or more."""
    value = _decimal(data, place)
    if value < 0:
        raise place.fault(str(data), "0 or more", "Check the sign.")
    return value


def text(data: Any, place: Place) -> str:
    """Words on one line; may be empty."""
    if not isinstance(data, str):
        raise place.fault(data, "text in quotes", "Put the words between quotes.")
    if len(data) > 2000 or any(ord(c) < 32 and c != "\t" for c in data):
        raise place.fault(data, "up to 2000 characters on one line", "Shorten the text.")
    return data.strip()


def name(data: Any, place: Place) -> str:
    """A short name that is not empty. In TOML and JSON it must stand in quotes."""
    value = text(data, place)
    if not value or len(value) > 120:
        raise place.fault(value, "a name of 1 to 120 characters", "Give it a short name.")
    return value


def one_word(allowed: Collection[str]) -> Callable[[Any, Place], str]:
    """One word of a closed list."""

    def read(data: Any, place: Place) -> str:
        value = text(data, place)
        if value not in allowed:
            raise place.fault(value, ", ".join(sorted(allowed)), "Use one of these words.")
        return value

    return read


def yes_no(data: Any, place: Place) -> bool:
    """true or false; in a CSV cell yes or no."""
    if isinstance(data, bool):
        return data
    if place.textual and isinstance(data, str) and data.strip().lower() in _TRUE:
        return _TRUE[data.strip().lower()]
    allowed = "yes or no" if place.textual else "true or false"
    raise place.fault(data, allowed, f"Write {allowed}.")


def day(data: Any, place: Place) -> date:
    """A date, 2026-10-09."""
    if isinstance(data, date) and not isinstance(data, datetime):
        return data
    try:
        if isinstance(data, str):
            return date.fromisoformat(data.strip())
    except ValueError:
        pass
    raise place.fault(data, "a date such as 2026-10-09", "Write year-month-day.")


def words(data: Any, place: Place) -> tuple[str, ...]:
    """A list of names; in a CSV cell they are separated by semicolons."""
    if place.textual and isinstance(data, str):
        data = [part.strip() for part in data.split(";") if part.strip()]
    if not isinstance(data, list):
        raise place.fault(data, "a list of names", "Put the names between [ and ].")
    return tuple(name(entry, place.at(position)) for position, entry in enumerate(data))
