"""One body's page: what it is, whose and where, where its metal came from and what became of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.urls import path

from lemel.book import PLACES, Account, Book
from lemel.errors import BadInput
from lemel.sketch import Drawing
from lemel.tables import shipped
from lemel.values import Holding
from lemel.web import given, shell
from lemel.web.books_kin import drawn, family
from lemel.web.books_parts import (
    checked,
    fine,
    link,
    once,
    pdf,
    place_word,
    sheet,
    stock_of,
    weight,
)
from lemel.web.reader import say

__all__ = ["urlpatterns"]

_WAYS = {"back": "where its metal came from", "on": "what became of its metal"}
_TELLING = ("outside", "loss", "assay_difference", "stock_take")
_PERCENT, _PERMILLE = 100.0, 1000.0
_DEFINITIONS = "book_claims"


def body(request: HttpRequest, name: str) -> HttpResponseBase:
    """The page that a label leads to."""
    book = shell.book()
    origin = book.papers.origin(name)
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _act(request, book, name))
    heaps = _lying(book, origin.owner, name)
    whole = sum(heaps.values(), Holding.nothing())
    shelved = next((one for one in stock_of(book) if one.body == name), None)
    context = {
        "body": name,
        "kind": origin.nodes[0].kind,
        "owner": origin.owner,
        "heaps": [
            {"owner": one.owner, "place": place_word(one.place), "gross": weight(metal.gross_mg)}
            for one, metal in heaps.items()
        ],
        "gross": weight(whole.gross_mg),
        "fine": fine(whole.as_dict()),
        "parts": _parts(whole),
        "shelved": shelved,
        "readings": _readings(book, name),
        "suspect": name in book.mishaps.suspects(),
        "shares": _shares(origin.shares),
        "back": family(book, name, "back"),
        "on": family(book, name, "on"),
        "promise": book.mishaps.promise_of(name) if whole.gross_mg else "",
    }
    return sheet(request, "web/books/body.html", context)


def _lying(book: Book, owner: str, name: str) -> Mapping[Account, Holding]:
    """Where its owner has some of it; asked place by place, so that a large book answers too."""
    heaps = [Account(owner, place, name) for place in PLACES if place not in _TELLING]
    held = {one: book.held(one) for one in heaps}
    return {one: metal for one, metal in held.items() if metal.gross_mg}


def _parts(whole: Holding) -> list[tuple[str, float]]:
    """Each element in thousandths, the most of it first."""
    if not whole.gross_mg:
        return []
    ng_in_all = whole.gross_mg * 1_000_000
    parts = sorted(whole.as_dict().items(), key=lambda one: -one[1])
    return [(name, _PERMILLE * ng / ng_in_all) for name, ng in parts if ng]


def _readings(book: Book, name: str) -> list[dict[str, Any]]:
    return [
        {
            "method": one.method.replace("-", " "),
            "says": [(e, _PERMILLE * share) for e, share in one.values.items()],
            "on": one.taken_on,
            "withdrawn": one.withdrawn,
        }
        for one in book.readings(name)
    ]


def _shares(shares: Mapping[str, float]) -> list[tuple[str, float]]:
    most_first = sorted(shares.items(), key=lambda one: -one[1])
    return [(name.replace("_", " "), _PERCENT * share) for name, share in most_first]


def _act(request: HttpRequest, book: Book, name: str) -> str:
    """Keep it out and all that came of its heat, or say why it is sound."""
    if given.choice(request, "do", ("suspect", "clear")) == "suspect":
        barred = book.mark_suspect(name)
        shell.tell(request, f"Kept out of further plans: {', '.join(barred)}.")
    else:
        done = book.mishaps.clear_suspect(name, given.text(request, "why", longest=300))
        if done.stopped:
            why = " ".join(say(one) for one in done.objections)
            raise BadInput("why", name, "metal that may be cleared", why)
        shell.tell(request, f"In again: {', '.join(done.suspect) or name}.")
    return link("books-body", name)


def drawing(request: HttpRequest, way: str, name: str) -> HttpResponse:  # noqa: ARG001
    """The ancestry as a drawing, back to the bags or on to the pieces."""
    checked(way, "way", _WAYS)
    made: Drawing = drawn(family(shell.book(), name, way))
    return HttpResponse(made.svg, "image/svg+xml")


def origin(request: HttpRequest, name: str) -> HttpResponse:
    """Where the precious metal comes from, and what each published definition counts of it."""
    book = shell.book()
    known = shipped().table(_DEFINITIONS)
    follows = str(request.GET.get("definition", "")) or next(iter(known))
    made = book.papers.origin(name, definition=follows)
    claims = [
        {
            "key": one.definition,
            "share": _PERCENT * one.share,
            "counts": [word.replace("_", " ") for word in one.counts],
            "source": shipped().source(one.source),
            "trust": one.trust,
            "note": known[one.definition].text("note"),
        }
        for one in made.claims
    ]
    context = {
        "body": name, "follows": follows, "claims": claims, "gross": weight(made.gross_mg),
        "fine": fine(made.fine_ng), "shares": _shares(made.shares), "owner": made.owner,
        "unknown": _PERCENT * made.unknown, "declared": _PERCENT * made.declared,
        "claim": next(one for one in claims if one["key"] == follows),
        "back": family(book, name, "back"), "digest": made.digest,
    }  # fmt: skip
    return sheet(request, "web/books/origin.html", context)


def origin_pdf(request: HttpRequest, name: str) -> HttpResponse:
    """The origin statement on paper, with the definition it follows."""
    book = shell.book()
    follows = str(request.GET.get("definition", "")) or next(iter(shipped().table(_DEFINITIONS)))
    made = book.papers.origin(name, definition=follows)
    return pdf(f"origin {name}", book.papers.pdf(made))


urlpatterns = [
    path("body/<path:name>/", body, name="books-body"),
    path("drawing/<str:way>/<path:name>/", drawing, name="books-drawing"),
    path("origin/<path:name>.pdf", origin_pdf, name="books-origin-pdf"),
    path("origin/<path:name>/", origin, name="books-origin"),
]
