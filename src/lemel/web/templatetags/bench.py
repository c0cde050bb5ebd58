"""Words, figures and fields for the templates; every template has them without loading."""

from __future__ import annotations

from typing import Any

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from lemel.values import Caution, Objection, Saying
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
def grams(mg: int) -> SafeString:
    """mg of the book as grams on the balance."""
    return format_html('<data class="figure" value="{}">{}<small> g</small></data>',
                       mg / 1000, f"{mg / 1000:,.3f}".replace(",", "\u2009"))  # fmt: skip


@register.inclusion_tag("web/shell/field.html", takes_context=True)
def field(context: Any, name: str, label: str, **more: Any) -> dict[str, Any]:
    """An input with its label, its unit, what was given before and what is not right with it.

    `more`: type, unit, help, value, inputmode, autocomplete, choices (pairs of value and word),
    required, rows.
    """
    given = context.get("given") or {}
    return {
        "name": name, "label": label, "type": "text", "required": True, **more,
        "value": given.get(name, more.get("value", "")),
        "fault": (context.get("faults") or {}).get(name, ""),
    }  # fmt: skip
