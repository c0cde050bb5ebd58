"""What the phone at the fire wrote down: one line an id, kept once, undone by another line.

A line that was kept on the phone while the connection was gone comes later and with its own
hour; the same line sent again is the same line.
"""

from __future__ import annotations

import re
import secrets
import time
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest

from lemel.book import Book
from lemel.errors import BadInput
from lemel.web import given

__all__ = ["Entry", "Log", "entry_of", "is_kept", "keep", "log_of", "new_id"]

_ID = re.compile(r"[A-Za-z0-9_-]{12,64}")
_LOCAL = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d")
#: The first and last millisecond that a phone's clock may reasonably tell.
_MS = (0, 32_503_680_000_000)


@dataclass(frozen=True, slots=True)
class Entry:
    """One line: what (step, reading, bag, charged, rehearsed, undo), of which step, its facts.

    `at` is the hour told or "" (then it was written as it happened), `pressed_ms` the phone's
    own clock when it was touched: good for what lies between two lines.
    """

    id: str
    what: str
    step: str
    facts: Mapping[str, Any]
    at: str
    pressed_ms: int


def new_id() -> str:
    """An id for a form that is sent without the phone's own script."""
    return secrets.token_hex(16)


def entry_of(request: HttpRequest, what: str, step: str, facts: Mapping[str, Any]) -> Entry:
    """The line that a form brought, with its id and hours; without them it is of now."""
    name = given.text(request, "id", longest=64)
    if not _ID.fullmatch(name):
        raise BadInput("id", name[:20], "12 to 64 letters and figures", "Open the page again.")
    told = given.text(request, "at", need=False, longest=20)
    local = given.text(request, "local", need=False, longest=20)
    if local and not _LOCAL.fullmatch(local):
        raise BadInput("local", local, "2031-10-09T15:20", "Open the page again.")
    pressed = given.text(request, "pressed", need=False, longest=16) or str(int(time.time() * 1000))
    if not pressed.isdigit() or not _MS[0] <= int(pressed) <= _MS[1]:
        raise BadInput("pressed", pressed, "milliseconds of a clock", "Open the page again.")
    return Entry(name, what, step, facts, told or local, int(pressed))


def _kind(plan: str, heat: str) -> str:
    return f"line {plan}/{heat}"


def is_kept(book: Book, plan: str, heat: str, entry: Entry) -> bool:
    """Whether this very line is in the book; BadInput for another one under its id."""
    there = book.filed_history(_kind(plan, heat), entry.id)
    if not there:
        return False
    kept = there[0].record
    same = (kept["what"], kept["step"], kept["facts"]) == (
        entry.what, entry.step, dict(entry.facts),
    )  # fmt: skip
    if not same:
        raise BadInput("id", entry.id, "an id of its own", "Open the page again, then write it.")
    return True


def keep(
    book: Book, plan: str, heat: str, entry: Entry, private: Mapping[str, Any] | None = None
) -> None:
    """The line into the book."""
    record = {
        "what": entry.what, "step": entry.step, "facts": dict(entry.facts), "at": entry.at,
        "pressed_ms": entry.pressed_ms,
    }  # fmt: skip
    book.file(_kind(plan, heat), entry.id, record, private=private)


@dataclass(frozen=True, slots=True)
class Log:
    """The lines of a heat that stand, in the order in which they were touched."""

    entries: tuple[Entry, ...]
    people: str = ""

    def done(self) -> dict[str, Entry]:
        """The last line of each step that is done."""
        return {one.step: one for one in self.entries if one.what == "step"}

    def last(self, what: str) -> Entry | None:
        """The last line of a kind."""
        found = [one for one in self.entries if one.what == what]
        return found[-1] if found else None

    def all(self, what: str) -> tuple[Entry, ...]:
        """Every line of a kind."""
        return tuple(one for one in self.entries if one.what == what)


def log_of(book: Book, plan: str, heat: str) -> Log:
    """What was written at this heat and not undone."""
    filed = book.filed(_kind(plan, heat))
    lines = [
        Entry(name, one.record["what"], one.record["step"], one.record["facts"],
              one.record["at"], one.record["pressed_ms"])
        for name, one in filed.items()
    ]  # fmt: skip
    lines.sort(key=lambda one: (one.pressed_ms, one.id))
    undone = {str(one.facts["of"]) for one in lines if one.what == "undo"}
    standing = tuple(one for one in lines if one.id not in undone and one.what != "undo")
    people = [str(one.private.get("people", "")) for name, one in filed.items()
              if one.record["what"] == "rehearsed" and name not in undone]  # fmt: skip
    return Log(standing, people[-1] if people else "")
