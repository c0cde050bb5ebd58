"""What is kept beside the metal: the register of purchases, and the backups."""

from __future__ import annotations

from datetime import UTC, datetime

from django.http import HttpRequest, HttpResponseBase
from django.urls import path

from lemel.book import Book
from lemel.errors import BadInput
from lemel.web import given, shell
from lemel.web.books_parts import (
    link,
    once,
    sheet,
    weight,
)

__all__ = ["urlpatterns"]

_MB = 1_000_000


def register(request: HttpRequest) -> HttpResponseBase:
    """What was bought in, in the order it came; a new line for a lot that was weighed in."""
    book = shell.book()
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _bought(request, book))
    lines = book.purchases()
    there = {one.lot for one in lines}
    lots = [one.id for one in book.lots() if not one.parents and one.id not in there]
    context = {
        "lines": [(one, weight(one.gross_mg)) for one in lines],
        "lots": [(one, one) for one in lots],
    }
    return sheet(request, "web/books/register.html", context)


def _bought(request: HttpRequest, book: Book) -> str:
    lot = given.text(request, "lot", longest=120)
    seller = given.text(request, "seller", longest=60)
    entered = book.enter_purchase(lot, seller, given.text(request, "described", longest=400))
    shell.tell(request, f"{entered.lot} stands in the register.")
    return link("books-register")


def backups(request: HttpRequest) -> HttpResponseBase:
    """Every backup with its hour and size, and one more at a press."""
    book = shell.book()
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _back_up(request, book))
    kept = [
        {
            "name": path.name,
            "at": datetime.fromtimestamp(path.stat().st_mtime, UTC),
            "megabytes": size / _MB,
            "why": _why(path.name),
        }
        for path, size in book.copies.kept()
    ]
    return sheet(request, "web/books/backups.html", {"kept": kept, "head": book.head()[0]})


def _why(name: str) -> str:
    if name.startswith("day-"):
        return "the day's"
    return "before a change of the tables" if name.startswith("before-") else "by hand"


def _back_up(request: HttpRequest, book: Book) -> str:
    made, audit = book.backup()
    if not audit.whole:
        made.unlink(missing_ok=True)
        raise BadInput("backup", made.name, "a copy that is whole", "Audit the book at once.")
    shell.tell(request, f"{made.name} is made; its copy was opened and audited: whole.")
    return link("books-backups")


urlpatterns = [
    path("register/", register, name="books-register"),
    path("backups/", backups, name="books-backups"),
]
