"""Words, figures and fields for the templates; every template has them without loading."""

from __future__ import annotations

from typing import Any

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from lemel.quantities import show
from lemel.values import Caution, Objection, Quantity, Saying
from lemel.web import figures
from lemel.web.band import FIELD
from lemel.web.heat import glow
from lemel.words import remedy, say

__all__ = ["register"]

register = template.Library()


@register.filter
def words(said: Saying | Objection | Caution) -> str:
    """The sentence of a code."""
    return say(said)


@register.filter
def do(objection: Objection) -> str:
    """What to do about an objection."""
    return remedy(objection)


@register.filter
def quantity(value: Quantity) -> str:
    """A quantity in words, rounded as its unit is at the bench."""
    return show(value)


@register.filter
def grams(mg: int) -> SafeString:
    """mg of the book as grams on the balance."""
    return figures.grams(mg)


@register.simple_tag
def figure(value: float, unit: str = "", sd: float | None = None, places: int = 3) -> SafeString:
    """A number with its unit small after it; with `sd` the unsure digit is lighter."""
    return figures.figure(value, unit, sd, places)


@register.inclusion_tag("web/shell/ruler.html")
def ruler(mean: float, sd: float, standard: float | None = None) -> dict[str, Any]:
    """A fineness in millesimal parts on its ruler, the standard as a notch."""
    return {"ruler": figures.ruler(mean, sd, standard)}


@register.simple_tag
def heat(temperature_c: float) -> SafeString:
    """How hot: a patch of the metal's own colour, the trade's word, and always the number."""
    seen = glow(temperature_c)
    patch = ""
    if seen.colour:
        patch = format_html(
            '<svg class="heat" viewBox="0 0 24 12" aria-hidden="true" focusable="false">'
            '<rect width="24" height="12" fill="{}"/></svg> ',
            seen.colour,
        )
    number = figures.figure(round(temperature_c), "°C", places=0)
    return format_html("{}{} {}", patch, number, seen.word)


@register.filter
def tenths(value: float) -> str:
    """A coordinate, short."""
    return f"{round(value, 1):g}"


@register.filter
def up(height: float) -> str:
    """A height above the foot of the band as a coordinate from its top."""
    return str(tenths(FIELD - height))


@register.inclusion_tag("web/shell/field.html", takes_context=True)
def field(context: Any, name: str, label: str, **more: Any) -> dict[str, Any]:
    """An input with its label, its unit, what was given before and what is not right with it.

    `more`: type, unit, help, value, inputmode, autocomplete, accept, choices (pairs of value and
    word), required, rows.
    """
    given = context.get("given") or {}
    return {
        "name": name, "label": label, "type": "text", "required": True, **more,
        "value": given.get(name, more.get("value", "")),
        "fault": (context.get("faults") or {}).get(name, ""),
    }  # fmt: skip
