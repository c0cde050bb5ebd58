"""The stock-take: a list without weights, what was found row by row, and the sign-off."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.urls import path

from lemel.book import Book, StockTake
from lemel.errors import BadInput
from lemel.web import given, shell
from lemel.web.books_parts import (
    link,
    once,
    pdf,
    picked,
    place_word,
    sheet,
    weight,
)

__all__ = ["urlpatterns"]

#: Where metal lies that can be put on a balance, in the order of a round through the shop.
_COUNTED = ("store", "piece", "scrap", "lemel_box", "slag", "sweeps", "hold_up")
_KIND = "stock-take"


def takes(request: HttpRequest) -> HttpResponseBase:
    """Every stock-take so far, and a new list."""
    book = shell.book()
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _draw_up(request, book))
    made = [book.papers.read_stock_take(number) for number in book.filed(_KIND)]
    context = {
        "takes": [(one, weight(one.difference_mg)) for one in reversed(made)],
        "places": [(one, place_word(one)) for one in _COUNTED],
        "whose": [("", "everybody's"), *book.owners().items()],
        "ticked": picked(request, "place"),
    }
    return sheet(request, "web/books/counts.html", context)


def _draw_up(request: HttpRequest, book: Book) -> str:
    owner = given.choice(request, "owner", ("", *book.owners()))
    by = given.text(request, "by", need=False, longest=60)
    made = book.papers.stock_take(picked(request, "place"), owner=owner or None, by=by)
    return link("books-count", made.number)


def take(request: HttpRequest, number: str) -> HttpResponseBase:
    """One list: to be counted and signed while it is open, to be read afterwards."""
    book = shell.book()
    made = book.papers.read_stock_take(number)
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _sign(request, book, made))
    found = {one.n: one for one in made.counted}
    places: dict[str, list[dict[str, Any]]] = {}
    for row in made.rows:
        counted = found.get(row.n)
        places.setdefault(place_word(row.place), []).append(
            {
                "row": row,
                "field": f"row {row.n}",
                "book": weight(row.book_mg),
                "found": None if counted is None else weight(counted.weighed_mg),
                "off": None if counted is None else weight(counted.difference_mg),
                "entry": None if counted is None else counted.entry,
            }
        )
    context = {"take": made, "places": places, "off": weight(made.difference_mg)}
    return sheet(request, "web/books/count.html", context)


def _sign(request: HttpRequest, book: Book, made: StockTake) -> str:
    there = link("books-count", made.number)
    weighed = {
        row.n: grams
        for row in made.rows
        if (grams := given.optional_number(request, f"row {row.n}", "g", most=1e5)) is not None
    }
    if not weighed:
        raise BadInput(f"row {made.rows[0].n}", "", "a weight of one row or more", "Count first.")
    first = given.text(request, "signed_by", longest=60)
    second = given.text(request, "second", need=False, longest=60)
    signed = book.papers.sign_off(made.number, weighed, [first, *([second] if second else [])])
    blank = f" {signed.left_blank} rows were left blank." if signed.left_blank else ""
    shell.tell(request, f"Signed off: every difference is in the book.{blank}")
    return there


def take_pdf(request: HttpRequest, number: str) -> HttpResponse:  # noqa: ARG001
    """The list to count, or what was found, on paper."""
    papers = shell.book().papers
    return pdf(f"stock-take {number}", papers.pdf(papers.read_stock_take(number)))


urlpatterns = [
    path("count/", takes, name="books-counts"),
    path("count/<str:number>.pdf", take_pdf, name="books-count-pdf"),
    path("count/<str:number>/", take, name="books-count"),
]
