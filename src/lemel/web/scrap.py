"""Scrap: what lies in the bags, what is known of it, and what stands between it and the pot."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import path

from lemel.book import Book, find_lots, standing_consents
from lemel.scrap import method_codes
from lemel.tables import shipped
from lemel.web import given, shell
from lemel.web.band import band_of
from lemel.web.scrap_acts import ACTS, MEDIA
from lemel.web.scrap_beliefs import Bag, bag, bags, is_large, lots, moved
from lemel.web.scrap_file import from_file
from lemel.web.scrap_gates import asked
from lemel.web.scrap_weigh import receipt, receipt_pdf, weigh
from lemel.web.scrap_words import ALLOWS, METHODS, formed
from lemel.web.scrap_worth import seams, seams_asked, whole, whole_asked

__all__ = ["urlpatterns"]

#: Bags on one page.
_ON_A_PAGE = 50


def hatches(book: Book) -> Mapping[str, int]:
    """By owner the hatch that their metal is drawn with in the band above."""
    return {one.id: one.hatch for one in band_of(book, "").owners}


def index(request: HttpRequest) -> HttpResponse:
    """The bags, or those that a word picks out."""
    book = shell.book()
    sought = str(request.GET.get("sought", "")).strip()[:60]
    if is_large(book):
        return _some(request, book, sought)
    found = [lot for lot in lots(book) if _is(sought.lower(), lot, book.owners())]
    page = Paginator(found, _ON_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "bags": bags(book, tuple(page), hatches(book)), "page": page, "sought": sought,
        "many": len(found), "grams": sum(lot.mass_g for lot in found),
    }  # fmt: skip
    return shell.show(request, "web/scrap/index.html", context)


def _some(request: HttpRequest, book: Book, sought: str) -> HttpResponse:
    """Of a large book so many bags after the last one seen; nothing is counted."""
    after = str(request.GET.get("after", ""))[:120]
    # A name in full means that owner's bags; any other word is looked for in the bags alone.
    owner = next((id for id, name in book.owners().items() if name.lower() == sought.lower()), "")
    words = "" if owner else sought
    found = find_lots(book, words, owner=owner, after=after, most=_ON_A_PAGE)
    context = {
        "bags": bags(book, found.lots, hatches(book)), "sought": sought, "large": True,
        "after": after, "next": found.after,
    }  # fmt: skip
    return shell.show(request, "web/scrap/index.html", context)


def _is(sought: str, lot: Any, owners: Mapping[str, str]) -> bool:
    words = (lot.id, lot.note, formed(lot), owners.get(lot.owner, ""))
    return not sought or any(sought in word.lower() for word in words)


def one(request: HttpRequest, lot: str) -> HttpResponse:
    """One bag, opened: its evidence, its questions, its marks, its owner's leave."""
    book = shell.book()
    there = bag(book, lot, hatches(book))
    context: dict[str, Any] = {}
    with shell.faults(request):
        if request.method == "POST":
            do = given.choice(request, "do", (*ACTS, *_REPLIES))
            if do in ACTS:
                for said in ACTS[do](request, book, there.lot):
                    shell.tell(request, said)
                return redirect(f"{request.path}#{_PLACES.get(do, 'page')}")
            context = {do: _REPLIES[do](request, book, there)}
    context |= {
        "bag": there, "moved": moved(book, there.lot), "asked": asked(book, there.lot),
        "photos": book.bench.photos(lot), "consents": _consents(book, there),
        "next": _next_ids(book, lot), "methods": _methods(), "allows": ALLOWS.items(),
        "today": book.bench.today().isoformat(), "elements": _beside(there.lot.main),
        "whole_asked": whole_asked(book, there), "seams_asked": seams_asked(book, there),
        "pictures": _PICTURES.items(), "covers": _COVERS.items(),
        "owners": [("", "nobody"), *book.owners().items()],
        "waters": [(m, METHODS[m]) for m in _WATERS.get(there.lot.main, ())],
    }  # fmt: skip
    return shell.show(request, "web/scrap/bag.html", context)


#: Methods by which a weighing in water is booked, by metal.
_WATERS = {"Ag": ("density-silver",), "Au": ("density-gold", "density-binary")}
_PICTURES = {"mark": "its marks", "whole": "the whole", "damage": "a damage"}
_COVERS = {"bag": "this bag", "all": "all of their metal here"}
#: What only answers and writes nothing.
_REPLIES = {"seams": seams, "whole": whole}
#: Where on the page what was done is seen.
_PLACES = {
    "read": "readings", "water": "readings", "withdraw": "readings", "gate": "questions",
    "photo": "marks", "allow": "leave", "take_back": "leave",
}  # fmt: skip


def _methods() -> list[tuple[str, str]]:
    known = method_codes(shipped())
    return [(code, METHODS[code]) for code in METHODS if code in known and "density" not in code]


def _beside(main: str) -> list[tuple[str, str]]:
    """What an alloy is taken to hold beside its main metal, for weighing in water."""
    usual = {"Ag": ("Cu",), "Au": ("Cu", "Ag", "Ag,Cu"), "Pt": ("Cu",), "Pd": ("Ag", "Cu")}
    words = {"Cu": "copper", "Ag": "silver", "Ag,Cu": "silver and copper, share unknown"}
    return [(one, words[one]) for one in usual[main]]


def _consents(book: Book, there: Bag) -> list[Any]:
    return [
        one for one in standing_consents(book)
        if one.owner == there.lot.owner and (not one.about or there.lot.id in one.about)
    ]  # fmt: skip


def _next_ids(book: Book, lot: str) -> dict[str, str]:
    """Ids for what is entered next; the same form sent twice brings the same id twice."""
    known = {one.id for one in book.readings(lot)}
    given_leave = {one.id for one in book.consents()}
    return {
        "reading": _free(f"{lot}-", known),
        "consent": _free(f"leave {lot} ", given_leave),
    }


def _free(stem: str, known: set[str]) -> str:
    n = 1
    while f"{stem}{n}" in known:
        n += 1
    return f"{stem}{n}"


def picture(request: HttpRequest, digest: str) -> HttpResponse:  # noqa: ARG001
    """A photograph as it was kept."""
    data, media = shell.book().bench.photo(digest)
    # What a file says it is has been read off its own bytes; nothing else is ever served.
    answer = HttpResponse(data, media if media in MEDIA else "application/octet-stream")
    answer["Content-Disposition"] = "inline"
    return answer


urlpatterns = [
    path("", index, name="scrap"),
    path("weigh-in/", weigh, name="weigh-in"),
    path("receipt/", receipt, name="receipt"),
    path("receipt/<str:number>.pdf", receipt_pdf, name="receipt-pdf"),
    path("file/", from_file, name="bags-file"),
    path("picture/<str:digest>/", picture, name="picture"),
    path("bag/<path:lot>/", one, name="bag"),
]
