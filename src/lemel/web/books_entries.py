"""The ledger, entry by entry: each opens to its lines, and a mistake is undone by its opposite."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.urls import path

from lemel.book import Book, Written, entry_of, find_entries
from lemel.errors import BadInput
from lemel.web import given, shell
from lemel.web.books_parts import (
    fine,
    kind_word,
    link,
    once,
    place_word,
    sheet,
    weight,
)
from lemel.web.reader import remedy, say

__all__ = ["urlpatterns"]

_WHY = "why_reversed"
#: Places whose heaps are named by what was done.
_TELLING = ("outside", "loss", "assay_difference", "stock_take")
_A_PAGE = 40
#: Entries that belong to a parcel are taken back with the whole parcel.
_OF_PARCELS = ("to_refiner", "refined", "to_assay", "from_assay")


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry as a page shows it. `instead` says where it is taken back if not here: step,
    parcel, reversal, or "" for here; `why` is the reason it was undone for."""

    written: Written
    plan: str
    instead: str
    why: str


def _entry(one: Written, why: Mapping[str, Any]) -> Entry:
    instead = "step" if one.memo.get("step") else ""
    if one.kind in _OF_PARCELS:
        instead = "parcel"
    if one.kind == "reversal":
        instead = "reversal"
    said = why.get(str(one.undoes or one.number))
    return Entry(
        one, str(one.memo.get("plan", "")), instead, str(said.record["why"]) if said else ""
    )


def ledger(request: HttpRequest) -> HttpResponse:
    """All entries, the newest first; `of` keeps those that touch one heap or owner."""
    book = shell.book()
    of = str(request.GET.get("of", "")).strip()[:120]
    before = _whole(request, "before")
    found = find_entries(book, of, before=before, most=_A_PAGE)
    why = book.filed(_WHY)
    context = {
        "entries": [_shown(_entry(one, why)) for one in found.entries], "of": of,
        "older": found.before,
    }  # fmt: skip
    return sheet(request, "web/books/entries.html", context)


def _whole(request: HttpRequest, name: str) -> int:
    said = str(request.GET.get(name, "")).strip()
    if not said:
        return 0
    if not said.isdigit() or len(said) > 12:
        raise BadInput(name, said[:20], "the number of an entry", "Go by the list.")
    return int(said)


def _shown(one: Entry) -> dict[str, Any]:
    lines = [
        {"owner": line.account.owner, "place": place_word(line.account.place),
         "body": kind_word(line.account.body) if line.account.place in _TELLING
         else line.account.body,
         "gross": weight(line.holding.gross_mg),
         "fine": fine(line.holding.as_dict())}
        for line in one.written.lines
    ]  # fmt: skip
    return {
        "entry": one.written, "plan": one.plan, "instead": one.instead, "why": one.why,
        "kind": kind_word(one.written.kind), "lines": lines,
    }  # fmt: skip


def entry(request: HttpRequest, number: int) -> HttpResponseBase:
    """One entry with its lines; here it is reversed, with the reason."""
    book = shell.book()
    one = _entry(entry_of(book, number), book.filed(_WHY))
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _reverse(request, book, one))
    return sheet(request, "web/books/entry.html", {"one": _shown(one)})


def _reverse(request: HttpRequest, book: Book, one: Entry) -> str:
    why = given.text(request, "why", longest=300)
    by = given.text(request, "by", need=False, longest=60)
    if one.instead == "step":
        raise BadInput("why", why, "an entry of no plan", "Take the step back where it was done.")
    if one.instead == "parcel":
        raise BadInput("why", why, "an entry of no parcel", "Unpack the parcel instead.")
    if one.instead == "reversal":
        raise BadInput("why", why, "an entry that undoes nothing", "Enter it once more instead.")
    number = one.written.number
    there = link("books-entry", number)
    if one.written.undone_by:
        return there
    with book.together():
        sealed = book.reverse(number, by=by)
        book.file(_WHY, str(number), {"why": why}, by=by)
    shell.tell(request, f"Entry {number} is undone by entry {sealed.number}.")
    return there


def head(request: HttpRequest) -> HttpResponse:
    """Number and digest of the last entry, to be noted on paper, and the audit against a note."""
    book = shell.book()
    number, digest = book.head()
    context: dict[str, Any] = {"number": number, "digest": digest, "today": book.bench.today()}
    with shell.faults(request):
        if request.method == "POST":
            made = book.audit(_noted(request))
            context["audit"] = made
            context["found"] = [(say(one), remedy(one)) for one in made.faults]
            context["noted"] = str(request.POST.get("number", "")).strip()
    return sheet(request, "web/books/audit.html", context)


def _noted(request: HttpRequest) -> tuple[int, str] | None:
    """The head as it was noted earlier; None where nothing was given."""
    if not any(str(request.POST.get(name, "")).strip() for name in ("number", "digest")):
        return None
    number = given.whole(request, "number", least=1, most=10**9)
    digest = "".join(given.text(request, "digest", longest=90).split()).lower()
    if len(digest) != 64 or set(digest) - set("0123456789abcdef"):
        allowed = "64 signs, 0 to 9 and a to f"
        raise BadInput("digest", digest[:20], allowed, "Copy it as it was noted.")
    return number, digest


urlpatterns = [
    path("entries/", ledger, name="books-entries"),
    path("entries/<int:number>/", entry, name="books-entry"),
    path("audit/", head, name="books-audit"),
]
