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

__all__ = ["BOOK", "BY", "ON", "amount", "day_of", "folder_of", "open_at", "told"]

BOOK = click.option("--book", "place", metavar="DIR", help="The book's folder. [as in `where`]")
BY = click.option("--by", default="", metavar="ID", help="Who did it.")
ON = click.option("--on", metavar="DATE", help="For this day. [today]")


def folder_of(place: str | None) -> Path:
    """The folder that is named, or the one of `lemel where`."""
    return Path(place).expanduser() if place else book_place()[0]


def open_at(place: str | None, create: bool = False) -> Book:
    """The book there."""
    from lemel.book import open_book

    return open_book(folder_of(place), create=create)


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
