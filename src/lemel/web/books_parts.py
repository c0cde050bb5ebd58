"""What the pages of the books share: weights, words of the ledger, papers, acts sent twice."""

from __future__ import annotations

import re
import secrets
from collections import OrderedDict
from collections.abc import Callable, Mapping
from decimal import Decimal
from functools import lru_cache
from threading import Lock
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.safestring import SafeString

from lemel.book import Book, Shelved, last_change
from lemel.errors import BadInput
from lemel.quantities import convert
from lemel.values import METALS, Saying
from lemel.web import shell
from lemel.web.figures import figure
from lemel.web.reader import say
from lemel.words import template

__all__ = [
    "UNITS", "checked", "fine", "house_of", "kind_word", "link", "once", "owner_of", "pdf",
    "picked", "place_word", "shaped_of", "sheet", "stock_of", "weight",
]  # fmt: skip

_HOUSE, _WORKSHOP = "house", "workshop"
UNITS = (("g", "grams"), ("ozt", "troy ounces"))
_OUNCE_PLACES, _FINE_PLACES = 4, 3
_NG_IN_MG = 1_000_000
#: So many acts are remembered, to know one that is sent a second time.
_REMEMBERED = 500
_done: OrderedDict[tuple[str, str, str], str] = OrderedDict()
_lock = Lock()


def weight(mg: float, unit: str = "g") -> SafeString:
    """mg as on the balance, or in troy ounces."""
    if unit == "ozt":
        ounces = convert(Decimal(str(mg)) / 1000, "g", "ozt")
        return figure(float(ounces), "ozt", places=_OUNCE_PLACES)
    return figure(mg / 1000, "g", places=_FINE_PLACES)


def fine(parts_ng: Mapping[str, int], unit: str = "g") -> list[tuple[str, SafeString]]:
    """Fine metal by element, the dearest first."""
    dear = [one for one in ("Au", "Pt", "Pd", "Ag") if one in METALS]
    return [(one, weight(parts_ng[one] / _NG_IN_MG, unit)) for one in dear if parts_ng.get(one)]


def _word(code: str, otherwise: str) -> str:
    return otherwise.replace("_", " ") if template(code) is None else say(Saying(code))


def link(name: str, *parts: object) -> str:
    """The address of a page."""
    return str(reverse(name, args=parts))


def kind_word(kind: str) -> str:
    """What an entry of this kind did."""
    return _word(f"book.paper.kind.{kind}", kind)


def place_word(place: str) -> str:
    """Where metal lies, or where it is only told of."""
    return _word(f"book.paper.place.{place}", place)


def owner_of(book: Book, owner: str) -> str:
    """The owner's name; BadInput that names the known ones."""
    names = book.owners()
    if owner not in names:
        raise BadInput("owner", owner, ", ".join(names) or "nobody yet", "Look under Books.")
    return names[owner] or owner


def house_of(book: Book) -> str:
    """Whose account is the shop's own; "" where no workshop is entered."""
    entered = book.filed(_HOUSE).get(_WORKSHOP)
    return "" if entered is None else entered.owner


def stock_of(book: Book) -> tuple[Shelved, ...]:
    """Bars, remnants and offcuts as they lie; looked up anew only after something was written."""
    return _stock(book, last_change(book))


@lru_cache(maxsize=4)
def _stock(book: Book, change: tuple[int, ...]) -> tuple[Shelved, ...]:  # noqa: ARG001
    return book.bench.stock()


def shaped_of(book: Book) -> tuple[Shelved, ...]:
    """Those of which the section is known, without a look at every bag."""
    return _shaped(book, last_change(book))


@lru_cache(maxsize=4)
def _shaped(book: Book, change: tuple[int, ...]) -> tuple[Shelved, ...]:  # noqa: ARG001
    return book.bench.stock(shaped=True)


def sheet(
    request: HttpRequest, place: str, context: Mapping[str, Any] | None = None
) -> HttpResponse:
    """A page of the books in its frame, with the token by which a second sending is known."""
    names = shell.book().owners()
    inside = {"once": secrets.token_hex(8), "owners": names, **(context or {})}
    return shell.show(request, place, inside)


def once(request: HttpRequest, act: Callable[[], str]) -> HttpResponseBase:
    """Do it and go where `act` says; the same form sent twice is done once."""
    token = str(request.POST.get("once", ""))
    sending = (str(shell.book().folder), str(request.path), token)
    with _lock:
        if sending not in _done:
            to = act()
            if not token:
                return redirect(to)
            _done[sending] = to
            while len(_done) > _REMEMBERED:
                _done.popitem(last=False)
        return redirect(_done[sending])


def pdf(name: str, content: bytes) -> HttpResponse:
    """A paper to look at and print; its name has nothing in it that a path could be made of."""
    safe = re.sub(r"[^A-Za-z0-9.-]+", "-", name).strip("-.") or "paper"
    answer = HttpResponse(content, "application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{safe}.pdf"'
    return answer


def picked(request: HttpRequest, name: str) -> list[str]:
    """Every tick of one name, each once, in the order of the page."""
    return list(dict.fromkeys(str(one) for one in request.POST.getlist(name) if str(one).strip()))


def checked(said: str, field: str, allowed: Mapping[str, Any]) -> str:
    """One of the known words of an address or a question; BadInput that names them."""
    if said not in allowed:
        raise BadInput(field, said[:40], ", ".join(allowed), "Choose one.")
    return said
