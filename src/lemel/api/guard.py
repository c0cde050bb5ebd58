"""Who may speak to the API, and in which form every refusal goes out.

On this machine nobody has to log in unless the book has a password; then a device sends its
token, or a browser the cookie of its login. What another site's page sends is refused always.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from lemel.api.problems import PROBLEM, problem
from lemel.book import device_of

__all__ = ["entrance", "in_problems"]

View = Callable[[HttpRequest], HttpResponse]
_PLACE = "/api/"
_SAID = {
    400: "That could not be read.",
    404: "No address of the API. /api/openapi.json lists them all.",
    405: "This address takes another method.",
    413: "That is too much at once. Send it in parts.",
    500: "That is our fault. The book is whole; try again.",
}
_FORMS = ("application/json", "multipart/form-data")


def in_problems(get_response: View) -> View:
    """The outer one: whatever went wrong under /api/ goes out as a problem, never as a page."""

    def told(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if not request.path.startswith(_PLACE) or response.status_code < 400:
            return response
        if response.headers.get("Content-Type", "").startswith(PROBLEM):
            return response
        said = _SAID.get(response.status_code, "It was refused.")
        plain = problem(response.status_code, said)
        if response.has_header("Allow"):
            plain["Allow"] = response["Allow"]
        return plain

    return told


def entrance(get_response: View) -> View:
    """The inner one: from here, let in, and in a form that is read."""

    def guarded(request: HttpRequest) -> HttpResponse:
        if not request.path.startswith(_PLACE):
            return get_response(request)
        return _refused(request) or get_response(request)

    return guarded


def _refused(request: HttpRequest) -> HttpResponse | None:
    if _is_of_another_site(request):
        return problem(403, "Pages of other sites may not speak to this book.")
    if not _is_let_in(request):
        wanted = problem(401, "Send the token of a device: Authorization: Bearer lemel-...")
        wanted["WWW-Authenticate"] = 'Bearer realm="lemel"'
        return wanted
    if request.method in ("POST", "PUT", "PATCH"):
        return _in_which_form(request)
    return None


def _is_of_another_site(request: HttpRequest) -> bool:
    if request.headers.get("Sec-Fetch-Site", "none") not in ("none", "same-origin"):
        return True
    origin = request.headers.get("Origin")
    return origin is not None and urlsplit(origin).netloc != request.get_host()


def _is_let_in(request: HttpRequest) -> bool:
    """By the door of the pages, or by a device's own token."""
    if getattr(request, "at_home", False):
        return True
    kind, _, token = request.headers.get("Authorization", "").partition(" ")
    if kind.lower() != "bearer" or settings.LEMEL_BOOK is None:
        return False
    return bool(device_of(settings.LEMEL_BOOK, token.strip()))


def _in_which_form(request: Any) -> HttpResponse | None:
    length = int(request.META.get("CONTENT_LENGTH") or 0)
    if not length:
        return None
    if request.content_type not in _FORMS:
        return problem(415, f"It takes {' or '.join(_FORMS)}.")
    most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
    if request.content_type == _FORMS[0] and length > most:
        return problem(413, f"JSON of {most} bytes at most. Send it in parts.")
    return None
