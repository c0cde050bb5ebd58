"""Whether anything was written since: so that what was read and drawn may be shown again."""

from __future__ import annotations

from itertools import count
from typing import TYPE_CHECKING, Any

from django.db import connections

if TYPE_CHECKING:
    from lemel.book.opened import Opened

__all__ = ["last_change"]

_numbers = count(1)
_KEPT = "_lemel_numbered"


def last_change(book: Opened) -> tuple[int, ...]:
    """The same for the same thread as long as nobody wrote into the book, by whatever way.

    On SQLite these are the database's own counts of what others (`data_version`) and this
    connection (`total_changes`) wrote. Elsewhere every asking has a number of its own, so that
    nothing is ever taken for unchanged.
    """
    connection: Any = connections[book.alias]
    connection.ensure_connection()
    if connection.vendor != "sqlite":
        return (next(_numbers),)
    raw, number = getattr(connection, _KEPT, (None, 0))
    if raw is not connection.connection:
        raw, number = connection.connection, next(_numbers)
        setattr(connection, _KEPT, (raw, number))
    version = raw.execute("PRAGMA data_version").fetchone()[0]
    return number, version, raw.total_changes
