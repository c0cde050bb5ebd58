"""The book: every gram of every owner's metal, for ever, on an embedded database.

Comes in: lots, readings, consents, a `Plan`, and the weights of the bench. Goes out: balances,
statements, ancestry, an audit; never a solution. May ask: `plan`, `scrap`, the values; nothing
below it knows that it is there. What needs Django is loaded when it is first asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from lemel.book.values import (
    PLACES,
    Account,
    Audit,
    Line,
    Sealed,
)

if TYPE_CHECKING:
    from lemel.book.shop import Book, open_book

__all__ = ["PLACES", "Account", "Audit", "Book", "Line", "Sealed", "open_book"]


def __getattr__(name: str) -> Any:
    if name not in ("Book", "open_book"):
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from lemel.book import shop

    globals().update({own: getattr(shop, own) for own in ("Book", "open_book")})
    return globals()[name]
