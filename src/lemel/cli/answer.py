"""The one shape of every answer, and the one writer of JSON."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lemel.cli.paper import Paper

__all__ = ["INFEASIBLE", "Told", "as_json", "millesimal", "plain"]

#: Exit code of an answer that says "not so, but thus".
INFEASIBLE = 3


@dataclass(frozen=True, slots=True)
class Told:
    """What a verb answers: the payload for machines, how it is shown to people, the exit code."""

    payload: Mapping[str, Any]
    show: Callable[[Paper], None]
    exit_code: int = 0


def as_json(verb: str, payload: Mapping[str, Any]) -> str:
    """One JSON object with sorted keys; the verb and the version are always in it.

    Floats keep every digit, money is text. A number that is none (NaN, infinite) raises
    ValueError: no answer may hold one.
    """
    from lemel import __version__

    whole = {"verb": verb, "lemel": __version__, **plain(payload)}
    return json.dumps(whole, indent=2, sort_keys=True, ensure_ascii=False, allow_nan=False)


def plain(value: Any) -> Any:
    """JSON-ready data: sayings come with their words, compositions as millesimal parts."""
    from lemel.values import Caution, Composition, Objection, Quantity, Saying

    if isinstance(value, Saying):
        return {"code": value.code, "values": plain(value.values), "text": _words(value)}
    if isinstance(value, Objection):
        return _objection(value)
    if isinstance(value, Caution):
        named = {"code": value.code, "at": value.at, "grade": value.grade, "source": value.source}
        return {**named, "values": plain(value.values), "text": _words(value)}
    if isinstance(value, Composition):
        return millesimal(value)
    if isinstance(value, Quantity):
        return {"value": value.value, "unit": value.unit}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if isinstance(value, frozenset | set):
        return sorted(plain(item) for item in value)
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, date):
        return value.isoformat()
    if value is None or isinstance(value, bool | int | float | str):
        return value
    return str(value)


def millesimal(body: Any) -> dict[str, float]:
    """A composition as parts in a thousand, the undeclared share as `rest` where there is one."""
    parts = {element: round(share * 1000, 9) for element, share in body.parts}
    rest = round(body.rest * 1000, 9)
    return {**parts, "rest": rest} if rest > 0 else parts


def _objection(value: Any) -> dict[str, Any]:
    from lemel.words import remedy

    return {
        "code": value.code,
        "about": value.about,
        "grade": value.grade,
        "values": plain(value.values),
        "text": _words(value),
        "do": remedy(value),
    }


def _words(value: Any) -> str:
    from lemel.words import say

    return say(value)
