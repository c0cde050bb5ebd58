"""What the words of `lemel book` share: the book's place, a day, who did it, an answer's name."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import Told
from lemel.cli.places import book_place
from lemel.errors import BadInput

if TYPE_CHECKING:
    from lemel.book import Book

__all__ = ["BOOK", "BY", "ON", "READING", "amount", "day_of", "folder_of", "open_at", "told"]

BOOK = click.option("--book", "place", metavar="DIR", help="The book's folder. [as in `where`]")
BY = click.option("--by", default="", metavar="ID", help="Who did it.")
#: Words that change nothing; `begin`, `import` and `restore` begin a book, `backup` is one itself.
READING = frozenset(
    "begin import restore backup backups balance statement audit export plan orders tools stock"
    " steps ways-out losses values origin list".split()
)
ON = click.option("--on", metavar="DATE", help="For this day. [today]")


def folder_of(place: str | None) -> Path:
    """The folder that is named, or the one of `lemel where`."""
    return Path(place).expanduser() if place else book_place()[0]


def open_at(place: str | None, create: bool = False) -> Book:
    """The book there; before the first word of a day that may write in it, the day's backup.

    A word that only reads makes none: with its audit a backup takes longer than the answer.
    """
    from lemel.book import is_book, open_book

    folder = folder_of(place)
    there = is_book(folder)
    opened = open_book(folder, create=create)
    if there and not _only_reads():
        _copy_of_the_day(opened)
    return opened


def _only_reads() -> bool:
    """Whether the word that is spoken, or the word above it, leaves the book as it is."""
    spoken = click.get_current_context(silent=True)
    while spoken is not None:
        if spoken.info_name in READING:
            return True
        spoken = spoken.parent
    return False


def _copy_of_the_day(opened: Book) -> None:
    """No backup is no reason to refuse the bench its entry, but it is said."""
    try:
        opened.copies.daily()
    except (BadInput, OSError) as fault:
        click.echo(f"There is no backup of today: {fault}", err=True)


def amount(mg: float, unit: str) -> str:
    """mg on paper: grams to the mg, troy ounces to four places."""
    from lemel.quantities import convert

    if unit == "g":
        return f"{Decimal(mg) / 1000:.3f}"
    return f"{convert(Decimal(mg) / 1000, 'g', 'ozt'):.4f}"


def told(payload: Mapping[str, Any], show: Callable[[Any], None], code: int = 0) -> Told:
    """An answer whose JSON names the word beside the verb."""
    word = click.get_current_context().info_name
    return Told({**payload, "verb": f"book {word}"}, show, code)


def day_of(written: str | None, option: str = "--on") -> date | None:
    """The day of an option; None where none was given."""
    if written is None:
        return None
    try:
        return date.fromisoformat(written)
    except ValueError:
        raise BadInput(
            option, written, "a date such as 2031-10-09", "Write year-month-day."
        ) from None
