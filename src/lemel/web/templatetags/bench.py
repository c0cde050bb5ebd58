"""Words, figures and fields for the templates; every template has them without loading."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from lemel.values import Caution, Objection, OrderLine, Quantity, Saying, Section
from lemel.web import figures, naming, reader
from lemel.web.band import FIELD
from lemel.web.heat import glow

__all__ = ["register"]

register = template.Library()
#: How names of fields end that hold a measure.
_UNITS = ("g", "mm", "cm", "c", "s", "min", "h", "n", "nm", "percent", "fraction")


@register.filter
def words(said: Saying | Objection | Caution) -> str:
    """The sentence of a code."""
    return reader.say(said)


@register.filter
def do(objection: Objection) -> str:
    """What to do about an objection."""
    return reader.remedy(objection)


@register.filter
def quantity(value: Quantity) -> str:
    """A quantity in words, rounded as its unit is at the bench."""
    return reader.show(value)


@register.filter
def grams(mg: int) -> SafeString:
    """mg of the book as grams on the balance."""
    return figures.grams(mg)


@register.filter
def short(mg: int) -> str:
    """mg as grams (or the reader's unit) in four signs or so, for the narrow band of a phone."""
    mass, unit, _, _ = reader.in_unit(mg / 1000, "g", None, 3)
    return f"{mass:.1f} {unit}" if 0 < mass < 100 else f"{mass:.0f} {unit}"


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
def piece(line: OrderLine) -> str:
    """What an order line wants: "a ring", "12 blanks"."""
    return naming.piece(line)


@register.filter
def sizes(line: OrderLine) -> str:
    """The sizes of an order line."""
    return naming.sizes(line)


@register.filter
def section(cross: Section) -> str:
    """A section by kind and size."""
    return naming.section(cross)


@register.filter
def lookup(mapping: Mapping[str, Any], key: str) -> Any:
    """What stands under a key; the key itself where nothing does."""
    return mapping.get(key) or key


@register.filter
def spoken(field_name: str) -> str:
    """A field's name as one would say it, without its unit.

    >>> spoken("mass_g"), spoken("inside_diameter_mm"), spoken("owner")
    ('mass', 'inside diameter', 'owner')
    """
    words_of = field_name.split("_")
    if len(words_of) > 1 and words_of[-1] in _UNITS:
        words_of.pop()
    return " ".join(words_of)


@register.filter
def own(body: str) -> str:
    """A body by the name that its plan gave it.

    >>> own("plan-12/H1-2-a"), own("sterling wire 1.0")
    ('H1-2-a', 'sterling wire 1.0')
    """
    return body.partition("/")[2] if of_plan(body) else body


@register.filter
def of_plan(body: str) -> str:
    """The plan that a body came of; "" for what was weighed in."""
    plan, slash, _ = body.partition("/")
    return plan if slash and plan.startswith("plan-") else ""


@register.filter
def lead(sentence: str) -> SafeString:
    """A sentence with what stands before its colon in bold."""
    head, colon, rest = sentence.partition(":")
    if not colon:
        return format_html("{}", sentence)
    return format_html("<b>{}:</b>{}", head, rest)


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
