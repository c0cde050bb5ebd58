"""What a form brought, read field by field; what cannot be used is a BadInput at its field."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from datetime import date

from django.http import HttpRequest

from lemel.errors import BadInput
from lemel.quantities import convert, parse_amount

__all__ = ["choice", "day", "number", "optional_number", "text", "whole"]

_LONGEST = 2000
#: The units of fields in which other units may be written, as `quantities` knows them.
_KEYS = {"g": "g", "mm": "mm", "°C": "degC", "degC": "degC"}
#: Letters that are no exponent of a number.
_OTHER_UNIT = re.compile(r"[A-DF-Za-df-z°\"]")


def text(request: HttpRequest, name: str, *, need: bool = True, longest: int = 200) -> str:
    """Words; `need`: they may not be left out."""
    said = str(request.POST.get(name, "")).strip()
    if need and not said:
        raise BadInput(name, "", "a word or two", "Fill this in.")
    if len(said) > min(longest, _LONGEST) or "\x00" in said:
        raise BadInput(name, said[:40], f"{longest} signs or fewer", "Say it shorter.")
    return said


def number(
    request: HttpRequest, name: str, unit: str = "", *, least: float = 0.0, most: float = 1e9
) -> float:
    """A number within its range; a comma is taken for the point where that is plain.

    Where the field is in g, mm or degC another unit may stand after the number ("2 ozt").
    """
    said = text(request, name, longest=40)
    allowed = f"{least:g} to {most:g} {unit}".strip()
    plain = _in_house_unit(name, said, unit, allowed)
    if re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", plain):
        do = f"Is it {plain.replace(',', '.')} or {plain.replace(',', '')}? Write it with a point."
        raise BadInput(name, said, allowed, do)
    try:
        value = float(plain.replace(",", "."))
    except ValueError:
        raise BadInput(name, said, allowed, "Write a number.") from None
    if not math.isfinite(value) or not least <= value <= most:
        raise BadInput(name, said, allowed, "Weigh or measure it again.")
    return value


def _in_house_unit(name: str, said: str, unit: str, allowed: str) -> str:
    """The digits alone, in the field's own unit."""
    plain = said.replace(" ", "").replace("\u202f", "").removesuffix(unit)
    key = _KEYS.get(unit)
    if not key or not re.search(r"\d", plain) or not (_OTHER_UNIT.search(plain) or "/" in plain):
        return plain
    try:
        amount = parse_amount(said, key)
        return str(convert(amount.value, amount.unit, key))
    except BadInput as fault:
        raise BadInput(name, said, allowed, fault.do) from None


def optional_number(
    request: HttpRequest, name: str, unit: str = "", *, least: float = 0.0, most: float = 1e9
) -> float | None:
    """The same; None where the field was left empty."""
    if not str(request.POST.get(name, "")).strip():
        return None
    return number(request, name, unit, least=least, most=most)


def whole(request: HttpRequest, name: str, *, least: int = 0, most: int = 1_000_000) -> int:
    """A whole number within its range."""
    value = number(request, name, least=least, most=most)
    if value != int(value):
        raise BadInput(name, value, f"a whole number, {least} to {most}", "Count again.")
    return int(value)


def choice(request: HttpRequest, name: str, among: Iterable[str]) -> str:
    """One of the words that are offered."""
    known = list(among)
    said = str(request.POST.get(name, ""))
    if said not in known:
        raise BadInput(name, said[:40], ", ".join(known), "Choose one.")
    return said


def day(request: HttpRequest, name: str) -> date:
    """A day as 2031-10-09."""
    said = text(request, name, longest=20)
    try:
        return date.fromisoformat(said)
    except ValueError:
        raise BadInput(name, said, "a day like 2031-10-09", "Write year, month, day.") from None
