"""The fast weigh-in: one screen in the order of the hand, the next bag at once; the receipt."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from lemel.book import Book, Receipt, Stones, next_number
from lemel.errors import BadInput
from lemel.scrap import scrap_classes
from lemel.tables import shipped
from lemel.values import ORIGINS, Composition, Consent, Lot, Origin, Reading
from lemel.web import given, shell
from lemel.web.books_parts import house_of
from lemel.web.scrap_acts import upload
from lemel.web.scrap_beliefs import some
from lemel.web.scrap_words import CLASSES, FORMS, GETS, METALS, STAMPS

__all__ = ["receipt", "receipt_pdf", "weigh"]

_SITTING = "weighed"
#: So many bags of one sitting are remembered for the receipt.
_REMEMBERED = 40
_NEW = "+"
_MAGNET = {"": "not yet", "no": "it lies still", "yes": "it jumps"}
_LEAVE = {"": "not asked", "spoken": "yes, by word", "signed": "yes, signed", "no": "no"}
_ORIGIN = {
    "unknown": "nobody knows", "post_consumer": "used things", "heirloom": "an heirloom",
    "pre_consumer_external": "another maker's waste", "refined_declared": "refined, declared",
    "refined_unknown": "refined, from anywhere", "mined_declared": "mined, declared",
    "investment": "kept as a store of value",
}  # fmt: skip


def weigh(request: HttpRequest) -> HttpResponse:
    """One bag; after it the same screen for the next."""
    book = shell.book()
    with shell.faults(request):
        if request.method == "POST":
            lot = _weigh_in(request, book)
            sitting = [one for one in request.session.get(_SITTING, []) if one != lot.id]
            request.session[_SITTING] = [*sitting, lot.id][-_REMEMBERED:]
            request.session["last_owner"] = lot.owner
            request.session["last_main"] = lot.main
            shell.tell(request, f"{lot.id} is weighed in: {lot.mass_g:.2f} g.")
            return redirect("weigh-in")
    owners = book.owners()
    # At the first bag of a sitting it is most likely the house's own that is weighed.
    house = next((one for one in (house_of(book), *owners) if one), _NEW)
    context = {
        "owners": [*owners.items(), (_NEW, "somebody new")], "metals": METALS.items(),
        "forms": FORMS.items(), "classes": CLASSES.items(), "stamps": STAMPS.items(),
        "magnets": _MAGNET.items(), "leaves": _LEAVE.items(), "origins": _ORIGIN.items(),
        "next": f"B{next_number(book, 'B')}", "gets": GETS.items(),
        "owner": request.session.get("last_owner", house),
        "main": request.session.get("last_main", "Ag"),
        "sitting": _sitting(request, book), "names": owners,
    }  # fmt: skip
    return shell.show(request, "web/scrap/weigh.html", context)


def _sitting(request: HttpRequest, book: Book) -> list[Lot]:
    weighed = request.session.get(_SITTING, [])
    there = some(book, weighed)
    return [there[one] for one in weighed if one in there]


def _weigh_in(request: HttpRequest, book: Book) -> Lot:
    owner, new = _owner(request, book)
    lot = _lot(request, book, owner)
    picture = upload(request, "photo")
    stamp = given.choice(request, "stamp", STAMPS)
    readings = _stamped(request, book, lot, stamp)
    by = given.text(request, "by", need=False)
    book.weigh_in([lot], readings, new, _leave(request, lot, book.bench.today()), by=by)
    magnet = given.choice(request, "magnet", _MAGNET)
    if magnet:
        seen = f"magnet at the counter: {_MAGNET[magnet]}"
        book.bench.answer_gate(lot.id, "magnet", magnet, seen=seen, by=by)
    if picture is not None:
        try:
            book.bench.keep_photo(lot.id, picture[1], by=by)
        except BadInput as fault:
            said = f"The picture of {lot.id} was not kept: {shell.sentence(fault)}"
            shell.tell(request, said)
    return lot


def _owner(request: HttpRequest, book: Book) -> tuple[str, Mapping[str, str]]:
    """Whose it is, and a new owner to enter with it."""
    owner = given.choice(request, "owner", [*book.owners(), _NEW])
    if owner != _NEW:
        return owner, {}
    name = given.text(request, "new_owner", longest=80)
    stem = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "owner"
    same = next((code for code, known in book.owners().items() if known == name), None)
    if same is not None:
        return same, {}
    code, n = stem, 2
    while code in book.owners():
        code, n = f"{stem}-{n}", n + 1
    return code, {code: name}


def _lot(request: HttpRequest, book: Book, owner: str) -> Lot:
    main = given.choice(request, "main", METALS)
    said = given.optional_number(request, "fineness", "‰", least=1, most=1000)
    word = given.choice(request, "stamp", STAMPS) == "word" and said is not None
    stated = _stated(main, said) if word and said is not None else None
    paid = given.optional_number(request, "price_paid", most=10_000_000)
    return Lot(
        given.text(request, "bag", longest=40), owner, main, given.choice(request, "form", FORMS),
        given.number(request, "mass_g", "g", least=0.001, most=100_000),
        scrap_class=given.choice(request, "scrap_class", ("", *scrap_classes(shipped()))),
        note=given.text(request, "note", need=False), stated=stated,
        whole=bool(given.text(request, "whole", need=False)),
        origin=Origin.of({given.choice(request, "origin", ORIGINS): 1.0}),
        received_on=book.bench.today(), price_paid=None if paid is None else Decimal(str(paid)),
    )  # fmt: skip


def _stated(main: str, said: float) -> Composition:
    rest = 1 - said / 1000
    return Composition.of({main: said / 1000}, rest if rest > 1e-9 else 0.0)


def _stamped(request: HttpRequest, book: Book, lot: Lot, stamp: str) -> list[Reading]:
    """A mark is evidence; a word goes with the bag itself."""
    if stamp in ("", "word"):
        return []
    said = given.number(request, "fineness", "‰", least=1, most=1000)
    return [
        Reading(
            f"{lot.id}-1", lot.id, stamp, {lot.main: said / 1000},
            source=f"mark on {lot.id}", taken_on=book.bench.today(),
        )
    ]  # fmt: skip


def _leave(request: HttpRequest, lot: Lot, today: date) -> list[Consent]:
    said = given.choice(request, "leave", _LEAVE)
    if said not in ("spoken", "signed"):
        return []
    paper = f"signed at the weigh-in of {lot.id}" if said == "signed" else None
    return [Consent(f"leave {lot.id} 1", lot.owner, "destroy", today, None, paper, (lot.id,))]


def receipt(request: HttpRequest) -> HttpResponse:
    """The receipt for the bags of this sitting, for both to sign."""
    book = shell.book()
    made: Receipt | None = None
    with shell.faults(request):
        if request.method == "POST":
            made = _receipt(request, book)
            left = [one for one in request.session.get(_SITTING, []) if one not in _bags(made)]
            request.session[_SITTING] = left
            return redirect("receipt-pdf", made.number)
    context = {
        "sitting": _sitting(request, book), "gets": GETS.items(), "names": book.owners(),
        "balances": [(one.id, one.id) for one in book.bench.workshop().balances],
    }  # fmt: skip
    return shell.show(request, "web/scrap/receipt.html", context)


def _bags(made: Receipt) -> set[str]:
    return {line.lot for line in made.lines}


def _receipt(request: HttpRequest, book: Book) -> Receipt:
    ticked = request.POST.getlist("bag")[:_REMEMBERED]
    known = some(book, ticked)
    chosen = [one for one in ticked if one in known]
    if not chosen:
        raise BadInput("bag", "", "one bag or more", "Tick the bags of this receipt.")
    owners = {known[one].owner for one in chosen}
    if len(owners) > 1:
        raise BadInput("bag", ", ".join(chosen), "bags of one owner", "Write one for each owner.")
    stones = {
        one: Stones(
            given.whole(request, f"stones-{one}", most=10_000),
            given.whole(request, f"back-{one}", most=10_000),
        )
        for one in chosen
        if given.text(request, f"stones-{one}", need=False)
    }
    return book.papers.receipt(
        owners.pop(), chosen, gets=given.choice(request, "gets", GETS), stones=stones,
        promised=given.text(request, "promised", need=False, longest=300),
        loss_percent=given.optional_number(request, "loss_percent", "%", most=100),
        balance=given.text(request, "balance", need=False), by=given.text(request, "by"),
    )  # fmt: skip


def receipt_pdf(request: HttpRequest, number: str) -> HttpResponse:  # noqa: ARG001
    """A receipt as it was given out, to print."""
    book = shell.book()
    made = book.papers.read_receipt(number)
    answer = HttpResponse(book.papers.pdf(made), "application/pdf")
    answer["Content-Disposition"] = f'inline; filename="receipt-{made.number}.pdf"'
    return answer
