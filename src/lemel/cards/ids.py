"""Ids told shortly: a run of numbers by its ends, a file name from any id."""

from __future__ import annotations

import re
from collections.abc import Iterable

__all__ = ["file_name", "listed"]

_NUMBERED = re.compile(r"^(?P<stem>.*?)(?P<number>\d+)$")
#: Fewer than this are listed one by one.
_RUN_LEAST = 3


def listed(ids: Iterable[str]) -> str:
    """Ids with commas; three or more that follow each other are told by the first and last.

    >>> listed(["O2.1", "O1.1", "O1.2", "O1.3", "O3.1"])
    'O2.1, O1.1\N{EN DASH}O1.3, O3.1'
    """
    runs: list[list[str]] = []
    for one in dict.fromkeys(ids):
        if runs and _follows(runs[-1][-1], one):
            runs[-1].append(one)
        else:
            runs.append([one])
    told: list[str] = []
    for run in runs:
        told += run if len(run) < _RUN_LEAST else [f"{run[0]}\N{EN DASH}{run[-1]}"]
    return ", ".join(told)


def file_name(text: str) -> str:
    """An id as part of a file's name: letters, digits, dot, dash and underline alone.

    >>> file_name("sterling wire 1.0/O11.1")
    'sterling-wire-1.0_O11.1'
    """
    plain = text.strip().replace("/", "_").replace(" ", "-")
    return re.sub(r"[^\w.\-]", "", plain).strip(".") or "card"


def _follows(one: str, other: str) -> bool:
    first, second = _NUMBERED.match(one), _NUMBERED.match(other)
    if first is None or second is None:
        return False
    return first["stem"] == second["stem"] and int(second["number"]) == int(first["number"]) + 1
