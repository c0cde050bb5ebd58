"""Who acts, when it is written down, and about when it really was: goes with every act."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import Any

from lemel.errors import BadInput

__all__ = ["Act", "told_hour"]

_HOUR = re.compile(r"(?:(\d{4}-\d\d-\d\d)[T ])?([01]?\d|2[0-3])[:.]([0-5]\d)")


@dataclass(frozen=True, slots=True)
class Act:
    """One act in the book `alias`, written at `now` (UTC), by `by`; `at` is the hour told.

    `at` is by the workshop's own clock and "" where the act is written down as it happens.
    """

    alias: str
    now: str
    by: str = ""
    at: str = ""

    def facts(self, **facts: Any) -> dict[str, Any]:
        """What an entry or event says of itself, with the told hour where there is one."""
        return {**facts, "told_at": self.at} if self.at else facts


def told_hour(said: str, now: str) -> str:
    """ "15:20", or a day and an hour, as YYYY-MM-DDTHH:MM; the day of writing where none is told.

    Raises BadInput for what is no hour, or for a day later than that of the writing.

    >>> told_hour("9.05", "2031-10-09T12:00:00Z")
    '2031-10-09T09:05'
    """
    if not said:
        return ""
    found = _HOUR.fullmatch(said.strip())
    if found is None:
        raise BadInput("at", said, "an hour, or a day and an hour", "Write 15:20.")
    today = now[:10]
    day = found[1] or today
    try:
        later = (date.fromisoformat(day) - date.fromisoformat(today)).days
    except ValueError:
        raise BadInput("at", said, "a day of the calendar", "Write 2031-10-09 15:20.") from None
    # The workshop's clock may be ahead of UTC, by less than a day.
    if later > 1:
        raise BadInput("at", said, "an hour that has passed", "Write when it really was.")
    return f"{day}T{int(found[2]):02d}:{found[3]}"
