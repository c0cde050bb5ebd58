"""What bags, methods and leaves are called: `{% load bags %}`."""

from __future__ import annotations

from django import template

from lemel.values import Consent, Quantity
from lemel.web.reader import show
from lemel.web.scrap_words import ALLOWS, CLASSES, FORMS, METALS, METHODS

__all__ = ["register"]

register = template.Library()


@register.filter
def lookup_form(form: str, main: str) -> str:
    """A form with its metal: "silver clippings"."""
    return f"{METALS[main]} {FORMS[form]}"


@register.filter
def method_word(method: str) -> str:
    """By what a reading was taken."""
    return METHODS.get(method, method)


@register.filter
def shared_word(source: str) -> str:
    """What an error is shared through: a class of scrap, a method, an instrument and its day."""
    kind, _, name = source.partition(":")
    if kind == "class":
        return f"all {CLASSES.get(name, name)}"
    if kind == "method":
        return f"every reading by {METHODS.get(name, name)}"
    return "all old metal" if source == "scrap:common" else source


@register.filter
def parts(share: float) -> str:
    """A mass fraction as parts in a thousand."""
    return show(Quantity(share * 1000, "millesimal"))


@register.filter
def signed(value: float) -> str:
    """How far something moved, with its sign."""
    return f"{value:+.1f}".replace("-", "\u2212")


@register.filter
def leave_words(consent: Consent) -> str:
    """What a leave allows."""
    code, _, whose = consent.allows.partition(":")
    said = ALLOWS.get(code, code)
    if whose:
        return f"{said} {whose}"
    return f"{said}: {consent.percent:g}" if consent.percent is not None else said
