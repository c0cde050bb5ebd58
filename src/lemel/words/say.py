"""From a code with its quantities to a sentence in the reader's units."""

from __future__ import annotations

from collections.abc import Mapping

from lemel.errors import Broken
from lemel.quantities import AS_IT_COMES, Preference, show, show_number
from lemel.values import Caution, Objection, Quantity, Saying, SayingValue
from lemel.words.catalogue import placeholders, template

__all__ = ["be_strict", "remedy", "say"]

_strict = False


def be_strict(strict: bool = True) -> None:
    """Whether a code without words is Broken from now on; tests are strict, a bench is not."""
    global _strict  # noqa: PLW0603
    _strict = strict


def say(
    said: Saying | Objection | Caution,
    language: str = "en",
    *,
    units: Preference = AS_IT_COMES,
    strict: bool | None = None,
) -> str:
    """The sentence of a code, its quantities in the reader's units.

    Beside its own values an objection may use `{about}`, the id of what it is about. A
    value that is itself a code (the sign of an anneal) is said in its own words. A
    code without words, or words that want a value which was not given, is our own fault:
    with `strict` (None: as `be_strict` has set it) it raises Broken, else the reader gets
    the code with its values, so that nothing that a room said is ever lost.

    >>> say(Saying("house.example.mass", {"lot": "S1", "mass": Quantity(41.2, "g")}))
    'Weigh in S1: 41.20 g.'
    """
    values = dict(said.values)
    if isinstance(said, Objection):
        values.setdefault("about", said.about)
    shown = {name: _shown(value, units, language) for name, value in values.items()}
    text = template(said.code, language)
    missing = [] if text is None else [n for n in placeholders(text) if n not in shown]
    if text is None or missing:
        if _strict if strict is None else strict:
            what = "has no words" if text is None else f"lacks {', '.join(missing)}"
            raise Broken(f"the code {said.code} {what}")
        return _bare(said.code, shown)
    return text.format_map(shown)


def remedy(
    objection: Objection,
    language: str = "en",
    *,
    units: Preference = AS_IT_COMES,
    strict: bool | None = None,
) -> str:
    """What to do about an objection: its own remedy, else the words of `<code>.do`, else ""."""
    if objection.remedy is not None:
        return say(objection.remedy, language, units=units, strict=strict)
    code = f"{objection.code}.do"
    if template(code, language) is None:
        return ""
    about: dict[str, SayingValue] = {"about": objection.about}
    return say(Saying(code, {**about, **objection.values}), language, units=units, strict=strict)


def _shown(value: SayingValue, units: Preference, language: str) -> str:
    if isinstance(value, Quantity):
        return show(value, units)
    if isinstance(value, str):
        named = template(value, language)
        return value if named is None or placeholders(named) else named
    return show_number(value)


def _bare(code: str, shown: Mapping[str, str]) -> str:
    told = ", ".join(f"{name} {value}" for name, value in shown.items())
    return f"{code}: {told}" if told else code
