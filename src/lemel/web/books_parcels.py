"""Parcels to refiners and assay offices: drawn up, reckoned, sent, and what came back."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.urls import include, path

from lemel.book import AssayParcel, Book, RefinerParcel, RefinerTerms, Returned
from lemel.errors import BadInput
from lemel.values import METALS
from lemel.web import given, shell
from lemel.web.books_parts import (
    fine,
    link,
    once,
    pdf,
    picked,
    place_word,
    sheet,
    weight,
)
from lemel.web.reader import remedy, say

__all__ = ["urlpatterns"]

#: From where metal may go to a refiner.
_SENT_FROM = ("lemel_box", "sweeps", "slag", "hold_up", "scrap", "store", "piece")
_CHARGES = (
    ("lot_charge", "Charge for each owner's lot"), ("per_kg", "Charge for each kilogram"),
    ("assay_fee", "Assay of each lot"), ("least_charge", "Least charge of a lot"),
    ("postage", "Postage of the parcel"),
)  # fmt: skip
_MOST = 1_000_000.0
_PERCENT = 100
_STATES = {"drawn_up": "drawn up, still here", "sent": "sent, not settled", "settled": "settled",
           "unpacked": "unpacked", "out": "at the office", "back": "back"}  # fmt: skip


def parcels(request: HttpRequest) -> HttpResponseBase:
    """Every parcel, and what a new one to a refiner is drawn up from."""
    book = shell.book()
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _begin(request, book))
    every = book.papers.parcels(open_only=False)
    context = {
        "refiners": [_row(one) for one in every if isinstance(one, RefinerParcel)][::-1],
        "assays": [_row(one) for one in every if isinstance(one, AssayParcel)][::-1],
        "terms": book.papers.refiners(),
        "refiner_choices": [(one, one) for one in book.papers.refiners()],
        "heaps": _heaps(book),
        "ticked": picked(request, "body"),
    }
    return sheet(request, "web/books/parcels.html", context)


def _row(one: RefinerParcel | AssayParcel) -> dict[str, Any]:
    to = one.terms.id if isinstance(one, RefinerParcel) else one.office
    gross = weight(sum(line.gross_mg for line in one.lines))
    return {"one": one, "to": to, "state": _STATES[one.state], "gross": gross}


def _heaps(book: Book) -> list[dict[str, Any]]:
    return [
        {"body": one.body, "owner": one.owner, "place": place_word(one.place),
         "gross": weight(metal.gross_mg), "fine": fine(metal.as_dict())}
        for one, metal in book.balances().items()
        if one.place in _SENT_FROM and metal.gross_mg
    ]  # fmt: skip


def _begin(request: HttpRequest, book: Book) -> str:
    refiner = given.choice(request, "refiner", book.papers.refiners())
    bodies = picked(request, "body")
    if not bodies:
        raise BadInput("body", "", "one heap or more", "Tick what goes into the parcel.")
    made = book.papers.begin_parcel(refiner, bodies, by=given.text(request, "by", need=False))
    return link("books-refiner", made.number)


def terms(request: HttpRequest) -> HttpResponseBase:
    """A refiner's terms, copied by hand from the list, with the day they hold from."""
    book = shell.book()
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _enter_terms(request, book))
    context = {"charges": _CHARGES, "metals": METALS, "known": book.papers.refiners().values()}
    return sheet(request, "web/books/terms.html", context)


def _amount(request: HttpRequest, name: str, *, need: bool = False) -> Decimal:
    value = given.optional_number(request, name, most=_MOST)
    if value is None and need:
        raise BadInput(name, "", "an amount, 0 or more", "Write what was paid.")
    return Decimal(str(value or 0))


