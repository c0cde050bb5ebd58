"""The shape of a table with named keys, and the one way in which such a table is read."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from lemel.errors import BadInput
from lemel.files.place import Place, gathered

__all__ = ["Key", "Reader", "listed", "mapping", "one_of_tables", "pick", "table"]

#: Turns what stands in a file into a value, or raises BadInput with the place.
Reader = Callable[[Any, Place], Any]
Made = TypeVar("Made")


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a table: its name in the file, how it is read, where it goes.

    `to` is the argument's name where that differs; `needed` keys must be there.
    """

    name: str
    read: Reader
    needed: bool = False
    to: str = ""


def table(make: Callable[..., Made], *keys: Key) -> Callable[[Any, Place], Made]:
    """A reader of a table with these keys and no other; absent keys are left to `make`."""

    def read(data: Any, place: Place) -> Made:
        values = pick(data, place, *keys)
        try:
            return make(**values)
        except BadInput as fault:
            raise gathered([place.placed(_in_file_words(fault, keys))]) from None

    return read


def pick(data: Any, place: Place, *keys: Key) -> dict[str, Any]:
    """The values of a table by argument name; every fault of the table in one BadInput."""
    if not isinstance(data, Mapping):
        raise place.fault(data, "a table of keys and values", "Write one key to a line.")
    known = {key.name: key for key in keys}
    faults = [_unknown(name, place, known) for name in data if name not in known]
    values: dict[str, Any] = {}
    for key in keys:
        if key.name not in data:
            if key.needed:
                faults.append(place.at(key.name).fault("missing", "a value", "Add the key."))
            continue
        try:
            values[key.to or key.name] = key.read(data[key.name], place.at(key.name))
        except BadInput as fault:
            faults.append(fault)
    if faults:
        raise gathered(faults)
    return values


def listed(read: Reader) -> Callable[[Any, Place], tuple[Any, ...]]:
    """A reader of a list, every entry by the same reader."""

    def read_all(data: Any, place: Place) -> tuple[Any, ...]:
        if not isinstance(data, list):
            raise place.fault(data, "a list", "Put the entries between [ and ].")
        made, faults = [], []
        for position, entry in enumerate(data):
            try:
                made.append(read(entry, place.at(position)))
            except BadInput as fault:
                faults.append(fault)
        if faults:
            raise gathered(faults)
        return tuple(made)

    return read_all


def mapping(read: Reader, *, key: Reader | None = None) -> Callable[[Any, Place], dict[str, Any]]:
    """A reader of a table with free keys, every value by the same reader."""

    def read_all(data: Any, place: Place) -> dict[str, Any]:
        if not isinstance(data, Mapping):
            raise place.fault(data, "a table of keys and values", "Write one key to a line.")
        made: dict[str, Any] = {}
        faults = []
        for name, entry in data.items():
            try:
                if key is not None:
                    key(name, place.at(str(name)))
                made[str(name)] = read(entry, place.at(str(name)))
            except BadInput as fault:
                faults.append(fault)
        if faults:
            raise gathered(faults)
        return made

    return read_all


def one_of_tables(*readers: tuple[str, Reader]) -> Reader:
    """A table whose one key says which kind of thing it holds."""
    names = [name for name, _ in readers]

    def read(data: Any, place: Place) -> Any:
        if not isinstance(data, Mapping) or len(data) != 1 or next(iter(data)) not in names:
            raise place.fault(data, f"one of {', '.join(names)}", "Give exactly one of these.")
        name = next(iter(data))
        return dict(readers)[name](data[name], place.at(name))

    return read


def _unknown(name: Any, place: Place, known: Mapping[str, Key]) -> BadInput:
    near = difflib.get_close_matches(str(name), list(known), 1, 0.6)
    do = f"Did you mean {near[0]}?" if near else "Take the key out, or check its spelling."
    return place.at(str(name)).fault("an unknown key", ", ".join(known), do)


def _in_file_words(fault: BadInput, keys: tuple[Key, ...]) -> BadInput:
    """The fault with the argument's name turned back into the key of the file."""
    names = {key.to: key.name for key in keys if key.to}
    head, dot, tail = fault.field.partition(".")
    if head not in names:
        return fault
    return BadInput(names[head] + dot + tail, fault.value, fault.allowed, fault.do, fault.others)
