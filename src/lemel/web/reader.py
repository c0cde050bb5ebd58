"""The reader's own units: kept in a cookie, used by every page.

Inside and in the forms' fields metal stays in g, sizes in mm, heat in degC; a field takes other
units where they are written ("2 ozt", "1/4 in", "1760 degF"). What is shown is shown in the
reader's unit. A page's words go through `say`, `remedy` and `show` of this module.
"""

from __future__ import annotations

from collections.abc import Callable
from contextvars import ContextVar
from decimal import Decimal

from django.http import HttpRequest, HttpResponse

from lemel import quantities, words
from lemel.quantities import AS_IT_COMES, Preference
from lemel.values import Caution, Objection, Quantity, Saying

__all__ = [
    "CHOICES", "COOKIE", "Reader", "chosen_words", "in_unit", "prefers", "remedy", "say", "show",
]  # fmt: skip

COOKIE = "lemel-units"
#: What may be chosen, with the word for it; the first of each is what comes of itself.
CHOICES = {
    "mass": (("g", "grams"), ("ozt", "troy ounces"), ("dwt", "pennyweight")),
    "length": (("mm", "millimetres"), ("in", "inches")),
    "temperature": (("degC", "degrees Celsius"), ("degF", "degrees Fahrenheit")),
}
#: How the pages write the units of the house.
_KEYS = {"g": "g", "mm": "mm", "°C": "degC", "degC": "degC"}

_prefers: ContextVar[Preference] = ContextVar("prefers", default=AS_IT_COMES)


def prefers() -> Preference:
    """What the reader of this request has chosen."""
    return _prefers.get()


def say(said: Saying | Objection | Caution) -> str:
    """The sentence of a code in the reader's units."""
    return words.say(said, units=prefers())


def remedy(objection: Objection) -> str:
    """What to do about an objection, in the reader's units."""
    return words.remedy(objection, units=prefers())


def show(quantity: Quantity) -> str:
    """A quantity in the reader's unit."""
    return quantities.show(quantity, prefers())


def in_unit(
    value: float, unit: str, sd: float | None, places: int
) -> tuple[float, str, float | None, int]:
    """A figure of the house in the reader's unit: value, unit as written, sd, places."""
    key = _KEYS.get(unit)
    target = prefers().unit_for(key) if key else ""
    if not key or target == key:
        return value, unit, sd, places
    size = quantities.unit(target)
    turned = float(quantities.convert(Decimal(repr(float(value))), key, target))
    spread = None
    if sd is not None:
        step = float(quantities.convert(Decimal(repr(value + float(sd))), key, target)) - turned
        spread = abs(step)
    return turned, size.symbol, spread, size.decimals


class Reader:
    """Reads the cookie; what it does not understand is as if it were not there."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        token = _prefers.set(_read(str(request.COOKIES.get(COOKIE, ""))))
        try:
            return self.get_response(request)
        finally:
            _prefers.reset(token)


def _read(cookie: str) -> Preference:
    chosen = cookie.split(".")
    known = [{key for key, _ in some} for some in CHOICES.values()]
    if len(chosen) != len(known) or any(
        one not in some for one, some in zip(chosen, known, strict=True)
    ):
        return AS_IT_COMES
    firsts = [some[0][0] for some in CHOICES.values()]
    own = ["" if one == first else one for one, first in zip(chosen, firsts, strict=True)]
    return Preference(*own)


def chosen_words() -> str:
    """The units of now, for the head of a page: "g, mm, °C"."""
    now = prefers()
    return ", ".join(
        quantities.unit(getattr(now, name) or some[0][0]).symbol for name, some in CHOICES.items()
    )
