"""Backups that nobody has to think of: one a day, one before each change of the tables.

The daily ones are thinned to the newest of each of the last 7 days, 8 weeks and 24 months that
have one; what was made by hand, or before a change of the tables, stays.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from lemel.book import folder, ledger, safe

__all__ = ["BEFORE", "Copies", "worth_keeping"]

#: Days, weeks and months of which the newest daily backup is kept.
DAYS, WEEKS, MONTHS = 7, 8, 24
#: How the files are named: `day-2031-10-09.zip`, `before-2031-10-09T120000Z.zip`.
_DAY = re.compile(r"day-(\d{4}-\d{2}-\d{2})\.zip")
BEFORE = "before"


def worth_keeping(days: Iterable[date]) -> set[date]:
    """Which daily backups stay.

    >>> worth_keeping([date(2031, 10, 9), date(2031, 10, 8)]) == {date(2031, 10, 9),
    ...                                                           date(2031, 10, 8)}
    True
    """
    newest_first = sorted(set(days), reverse=True)
    kept = set(newest_first[:DAYS])
    for most, period in (
        (WEEKS, lambda day: day.isocalendar()[:2]),
        (MONTHS, lambda day: (day.year, day.month)),
    ):
        newest: dict[object, date] = {}
        for day in newest_first:
            newest.setdefault(period(day), day)
        kept |= set(list(newest.values())[:most])
    return kept


@dataclass(frozen=True, slots=True)
class Copies:
    """The backups of one book."""

    alias: str
    home: Path
    now: Callable[[], str]

    def daily(self) -> Path | None:
        """Today's backup if it is not there yet and the book holds anything; then thin the rest.

        It counts only once its copy was audited (BadInput otherwise, and the older ones stay).
        """
        now = self.now()
        target = self.home / folder.BACKUPS / f"day-{now[:10]}.zip"
        if target.exists() or not ledger.tail(self.alias)[0]:
            return None
        path, _ = safe.backup(self.alias, self.home, now, target)
        self._thin()
        return path

    def before_change(self) -> Path:
        """A backup of the tables as they are, before a migration changes them."""
        hour = self.now().replace(":", "")
        target = self.home / folder.BACKUPS / f"{BEFORE}-{hour}.zip"
        path, _ = safe.backup(self.alias, self.home, self.now(), target)
        return path

    def kept(self) -> tuple[tuple[Path, int], ...]:
        """Every backup that is there with its size in bytes, the newest first."""
        files = (self.home / folder.BACKUPS).glob("*.zip")
        by_age = sorted(files, key=lambda path: (path.stat().st_mtime, path.name), reverse=True)
        return tuple((path, path.stat().st_size) for path in by_age)

    def _thin(self) -> None:
        days = {
            date.fromisoformat(found[1]): path
            for path, _ in self.kept()
            if (found := _DAY.fullmatch(path.name))
        }
        kept = worth_keeping(days)
        for day, path in days.items():
            if day not in kept:
                path.unlink()
