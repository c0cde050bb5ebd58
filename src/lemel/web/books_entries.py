"""The ledger, entry by entry: each opens to its lines, and a mistake is undone by its opposite."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.urls import path

from lemel.book import Book, last_change
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
class Leaf:
    """One line of an entry: so much into a heap, or out of it."""

    owner: str
    place: str
    body: str
    gross_mg: int
    parts_ng: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry; `undone_by` and `undoes` are numbers of entries, 0 for none. `instead` says
    where it is taken back if not here: step, parcel, reversal, or "" for here."""

    number: int
    made_at: str
    kind: str
    about: str
    by: str
    digest: str
    plan: str
    undoes: int
    undone_by: int
    instead: str
    lines: tuple[Leaf, ...]
    why: str = ""


@lru_cache(maxsize=2)
def _entries(book: Book, change: tuple[int, ...]) -> Mapping[int, Entry]:  # noqa: ARG001
    written = book.export()
    people = {one["key"]: one["code"] for one in written["party"]}
    accounts = {one["id"]: one for one in written["account"]}
    undone = {one["reverses_id"]: one["number"] for one in written["entry"] if one["reverses_id"]}
    why = {name: str(one.record["why"]) for name, one in book.filed(_WHY).items()}
    return {
        row["number"]: _entry(row, people, accounts, undone.get(row["number"], 0), why)
        for row in written["entry"]
    }


def _entry(
    row: Mapping[str, Any],
    people: Mapping[str, str],
    accounts: Mapping[int, Mapping[str, Any]],
    undone_by: int,
    why: Mapping[str, str],
) -> Entry:
    memo = json.loads(row["memo"] or "{}")
    instead = "step" if memo.get("step") else ""
    if row["kind"] in _OF_PARCELS:
        instead = "parcel"
    if row["kind"] == "reversal":
        instead = "reversal"
    lines = []
    for account, mg, parts in row["postings"]:
        at = accounts[account]
        owner = people.get(at["owner_id"], at["owner_id"])
        lines.append(Leaf(owner, at["place"], at["body"], mg, parts))
    undoes = row["reverses_id"] or 0
    return Entry(
        row["number"], row["made_at"], row["kind"], row["about"], people.get(row["by"], ""),
        row["digest"], str(memo.get("plan", "")), undoes, undone_by, instead, tuple(lines),
        why.get(str(undoes or row["number"]), ""),
    )  # fmt: skip


def ledger(request: HttpRequest) -> HttpResponse:
    """All entries, the newest first; `of` keeps those that touch one heap or owner."""
    book = shell.book()
    of = str(request.GET.get("of", "")).strip()[:120]
    before = _whole(request, "before")
    found = [
        one
        for one in reversed(list(_entries(book, last_change(book)).values()))
        if (not before or one.number < before) and (not of or _touches(one, of))
    ]
    shown = found[:_A_PAGE]
    context = {
        "entries": [_shown(one) for one in shown], "of": of,
        "older": shown[-1].number if len(found) > _A_PAGE else 0, "count": len(found),
    }  # fmt: skip
    return sheet(request, "web/books/entries.html", context)


def _whole(request: HttpRequest, name: str) -> int:
    said = str(request.GET.get(name, "")).strip()
    if not said:
        return 0
    if not said.isdigit() or len(said) > 12:
        raise BadInput(name, said[:20], "the number of an entry", "Go by the list.")
    return int(said)


def _touches(one: Entry, of: str) -> bool:
    return of in (one.about, one.kind) or any(of in (leaf.body, leaf.owner) for leaf in one.lines)


def _shown(one: Entry) -> dict[str, Any]:
    lines = [
        {"leaf": leaf, "place": place_word(leaf.place),
         "body": kind_word(leaf.body) if leaf.place in _TELLING else leaf.body,
         "gross": weight(leaf.gross_mg),
         "fine": fine(leaf.parts_ng)}
        for leaf in one.lines
    ]  # fmt: skip
    return {"entry": one, "kind": kind_word(one.kind), "lines": lines}


def entry(request: HttpRequest, number: int) -> HttpResponseBase:
    """One entry with its lines; here it is reversed, with the reason."""
    book = shell.book()
    entries = _entries(book, last_change(book))
    if number not in entries:
        raise BadInput("entry", number, f"1 to {len(entries)}", "Look it up in the list.")
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _reverse(request, book, entries[number]))
    return sheet(request, "web/books/entry.html", {"one": _shown(entries[number])})


def _reverse(request: HttpRequest, book: Book, one: Entry) -> str:
    why = given.text(request, "why", longest=300)
    by = given.text(request, "by", need=False, longest=60)
    if one.instead == "step":
        raise BadInput("why", why, "an entry of no plan", "Take the step back where it was done.")
    if one.instead == "parcel":
        raise BadInput("why", why, "an entry of no parcel", "Unpack the parcel instead.")
    if one.instead == "reversal":
        raise BadInput("why", why, "an entry that undoes nothing", "Enter it once more instead.")
    there = link("books-entry", one.number)
    if one.undone_by:
        return there
    with book.together():
        sealed = book.reverse(one.number, by=by)
        book.file(_WHY, str(one.number), {"why": why}, by=by)
    shell.tell(request, f"Entry {one.number} is undone by entry {sealed.number}.")
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
