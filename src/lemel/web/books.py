"""Books: whose metal, where, and what came of it."""

from __future__ import annotations

import re
from collections.abc import Mapping

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.urls import include, path

from lemel.book import PlaceSum, place_sums
from lemel.errors import BadInput
from lemel.values import Holding
from lemel.web import shell
from lemel.web.books_parts import fine, place_word, sheet, weight

__all__ = ["urlpatterns"]

#: What a label's code says: the word lemel, whose kind of id it is, the id.
_CODE = re.compile(r"lemel id (.+)", re.IGNORECASE)
_PLAN_CODE = re.compile(r"lemel (\S+) (.+)", re.IGNORECASE)


def index(request: HttpRequest) -> HttpResponse:
    """Every owner's account, and the way to everything else that the book tells."""
    book = shell.book()
    sums = place_sums(book)
    rows = [_account(owner, sums.get(owner, {})) for owner in {**book.owners(), **sums}]
    return sheet(request, "web/books/index.html", {"rows": rows, "head": book.head()})


def _account(owner: str, places: Mapping[str, PlaceSum]) -> dict[str, object]:
    whole = sum((one.metal for one in places.values()), Holding.nothing())
    return {
        "owner": owner,
        "gross": weight(whole.gross_mg),
        "fine": fine(whole.as_dict()),
        "places": [
            (place_word(place), weight(one.metal.gross_mg), fine(one.metal.as_dict()))
            for place, one in places.items()
        ],
        "heaps": sum(one.heaps for one in places.values()),
    }


def find(request: HttpRequest) -> HttpResponseBase:
    """From what a reader took off a label, or what somebody typed, to the body's page."""
    said = str(request.GET.get("id", "")).strip()[:200]
    if not said:
        return redirect("books")
    return redirect("books-body", named(said))


def named(said: str) -> str:
    """The id of a body as a label's code or a hand tells it; BadInput where there is none."""
    mishaps = shell.book().mishaps
    found, by_plan = _CODE.fullmatch(said), _PLAN_CODE.fullmatch(said)
    tried = [found[1]] if found else [said]
    if by_plan and not found:
        tried.append(f"{by_plan[1]}/{by_plan[2]}")
    fault: BadInput | None = None
    for one in tried:
        try:
            return mishaps.body_named(one)
        except BadInput as refused:
            fault = refused
    assert fault is not None
    raise fault


urlpatterns = [
    path("", index, name="books"),
    path("find/", find, name="books-find"),
    path("", include("lemel.web.books_owner")),
    path("", include("lemel.web.books_entries")),
    path("", include("lemel.web.books_body")),
    path("", include("lemel.web.books_parcels")),
    path("", include("lemel.web.books_count")),
    path("", include("lemel.web.books_loss")),
    path("", include("lemel.web.books_keep")),
]
