"""To open a book in its folder, begin one, or make one from its backup."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from lemel.book import engine, safe
from lemel.book.folder import is_book, make_folder
from lemel.book.shop import Book, utc_now
from lemel.book.values import Audit
from lemel.errors import BadInput

__all__ = ["open_book", "restore"]


def open_book(
    path: Path | str, *, create: bool = False, clock: Callable[[], datetime] = utc_now
) -> Book:
    """The book in a folder; `create` begins one where there is none.

    Before the tables of an older book are changed a backup is made. Raises BadInput where there
    is no book and none is to be begun.
    """
    folder = Path(path).expanduser().resolve()
    fresh = not is_book(folder)
    if fresh and not create:
        raise BadInput(
            "book", str(folder), "a folder with a book in it", "Begin one with `lemel book begin`."
        )
    make_folder(folder)
    alias = engine.connect(folder)
    book = Book(folder, alias, clock)
    if not fresh and engine.waiting(alias):
        book.copies.before_change()
    engine.migrate(alias)
    return book


def restore(backup: Path | str, path: Path | str) -> Audit:
    """A book from its backup, into a folder that has none."""
    engine.ready()
    return safe.restore(Path(backup).expanduser(), Path(path).expanduser().resolve())
