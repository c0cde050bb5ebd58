"""Where in which file something stands, so that a fault can name it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path as Path_
from typing import Any

from lemel.errors import BadInput

__all__ = ["Path", "Place", "gathered"]

#: The way from the top of a file to a value: keys, and 0-based positions in lists.
Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Place:
    """A spot in a file: its name, the way down to the value, and the lines of what stands where.

    `textual` says that every value is text as in a CSV cell, so a number may be written as
    text; elsewhere a number in quotes is a fault. `beside` is the folder in which files that
    this one names lie (None: it came by stdin or over the wire, and may name none).
    """

    file: str
    path: Path = ()
    lines: Mapping[Path, int] = field(default_factory=dict)
    textual: bool = False
    beside: Path_ | None = None

    def at(self, *more: str | int) -> Place:
        """The place further down."""
        return replace(self, path=(*self.path, *more))

    @property
    def line(self) -> int | None:
        """Line of this value, or of the nearest thing above it that has one; None if unknown."""
        for length in range(len(self.path), -1, -1):
            if self.path[:length] in self.lines:
                return self.lines[self.path[:length]]
        return None

    def __str__(self) -> str:
        """`workshop.toml line 31, mould[2].length_mm`: positions counted from one."""
        name = ""
        for step in self.path:
            if isinstance(step, int):
                name += f"[{step + 1}]"
            else:
                name += f".{step}" if name else step
        where = self.file if self.line is None else f"{self.file} line {self.line}"
        return ", ".join(part for part in (where, name) if part)

    def fault(self, value: Any, allowed: str, do: str) -> BadInput:
        """A fault of the value that stands here."""
        return BadInput(str(self), _short(value), allowed, do)

    def placed(self, fault: BadInput) -> BadInput:
        """A fault that a value found in itself, with this place before its field's name."""
        others = [self.placed(other) for other in fault.others]
        down = self.at(fault.field) if fault.field else self
        return BadInput(str(down), _short(fault.value), fault.allowed, fault.do, others)


def gathered(faults: Iterable[BadInput]) -> BadInput:
    """Many faults as one that carries the rest."""
    flat = [
        BadInput(one.field, one.value, one.allowed, one.do) for fault in faults for one in fault.all
    ]
    first, *rest = flat
    return BadInput(first.field, first.value, first.allowed, first.do, rest)


def _short(value: Any) -> Any:
    """A value fit for one sentence."""
    if isinstance(value, bool | int | float) or value is None:
        return value
    text = str(value)
    return text if len(text) <= 80 else f"{text[:77]}..."
