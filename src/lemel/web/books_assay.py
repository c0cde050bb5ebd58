"""Parcels to an assay office: what is sent, and the office's answer line by line."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.urls import path

from lemel.book import AssayParcel, Book, Found, ToAssay
from lemel.errors import BadInput
from lemel.metal import standards
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
from lemel.web.reader import say

__all__ = ["urlpatterns"]

_SENT_FROM = ("piece", "store")
_RESULTS = (("passed", "passed"), ("failed", "did not pass"), ("broken", "broken up"))
_WHY = (
    ("", "not told"), ("fineness", "fineness"), ("solder", "solder"), ("coating", "a coating"),
    ("other_metal", "another metal"),
)  # fmt: skip
_SAMPLES = (("dip", "dipped from the melt"), ("drill", "drilled"), ("surface", "scraped off"))


def assay_new(request: HttpRequest) -> HttpResponseBase:
    """What goes to the office: whole pieces, or samples by weight."""
    book = shell.book()
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _send(request, book))
    context = {
        "heaps": [
            {"body": one.body, "owner": one.owner, "place": place_word(one.place),
             "gross": weight(metal.gross_mg)}
            for one, metal in book.balances().items()
            if one.place in _SENT_FROM and metal.gross_mg
        ],
        "standards": [("", "a plain assay"), *((one.id, one.id) for one in _claims(book))],
        "samples": [("", "the whole piece"), *_SAMPLES],
        "ticked": picked(request, "body"),
    }  # fmt: skip
    return sheet(request, "web/books/assay_new.html", context)


def _claims(book: Book) -> tuple[Any, ...]:
    return tuple(standards(book.bench.rules().jurisdiction))


def _send(request: HttpRequest, book: Book) -> str:
    office = given.text(request, "office", longest=80)
    bodies = picked(request, "body")
    if not bodies:
        raise BadInput("body", "", "one piece or sample", "Tick what is sent.")
    sample = given.choice(request, "sample", ("", *(one for one, _ in _SAMPLES)))
    mass = given.number(request, "mass_g", "g", least=0.001, most=1000) if sample else None
    claim = given.choice(request, "claim", ("", *(one.id for one in _claims(book))))
    things = [ToAssay(one, claim, mass, sample) for one in bodies]
    sent = book.papers.send_to_assay(office, things)
    return link("books-assay", sent.number)


def assay(request: HttpRequest, number: str) -> HttpResponseBase:
    """One parcel at the office: its lines, and the answer when it comes."""
    book = shell.book()
    parcel = book.papers.read_assay(number)
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _back(request, book, parcel))
    lines = [
        {"n": n, "one": one, "gross": weight(one.gross_mg), "back": weight(one.back_mg),
         "share": None if one.share is None else 1000 * one.share,
         "advice": [say(said) for said in one.advice]}
        for n, one in enumerate(parcel.lines, 1)
    ]  # fmt: skip
    context = {"parcel": parcel, "lines": lines, "results": _RESULTS, "why": _WHY}
    return sheet(request, "web/books/assay.html", context)


def _back(request: HttpRequest, book: Book, parcel: AssayParcel) -> str:
    found = {n: _found(request, n) for n in range(1, len(parcel.lines) + 1)}
    fee = given.optional_number(request, "fee", most=1e6) or 0
    currency = given.text(request, "currency", need=bool(fee), longest=3).upper()
    book.papers.assay_back(parcel.number, found, fee=Decimal(str(fee)), currency=currency)
    shell.tell(request, "The office's answer is entered; assays are evidence from now on.")
    return link("books-assay", parcel.number)


def _found(request: HttpRequest, n: int) -> Found:
    result = given.choice(request, f"result-{n}", dict(_RESULTS))
    share = given.optional_number(request, f"share-{n}", "‰", most=1000)
    return Found(
        result, None if share is None else share / 1000,
        back_g=given.optional_number(request, f"back-{n}", "g", most=1e5),
        why=given.choice(request, f"why-{n}", dict(_WHY)) if result == "failed" else "",
    )  # fmt: skip


def assay_pdf(request: HttpRequest, number: str) -> HttpResponse:  # noqa: ARG001
    """The parcel's paper as it stands."""
    papers = shell.book().papers
    return pdf(f"assay {number}", papers.pdf(papers.read_assay(number)))


urlpatterns = [
    path("parcels/assay/", assay_new, name="books-assay-new"),
    path("parcels/assay/<str:number>/", assay, name="books-assay"),
    path("parcels/assay/<str:number>.pdf", assay_pdf, name="books-assay-pdf"),
]
