"""The frame of every page: the book, the metal's way above, faults at their field."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from lemel.book import Book, open_book
from lemel.errors import BadInput, NotKnown, Stopped
from lemel.web.areas import AREAS, NAMES, REACHES, area_of
from lemel.web.band import band_of
from lemel.web.password import has_password
from lemel.web.reader import chosen_words

__all__ = ["Faults", "book", "faults", "part", "show", "sorry", "tell"]

_TOLD = "told"


def book() -> Book:
    """The book that is served. Every thread has its own connection to it; never close it."""
    return _open(settings.LEMEL_BOOK)


@lru_cache(maxsize=8)
def _open(folder: Path) -> Book:
    return open_book(folder)


@contextmanager
def faults(request: HttpRequest) -> Iterator[None]:
    """Around an act: what is refused is kept for `show`, which puts it at its field.

    So a view that acts ends its `with` by returning a redirect, and shows its form after it.
    """
    try:
        yield
    except BadInput as fault:
        request.faults = {one.field: sentence(one) for one in fault.all}


def sentence(fault: BadInput) -> str:
    """A fault as it stands at its field: what is allowed, and what to do."""
    if fault.field == "book":
        # No field of a form: the book itself refused, and its reason is the whole of it.
        return f"The book does not let it in: {fault.value}. {fault.do}".strip()
    return f"It takes {fault.allowed}. {fault.do}".strip()


def tell(request: HttpRequest, said: str) -> None:
    """A sentence at the head of the page that comes after a redirect."""
    request.session[_TOLD] = [*request.session.get(_TOLD, []), said][-5:]


def show(
    request: HttpRequest,
    template: str,
    context: Mapping[str, Any] | None = None,
    *,
    status: int | None = None,
    band: bool = True,
) -> HttpResponse:
    """A page in its frame. With faults of the request it is a 422 and says them.

    A template that extends `web/part.html` instead of `web/page.html` is a part without frame,
    for htmx.
    """
    found = getattr(request, "faults", {})
    area = area_of(request.path)
    inside = {
        **(context or {}),
        "faults": found,
        "given": request.POST if request.method == "POST" else request.GET,
        "told": request.session.pop(_TOLD, []) if hasattr(request, "session") else [],
        "area": area,
        "areas": [(name, f"/{AREAS[name]}", NAMES[name]) for name in AREAS],
        "band": band_of(book(), REACHES.get(area, "")) if band else None,
        "units": chosen_words(),
        "logged_in": has_password(settings.LEMEL_BOOK) if settings.LEMEL_BOOK else False,
    }
    if status is None:
        status = 422 if found else 200
    return render(request, template, inside, status=status)


def part(
    request: HttpRequest, template: str, context: Mapping[str, Any] | None = None
) -> HttpResponse:
    """A piece of a page for htmx; asked for by itself it stands in a frame of its own.

    The template is a bare piece: it extends nothing, and its first element says what it is.
    """
    if getattr(request, "htmx", False):
        return render(request, template, dict(context or {}))
    return show(request, "web/alone.html", {**(context or {}), "piece": template})


def sorry(request: HttpRequest, status: int, said: str, do: str = "") -> HttpResponse:
    """A page that says what is not so, without anything of the book."""
    context = {"said": said, "do": do}
    return show(request, "web/shell/sorry.html", context, status=status, band=False)


class Faults:
    """Whatever a view lets go unsaid becomes a page with a sentence, never a traceback."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """The page for an error of the house; None leaves it to Django's own handling."""
        if isinstance(error, BadInput):
            status = 404 if request.method == "GET" else 422
            said = f"{error.field}: {error.value}. Known here: {error.allowed}."
            return sorry(request, status, said, error.do)
        if isinstance(error, NotKnown):
            return sorry(request, 422, f"{error.what}: {error.why}", error.do)
        if isinstance(error, Stopped):
            return sorry(request, 409, "Stopped, and nothing was half written.")
        return None


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:  # noqa: ARG001
    """A request that makes no sense."""
    return sorry(request, 400, "That could not be read.", "Open the page again.")


def not_allowed(request: HttpRequest, exception: Exception) -> HttpResponse:  # noqa: ARG001
    """A request that is not let in."""
    return sorry(request, 403, "That is not for this place.")


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:  # noqa: ARG001
    """An address where nothing lies."""
    return sorry(request, 404, "Nothing lies at this address.", "Go by the words above.")


def our_fault(request: HttpRequest) -> HttpResponse:
    """Our own fault; the log has it."""
    logging.getLogger("lemel.web").error("a page broke")
    return sorry(
        request, 500, "This page broke; that is our fault.", "The book is whole. Try again."
    )