def _enter_terms(request: HttpRequest, book: Book) -> str:
    paid = {
        metal: Decimal(str(share)) / _PERCENT
        for metal in METALS
        if (share := given.optional_number(request, f"paid-{metal}", "%", most=_PERCENT))
    }
    if not paid:
        raise BadInput(f"paid-{METALS[0]}", "", "a paid share of one metal", "Copy the list.")
    made = RefinerTerms(
        given.text(request, "id", longest=60), given.day(request, "as_of").isoformat(),
        given.text(request, "currency", longest=3).upper(), paid,
        days=given.whole(request, "days", most=400),
        **{name: _amount(request, name) for name, _ in _CHARGES},
    )  # fmt: skip
    book.papers.enter_refiner(made, contact=given.text(request, "contact", need=False))
    shell.tell(request, f"{made.id}: terms of {made.as_of} are entered.")
    return link("books-parcels")


def refiner(request: HttpRequest, number: str) -> HttpResponseBase:
    """One parcel to a refiner: reckoned before it goes, settled when the answer comes."""
    book = shell.book()
    parcel = book.papers.read_parcel(number)
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _refiner_act(request, book, parcel))
    context = {
        "parcel": parcel, "state": _STATES[parcel.state], "advice": say(parcel.advice),
        "lines": [(one, place_word(one.place), weight(one.gross_mg), fine(one.fine_ng))
                  for one in parcel.lines],
        "estimate": [_lot(one) for one in parcel.estimate],
        "settled": [_lot(one) for one in parcel.settled],
        "objections": [(say(one), remedy(one)) for one in parcel.objections],
        "metals": sorted({metal for one in parcel.estimate for metal in one.fine_ng}),
    }  # fmt: skip
    return sheet(request, "web/books/refiner.html", context)


def _lot(one: Any) -> dict[str, Any]:
    return {
        "one": one, "gross": weight(one.gross_mg), "fine": fine(one.fine_ng),
        "sd": dict(fine(one.sd_ng)), "assayed": dict(fine(one.assayed_ng)),
        "eaten": float(one.eaten) * _PERCENT, "net": one.net, "back": weight(one.back_mg),
    }  # fmt: skip


def _refiner_act(request: HttpRequest, book: Book, parcel: RefinerParcel) -> str:
    act = given.choice(request, "do", ("send", "unpack", "settle"))
    there = link("books-refiner", parcel.number)
    if act == "send":
        book.papers.send_parcel(parcel.number)
        shell.tell(request, "Sent: the metal stands with the refiner now, each owner's apart.")
    elif act == "unpack":
        book.papers.unpack_parcel(parcel.number)
        shell.tell(request, "Unpacked: everything lies where it lay.")
    else:
        back = {owner: _returned(request, n, parcel) for n, owner in enumerate(parcel.owners)}
        book.papers.settle_parcel(parcel.number, back)
        shell.tell(request, "Settled.")
    return there


def _returned(request: HttpRequest, n: int, parcel: RefinerParcel) -> Returned:
    lot = parcel.estimate[n]
    assayed = {
        metal: grams
        for metal in lot.fine_ng
        if (grams := given.optional_number(request, f"assayed-{n}-{metal}", "g", most=1e5))
        is not None
    }
    if not assayed:
        first = next(iter(lot.fine_ng), METALS[0])
        raise BadInput(f"assayed-{n}-{first}", "", "what was found", "Copy the assay.")
    back = []
    grams = given.optional_number(request, f"back-{n}", "g", most=1e5)
    if grams:
        metal = given.choice(request, f"back-metal-{n}", METALS)
        share = given.number(request, f"back-fine-{n}", "‰", least=1, most=1000) / 1000
        back.append((metal, grams, share))
    return Returned(assayed, _amount(request, f"paid-{n}"), tuple(back))


def refiner_pdf(request: HttpRequest, number: str) -> HttpResponse:  # noqa: ARG001
    """The parcel's paper as it stands."""
    papers = shell.book().papers
    return pdf(f"parcel {number}", papers.pdf(papers.read_parcel(number)))


urlpatterns = [
    path("", include("lemel.web.books_assay")),
    path("parcels/", parcels, name="books-parcels"),
    path("parcels/terms/", terms, name="books-terms"),
    path("parcels/refiner/<str:number>/", refiner, name="books-refiner"),
    path("parcels/refiner/<str:number>.pdf", refiner_pdf, name="books-refiner-pdf"),
]
