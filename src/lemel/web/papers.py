"""Papers: everything that can be printed now, each a link to its PDF."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from django.http import HttpRequest, HttpResponse
from django.urls import include, path

from lemel.book import AssayParcel, Book, plans_at_work
from lemel.cards import month_pdf, write
from lemel.errors import BadInput
from lemel.web import shell
from lemel.web.books_parts import owner_of, pdf, shaped_of, sheet
from lemel.web.furnace_heats import kept_plan

__all__ = ["urlpatterns"]

_RECEIPT, _QUOTE, _COUNT = "receipt", "quote", "stock-take"


def index(request: HttpRequest) -> HttpResponse:
    """Cards, labels, receipts, statements, lists: what there is to print."""
    book = shell.book()
    plans = []
    for plan in plans_at_work(book):
        kept = kept_plan(book, plan)
        plans.append({"id": plan, "heats": [one.id for one in kept.heats], "shop": kept.shop})
    context = {
        "plans": plans,
        "receipts": [book.papers.read_receipt(one) for one in reversed(book.filed(_RECEIPT))],
        "quotes": [book.papers.read_quote(one) for one in reversed(book.filed(_QUOTE))],
        "counts": [book.papers.read_stock_take(one) for one in reversed(book.filed(_COUNT))],
        "parcels": [
            (one.number, "assay" if isinstance(one, AssayParcel) else "refiner", one.state)
            for one in reversed(book.papers.parcels(open_only=False))
        ],
        "priced": book.bench.prices() is not None,
        "bars": [one.body for one in shaped_of(book)],
    }
    return sheet(request, "web/papers/index.html", context)


def month(request: HttpRequest, plan: str) -> HttpResponse:  # noqa: ARG001
    """All cards of a plan: month, heats, bars, layouts."""
    return pdf(f"{plan} cards", month_pdf(kept_plan(shell.book(), plan)))


def cards(request: HttpRequest, plan: str) -> HttpResponse:
    """The cards of a plan one by one: each heat, each bar, each layout."""
    book = shell.book()
    names = list(_cards(book, plan, tuple(sorted(book.owners().items()))))
    return sheet(request, "web/papers/cards.html", {"plan": plan, "names": names})


def card(request: HttpRequest, plan: str, name: str) -> HttpResponse:  # noqa: ARG001
    """One card by its name."""
    book = shell.book()
    there = _cards(book, plan, tuple(sorted(book.owners().items())))
    if name not in there:
        raise BadInput("card", name[:60], ", ".join(there), "Choose a card of the plan.")
    return pdf(name, there[name])


@lru_cache(maxsize=4)
def _cards(book: Book, plan: str, names: tuple[tuple[str, str], ...]) -> Mapping[str, bytes]:  # noqa: ARG001
    """Each card as it would lie in a folder. Plans never change, but names in them may."""
    with tempfile.TemporaryDirectory(prefix="lemel-cards-") as folder:
        files = write(kept_plan(book, plan), Path(folder))
        return {one.stem: one.read_bytes() for one in files[1:]}


def kept(request: HttpRequest, kind: str, number: str) -> HttpResponse:  # noqa: ARG001
    """A receipt or quotation as it was given out."""
    papers = shell.book().papers
    if kind == _RECEIPT:
        return pdf(f"{kind} {number}", papers.pdf(papers.read_receipt(number)))
    if kind == _QUOTE:
        return pdf(f"{kind} {number}", papers.pdf(papers.read_quote(number)))
    raise BadInput("paper", kind[:20], f"{_RECEIPT}, {_QUOTE}", "Choose one of these.")


def values(request: HttpRequest) -> HttpResponse:
    """What lies in the house at the prices that were entered, perhaps of one owner alone."""
    book = shell.book()
    owner = str(request.GET.get("owner", "")) or None
    if owner:
        owner_of(book, owner)
    return pdf("values", book.papers.pdf(book.papers.values(owner)))


urlpatterns = [
    path("", index, name="papers"),
    path("values.pdf", values, name="papers-values"),
    path("labels/", include("lemel.web.papers_labels")),
    path("cards/<str:plan>.pdf", month, name="papers-month"),
    path("cards/<str:plan>/", cards, name="papers-cards"),
    path("cards/<str:plan>/<path:name>.pdf", card, name="papers-card"),
    path("<str:kind>/<str:number>.pdf", kept, name="papers-kept"),
]
