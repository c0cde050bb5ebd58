"""Values to plain JSON data and back, exactly.

Dataclasses become objects, tuples (named ones too) lists, Decimal and date text; a frozen
mapping stays a mapping. `from_plain(cls, to_plain(x)) == x` for every value type of the house.
"""

from __future__ import annotations

import dataclasses
import types
import typing
from collections.abc import Mapping
from datetime import date
from decimal import Decimal, InvalidOperation
from functools import cache
from typing import Any, TypeVar

from lemel.errors import BadInput

__all__ = ["from_plain", "to_plain"]

Made = TypeVar("Made")


def to_plain(value: Any) -> Any:
    """JSON-ready data; floats keep every digit."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: to_plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): to_plain(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [to_plain(item) for item in value]
    if isinstance(value, frozenset | set):
        return sorted(to_plain(item) for item in value)
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, date):
        return value.isoformat()
    return value


def from_plain(kind: type[Made], data: Any) -> Made:
    """The value again. Unknown or missing keys raise BadInput by name."""
    return typing.cast(Made, _build(kind, data))


@cache
def _hints(kind: type) -> dict[str, Any]:
    return typing.get_type_hints(kind)


def _build(kind: Any, data: Any) -> Any:
    origin = typing.get_origin(kind)
    if kind is Any or kind is object:
        return data
    if origin in (typing.Union, types.UnionType):
        return _build_union(typing.get_args(kind), data)
    if dataclasses.is_dataclass(kind) and isinstance(kind, type):
        return _build_dataclass(kind, data)
    if isinstance(kind, type) and issubclass(kind, tuple) and hasattr(kind, "_fields"):
        return kind(*_build_tuple(tuple(_hints(kind).values()), data))
    if origin is tuple:
        return _build_tuple(typing.get_args(kind), data)
    if origin in (frozenset, set):
        return frozenset(_build_tuple((typing.get_args(kind)[0], ...), data))
    if origin is not None and isinstance(origin, type) and issubclass(origin, Mapping):
        item = typing.get_args(kind)[1]
        _expect(isinstance(data, Mapping), data, "an object with named entries")
        return {key: _under(key, item, value) for key, value in data.items()}
    return _build_scalar(kind, data)


def _build_scalar(kind: Any, data: Any) -> Any:
    if kind is Decimal or kind is date:
        _expect(isinstance(data, str), data, f"a {kind.__name__.lower()} written as text")
        try:
            return Decimal(data) if kind is Decimal else date.fromisoformat(data)
        except (InvalidOperation, ValueError):
            allowed = "a number such as 12.34" if kind is Decimal else "a date such as 2031-10-09"
            raise BadInput("", data, allowed, "Mend the text.") from None
    if kind is float:
        _expect(isinstance(data, int | float) and not isinstance(data, bool), data, "a number")
        return float(data)
    if kind is int:
        _expect(isinstance(data, int) and not isinstance(data, bool), data, "a whole number")
    if kind is str:
        _expect(isinstance(data, str), data, "a text")
    if kind is bool:
        _expect(isinstance(data, bool), data, "true or false")
    return data


def _build_union(choices: tuple[Any, ...], data: Any) -> Any:
    if data is None:
        return None
    real = [choice for choice in choices if choice is not type(None)]
    if len(real) == 1:
        return _build(real[0], data)
    for choice in real:
        if dataclasses.is_dataclass(choice) and isinstance(data, Mapping):
            names = {f.name for f in dataclasses.fields(choice)}
            if set(data) == names:
                return _build(choice, data)
    return data


def _build_tuple(items: tuple[Any, ...], data: Any) -> tuple[Any, ...]:
    _expect(isinstance(data, list | tuple), data, "a list")
    if len(items) == 2 and items[1] is Ellipsis:
        return tuple(_under(str(n), items[0], one) for n, one in enumerate(data))
    _expect(len(data) == len(items), data, f"a list of {len(items)}")
    pairs = zip(items, data, strict=True)
    return tuple(_under(str(n), item, one) for n, (item, one) in enumerate(pairs))


def _build_dataclass(kind: type, data: Any) -> Any:
    if not isinstance(data, Mapping):
        raise BadInput(kind.__name__, data, "an object with named fields", "Check the file.")
    hints = _hints(kind)
    fields = dataclasses.fields(kind)
    names = [f.name for f in fields]
    unknown = sorted(set(data) - set(names))
    if unknown:
        raise BadInput(unknown[0], data[unknown[0]], ", ".join(names), "Remove the unknown key.")
    for one in fields:
        nothing = (one.default, one.default_factory) == (dataclasses.MISSING, dataclasses.MISSING)
        if nothing and one.name not in data:
            raise BadInput(one.name, None, f"a value for each of {', '.join(names)}", "Add it.")
    return kind(**{name: _under(name, hints[name], data[name]) for name in names if name in data})


def _under(place: str, kind: Any, data: Any) -> Any:
    """Build, and name the place in a fault."""
    try:
        return _build(kind, data)
    except BadInput as fault:
        raise fault.under(place) from None


def _expect(ok: bool, data: Any, allowed: str) -> None:
    if not ok:
        raise BadInput("", data, allowed, "Mend the entry.")
