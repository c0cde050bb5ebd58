"""One owner: what they have and where, their statement over a period, the unit they read."""

from __future__ import annotations

from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.urls import path

from lemel.book import Book, Statement
from lemel.errors import BadInput
from lemel.web import given, shell
from lemel.web.books_parts import (
    UNITS,
    fine,
    house_of,
    kind_word,
    once,
    owner_of,
    pdf,
    place_word,
    sheet,
    weight,
)

__all__ = ["period", "urlpatterns"]

_TELLING = ("outside", "loss", "assay_difference", "stock_take")


def account(request: HttpRequest, owner: str) -> HttpResponseBase:
    """Heap by heap what an owner has; how they read it; a period to state; their name."""
    book = shell.book()
    name = owner_of(book, owner)
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _act(request, book, owner, name))
    unit = book.papers.unit_of(owner)
    heaps = [
        {
            "place": place_word(one.place),
            "body": one.body,
            "has_page": one.place in ("store", "piece", "scrap"),
            "gross": weight(metal.gross_mg, unit),
            "fine": fine(metal.as_dict(), unit),
        }
        for one, metal in book.balances(owner=owner).items()
        if one.place not in _TELLING and metal.gross_mg
    ]
    today = book.bench.today()
    context = {
        "owner": owner, "name": name, "unit": unit, "readings": UNITS, "heaps": heaps,
        "since": today.replace(day=1).isoformat(), "until": today.isoformat(),
    }  # fmt: skip
    return sheet(request, "web/books/owner.html", context)


def _act(request: HttpRequest, book: Book, owner: str, name: str) -> str:
    if given.choice(request, "do", ("unit", "erase")) == "unit":
        unit = given.choice(request, "unit", [one for one, _ in UNITS])
        book.papers.set_unit(owner, unit)
        shell.tell(request, f"{name} reads in {dict(UNITS)[unit]} from now on.")
        return str(request.path)
    if given.text(request, "sure") != owner:
        wrong = request.POST.get("sure", "")
        raise BadInput("sure", wrong, owner, "Write the short name to be sure.")
    if owner == house_of(book):
        raise BadInput("sure", owner, "a customer or student", "The shop keeps its own name.")
    key = book.erase_names(owner)
    shell.tell(request, f"The name is out of the book. The account goes on as {key}.")
    return "/books/"


def period(request: HttpRequest) -> tuple[str, str]:
    """First and last day that were asked for, as they are written; "" where one was left out."""
    days = []
    for name in ("since", "until"):
        said = str(request.GET.get(name, "")).strip()
        if said:
            try:
                # The day after it must be a day too: that is where the period ends.
                said = (date.fromisoformat(said) + timedelta(1) - timedelta(1)).isoformat()
            except (ValueError, OverflowError):
                raise BadInput(name, said[:20], "a day like 2031-10-09", "Write it so.") from None
        days.append(said)
    since, until = days
    if since and until and since > until:
        raise BadInput("until", until, f"{since} or later", "The last day comes after the first.")
    return since, until


def _stated(request: HttpRequest, owner: str) -> tuple[Statement, str]:
    book = shell.book()
    since, until = period(request)
    unit = str(request.GET.get("unit", "")) or book.papers.unit_of(owner)
    if unit not in dict(UNITS):
        raise BadInput("unit", unit[:20], "g or ozt", "Choose one.")
    before = (date.fromisoformat(until) + timedelta(1)).isoformat() if until else "9999"
    return book.statement(owner, since, before), unit


def stated(request: HttpRequest, owner: str) -> HttpResponse:
    """The statement: opening, what came and went, closing, in gross and by fine metal."""
    book = shell.book()
    name = owner_of(book, owner)
    made, unit = _stated(request, owner)
    since, until = period(request)
    lines = [
        {
            "number": one.number,
            "day": one.made_at[:10],
            "kind": kind_word(one.kind),
            "about": one.about,
            "gross": weight(one.gross_mg, unit),
            "fine": fine(one.fine_ng, unit),
        }
        for one in made.lines
    ]
    context = {
        "owner": owner, "name": name, "unit": unit, "readings": UNITS, "lines": lines,
        "since": since, "until": until, "head": made.head, "asked": request.GET.urlencode(),
        "opening": (weight(made.opening_mg, unit), fine(made.opening_ng, unit)),
        "closing": (weight(made.closing_mg, unit), fine(made.closing_ng, unit)),
    }  # fmt: skip
    return sheet(request, "web/books/statement.html", context)


def stated_pdf(request: HttpRequest, owner: str) -> HttpResponse:
    """The same on paper."""
    owner_of(shell.book(), owner)
    made, unit = _stated(request, owner)
    return pdf(f"statement {owner}", shell.book().papers.pdf(made, unit=unit))


def people(request: HttpRequest) -> HttpResponseBase:
    """Who the book knows as an owner; a new one is entered here."""
    book = shell.book()
    with shell.faults(request):
        if request.method == "POST":
            code = given.text(request, "id", longest=60)
            if not code.replace("-", "").replace("_", "").isalnum():
                raise BadInput("id", code, "letters, digits, - and _", "Choose a short name.")
            if code in book.owners():
                raise BadInput(
                    "id", code, "a short name that is new", "Choose another, or open it."
                )
            book.enter_owners({code: given.text(request, "name")})
            return redirect("books-owner", code)
    return sheet(request, "web/books/people.html", {"house": house_of(book)})


urlpatterns = [
    path("owners/", people, name="books-people"),
    path("owner/<path:owner>/statement/", stated, name="books-statement"),
    path("owner/<path:owner>/statement.pdf", stated_pdf, name="books-statement-pdf"),
    path("owner/<path:owner>/", account, name="books-owner"),
]
