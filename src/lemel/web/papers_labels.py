"""Labels for bags and bars: whose, what, weight, fineness as told or tested, what to beware of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.urls import path

from lemel.book import Account, Book, find_heaps, find_lots
from lemel.cards import LABEL_SIZES, Label, label_pdf
from lemel.errors import BadInput
from lemel.values import Holding, Lot, Reading
from lemel.web import given, shell
from lemel.web.books_parts import pdf, picked, sheet, weight

__all__ = ["label_of", "labels_of", "urlpatterns"]

#: Where something lies that can bear a label.
_LABELLED = ("store", "piece")
#: So many are shown to choose from at once, and so many are looked up together.
_AT_ONCE, _TOGETHER = 50, 500
#: Digits of what can be a row of the book.
_LONGEST = 16
#: Evidence that is somebody's word or a mark, and no test.
_TOLD = ("word", "stamp", "bullion-cert", "sheet-cert")
_FORETOLD = "own-melt-predicted"
#: How a test is named where there is room for a word: by the beginning of its method's name.
_HOW = {
    "touch": "by touch", "xrf": "by X-ray", "density": "by water", "cupellation": "assayed",
    "silver-": "assayed", "icp": "assayed", "own-melt-proven": "assayed",
}  # fmt: skip
#: What a hand must know before it heats or files this, by the question that was asked of it; with
#: no answer yet the word stands with a question mark where the harm would be to a person.
_BEWARE = {
    "mercury": "MERCURY, never heat", "cadmium_solder": "CADMIUM solder",
    "beryllium": "BERYLLIUM", "soft_solder": "LEAD, soft solder", "hollow_closed": "CLOSED hollow",
    "filled_or_weighted": "FILLED", "resin": "RESIN or pitch", "wet_or_oily": "WET or oily",
    "magnet": "MAGNET pulls", "steel": "STEEL in it", "enamel_niello": "ENAMEL or niello",
    "stones": "STONES in it", "plated": "PLATED", "refine_only": "for the refiner only",
    "unknown_alloy": "unknown alloy", "germanium": "germanium silver",
}  # fmt: skip
_ASK_FIRST = ("mercury", "cadmium_solder", "beryllium", "hollow_closed")


def labels(request: HttpRequest) -> HttpResponse:
    """Choose what is labelled and on which sheet; sending it gives the sheets as PDF."""
    book = shell.book()
    with shell.faults(request):
        if request.method == "POST":
            return _printed(request, book)
    ticked = picked(request, "body") or request.GET.getlist("body")
    words, after = str(request.GET.get("words", ""))[:60], str(request.GET.get("after", ""))
    if not (after.isascii() and after.isdigit() and len(after) < _LONGEST):
        after = "0"
    page = find_heaps(book, words, places=_LABELLED, after=int(after), most=_AT_ONCE)
    heaps = {**_heaps(book, ticked), **dict(page.heaps)}
    sizes = [
        (name, f"{name}s, {size.across} by {size.down} of {size.wide_mm:g} × {size.high_mm:g} mm")
        for name, size in LABEL_SIZES.items()
    ]
    rows = [
        {"body": one.body, "owner": one.owner, "gross": weight(metal.gross_mg),
         "ticked": one.body in ticked}
        for one, metal in heaps.items()
    ]  # fmt: skip
    more = urlencode({"words": words, "after": page.after}) if page.after else ""
    context = {"rows": rows, "sizes": sizes, "words": words, "more": more}
    return sheet(request, "web/papers/labels.html", context)


def _heaps(book: Book, bodies: Sequence[str]) -> dict[Account, Holding]:
    """What of these bodies lies where it can bear a label."""
    found: dict[Account, Holding] = {}
    for some in _parts(list(dict.fromkeys(bodies))):
        after: int | None = 0
        while after is not None:
            page = find_heaps(book, places=_LABELLED, bodies=some, after=after, most=_TOGETHER)
            found |= dict(page.heaps)
            after = page.after or None
    return found


def _parts(bodies: Sequence[str]) -> Iterator[Sequence[str]]:
    for begin in range(0, len(bodies), _TOGETHER):
        yield bodies[begin : begin + _TOGETHER]


def _printed(request: HttpRequest, book: Book) -> HttpResponse:
    bodies = picked(request, "body")
    known = {one.body for one in _heaps(book, bodies)}
    unknown = [one for one in bodies if one not in known]
    if not bodies or unknown:
        said = unknown[0][:60] if unknown else ""
        raise BadInput("body", said, "one bag, bar or piece of the house", "Tick what you label.")
    size = given.choice(request, "size", LABEL_SIZES)
    sheet_of = LABEL_SIZES[size]
    skip = given.whole(request, "skip", most=sheet_of.across * sheet_of.down - 1)
    return pdf("labels", label_pdf(labels_of(book, bodies), size, skip=skip))


def labels_of(book: Book, bodies: Sequence[str]) -> list[Label]:
    """A label for each of these bodies, owner by owner where several hold a part of one."""
    wanted = list(dict.fromkeys(bodies))
    lots = {
        one.id: one
        for some in _parts(wanted)
        for one in find_lots(book, ids=some, most=_TOGETHER).lots
    }
    names, suspects = book.owners(), set(book.mishaps.suspects())
    found: dict[str, list[Label]] = {}
    for at, metal in _heaps(book, wanted).items():
        made = label_of(
            at, metal, names.get(at.owner) or at.owner, lots.get(at.body),
            book.readings(at.body), at.body in suspects,
        )  # fmt: skip
        found.setdefault(at.body, []).append(made)
    return [one for body in wanted for one in found.get(body, ())]


def label_of(
    at: Account,
    metal: Holding,
    owner: str,
    lot: Lot | None,
    readings: Sequence[Reading],
    suspect: bool,
) -> Label:
    """One label from what the book has of a heap."""
    if lot is None:
        what = "piece" if at.place == "piece" else "stock"
        return Label(at.body, owner, what, _mass(metal), "", _suspect(suspect))
    what = " ".join(part for part in (lot.main, lot.form) if part)
    return Label(
        at.body, owner, what, _mass(metal), _fineness(lot, readings),
        (*_suspect(suspect), *beware(lot)),
    )  # fmt: skip


def _mass(metal: Holding) -> str:
    return f"{metal.gross_mg / 1000:.2f} g"


def _suspect(suspect: bool) -> tuple[str, ...]:
    return ("SUSPECT, into no heat",) if suspect else ()


def beware(lot: Lot) -> tuple[str, ...]:
    """What to beware of, in words: troubles that are there, and harms nobody has ruled out."""
    there = [word for gate, word in _BEWARE.items() if lot.flags.get(gate) == "yes"]
    open_ = [
        f"{_BEWARE[gate].split(',')[0]}?" for gate in _ASK_FIRST if lot.flags.get(gate) == "unknown"
    ]
    mixed = ["not to be mixed"] if lot.no_mixing else []
    return (*there, *open_, *mixed)


def _fineness(lot: Lot, readings: Sequence[Reading]) -> str:
    """The newest test where there is one, else the melt's own, else what was told."""
    standing = [one for one in readings if not one.withdrawn and lot.main in one.values]
    parts = {one.method: 1000 * one.values[lot.main] for one in standing}
    tested = [one for one in parts if not one.startswith(_TOLD) and one != _FORETOLD]
    if tested:
        how = next((word for head, word in _HOW.items() if tested[-1].startswith(head)), "tested")
        return f"{lot.main} {parts[tested[-1]]:.0f} {how}"
    if _FORETOLD in parts:
        return f"{lot.main} {parts[_FORETOLD]:.0f} not proven"
    told = [one for one in parts if one.startswith(_TOLD)]
    if told:
        return f"{lot.main} {parts[told[-1]]:.0f} told"
    if lot.stated is not None and lot.stated.share(lot.main):
        return f"{lot.main} {1000 * lot.stated.share(lot.main):.0f} told"
    return "fineness not told"


urlpatterns = [path("", labels, name="papers-labels")]
