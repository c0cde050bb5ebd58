"""Whatever a room shows can be written down: every face is made of plain parts."""

from __future__ import annotations

import dataclasses
import importlib
import types
import typing
from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal

from tests.house.reading import agree, rooms

SCALARS = (str, int, float, bool, Decimal, date, type(None), object, typing.Any)
#: Rooms whose faces travel to a child process or into a kept plan.
TRAVELLING = ("metal", "scrap", "blend", "melt", "pour", "mill", "cut", "worth", "plan")

#: Shown, but no answer: filled while a run goes on.
AT_WORK = {"melt.LiveHeat", "melt.Trace"}


def _shown(room: str) -> Iterator[type]:
    package = importlib.import_module(f"lemel.{room}")
    for name in package.__all__:
        value = getattr(package, name)
        known = f"{room}.{name}" not in AT_WORK
        if known and isinstance(value, type) and dataclasses.is_dataclass(value):
            yield value


def _odd_parts(kind: object, seen: set[object]) -> Iterator[object]:
    """Parts of a type that plain data cannot hold."""
    if kind in SCALARS or kind in seen:
        return
    origin, inside = typing.get_origin(kind), typing.get_args(kind)
    if isinstance(kind, type) and dataclasses.is_dataclass(kind):
        for hint in typing.get_type_hints(kind).values():
            yield from _odd_parts(hint, seen | {kind})
    elif isinstance(kind, type) and issubclass(kind, tuple) and hasattr(kind, "_fields"):
        for hint in typing.get_type_hints(kind).values():
            yield from _odd_parts(hint, seen)
    elif origin in (typing.Union, types.UnionType, tuple, frozenset):
        for part in inside:
            if part is not Ellipsis:
                yield from _odd_parts(part, seen)
    elif isinstance(origin, type) and issubclass(origin, Mapping):
        if inside[0] is not str:
            yield kind
        yield from _odd_parts(inside[1], seen)
    else:
        yield kind


def test_faces_are_made_of_plain_parts():
    agree(
        f"{room}.{kind.__name__}: {odd}"
        for room in TRAVELLING
        if room in rooms()
        for kind in _shown(room)
        for odd in set(map(str, _odd_parts(kind, set())))
    )


def test_faces_are_frozen():
    agree(
        f"{room}.{kind.__name__}"
        for room in rooms()
        if hasattr(importlib.import_module(f"lemel.{room}"), "__all__")
        for kind in _shown(room)
        if not kind.__dataclass_params__.frozen  # type: ignore[attr-defined]
    )
