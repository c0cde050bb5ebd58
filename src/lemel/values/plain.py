"""Values to plain JSON data and back, exactly.

Dataclasses become objects, tuples lists, Decimal and date text; a frozen mapping stays a
mapping. `from_plain(cls, to_plain(x)) == x` for every value type of the house.
"""

from __future__ import annotations

import dataclasses
import types
import typing
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
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
    if origin is tuple:
        return _build_tuple(typing.get_args(kind), data)
    if origin is not None and isinstance(origin, type) and issubclass(origin, Mapping):
        item = typing.get_args(kind)[1]
        return {key: _build(item, value) for key, value in data.items()}
    if kind is Decimal:
        return Decimal(data)
    if kind is date:
        return date.fromisoformat(data)
    if kind is float and isinstance(data, int) and not isinstance(data, bool):
        return float(data)
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
    if len(items) == 2 and items[1] is Ellipsis:
        return tuple(_build(items[0], one) for one in data)
    return tuple(_build(item, one) for item, one in zip(items, data, strict=True))


def _build_dataclass(kind: type, data: Any) -> Any:
    if not isinstance(data, Mapping):
        raise BadInput(kind.__name__, data, "an object with named fields", "Check the file.")
    hints = _hints(kind)
    names = [f.name for f in dataclasses.fields(kind)]
    unknown = sorted(set(data) - set(names))
    if unknown:
        raise BadInput(unknown[0], data[unknown[0]], ", ".join(names), "Remove the unknown key.")
    return kind(**{name: _build(hints[name], data[name]) for name in names if name in data})
