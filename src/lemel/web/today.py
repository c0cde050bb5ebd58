"""What can I make from this, today? One line an open order, and the drawer."""

from __future__ import annotations

from functools import lru_cache

from django.http import HttpRequest, HttpResponse
from django.urls import path

from lemel.book import Book, Shelved, last_change
from lemel.errors import BadInput
from lemel.values import OrderLine
from lemel.web import shell
from lemel.web.drawer import drawer, fits, from_hand
from lemel.web.makeable import Makeable, makeable

__all__ = ["urlpatterns"]

#: Ranks of lines that no work is planned for.
_TO_PLAN = ("unmet", "no_plan")


def index(request: HttpRequest) -> HttpResponse:
    """The first page."""
    book = shell.book()
    lines = _makeable(book, last_change(book))
    context = {
        "ready": [one for one in lines if one.how not in _TO_PLAN],
        "to_plan": [one for one in lines if one.how in _TO_PLAN],
        "owners": book.owners(),
    }
    return shell.show(request, "web/today/index.html", context)


def in_drawer(request: HttpRequest) -> HttpResponse:
    """Remnants and stock, the lightest first."""
    book = shell.book()
    context = {"bars": _drawer(book, last_change(book)), "owners": book.owners()}
    return shell.part(request, "web/today/drawer.html", context)


def hand(request: HttpRequest) -> HttpResponse:
    """What meets the lines that no plan has yet, without melting."""
    found = from_hand(shell.book())
    return shell.part(request, "web/today/hand.html", {"found": found.items()})


def does(request: HttpRequest, line: str) -> HttpResponse:
    """What of the drawer does for one line, the smallest first."""
    book = shell.book()
    wanted = _line(book, line)
    tried = fits(book, wanted)
    context = {
        "line": wanted,
        "does": [one for one in tried if one.does],
        "others": [one.bar for one in tried if not one.does],
    }
    return shell.part(request, "web/today/does.html", context)


def _line(book: Book, name: str) -> OrderLine:
    lines = {one.line.id: one.line for one in book.bench.orders(open_only=False)}
    if name not in lines:
        known = ", ".join(lines) or "none yet"
        raise BadInput("order line", name, known, "Enter it under Orders.")
    return lines[name]


@lru_cache(maxsize=16)
def _makeable(book: Book, change: tuple[int, ...]) -> tuple[Makeable, ...]:  # noqa: ARG001
    return makeable(book)


@lru_cache(maxsize=16)
def _drawer(book: Book, change: tuple[int, ...]) -> tuple[Shelved, ...]:  # noqa: ARG001
    return drawer(book)


urlpatterns = [
    path("", index, name="today"),
    path("drawer/", in_drawer, name="drawer"),
    path("at-hand/", hand, name="at-hand"),
    path("does/<path:line>/", does, name="does"),
]
