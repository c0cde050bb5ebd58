"""The login, where the book asks for one: one password of the house, a few tries, then a wait."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from threading import Lock

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import path
from django.utils.crypto import constant_time_compare, salted_hmac
from django.utils.http import url_has_allowed_host_and_scheme

from lemel.errors import BadInput
from lemel.web import shell
from lemel.web.password import has_password, is_password, password_hash

__all__ = ["Door", "Tries", "urlpatterns"]

_IN = "in"
_BEFORE = "/door/"


class Tries:
    """Wrong passwords by caller: `most` within `within_s`, then a wait. All callers together
    have four times as many, so that changing one's address helps little."""

    def __init__(self, most: int = 5, within_s: float = 900.0) -> None:
        self.most, self.within_s = most, within_s
        self._wrong: dict[str, list[float]] = {}
        self._lock = Lock()

    def wait_s(self, who: str, now: float) -> float:
        """How long this caller has to wait; 0 if not at all."""
        with self._lock:
            return max(self._wait("", 4 * self.most, now), self._wait(who, self.most, now))

    def wrong(self, who: str, now: float) -> None:
        """One more wrong password."""
        with self._lock:
            for name in ("", who):
                kept = [t for t in self._wrong.get(name, []) if now - t < self.within_s]
                self._wrong[name] = [*kept, now]
            if len(self._wrong) > 1000:
                self._wrong = {"": self._wrong[""], who: self._wrong[who]}

    def right(self, who: str) -> None:
        """In: the caller's count begins anew."""
        with self._lock:
            self._wrong.pop(who, None)

    def _wait(self, name: str, most: int, now: float) -> float:
        recent = [t for t in self._wrong.get(name, []) if now - t < self.within_s]
        return self.within_s - (now - recent[-most]) if len(recent) >= most else 0.0


tries = Tries()


def Door(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[..., HttpResponse]:
    """Let in whoever has logged in, where the book asks for it; the rest see the login."""

    def guarded(request: HttpRequest) -> HttpResponse:
        # Programs may come with a token instead: the API looks at it where nobody is at home.
        request.at_home = _is_at_home(request, settings.LEMEL_BOOK)
        if request.at_home or request.path.startswith((_BEFORE, "/api/")):
            return get_response(request)
        return redirect(f"{_BEFORE}?next={request.path}")

    return guarded


def _is_at_home(request: HttpRequest, folder: Path | None) -> bool:
    """Whether no login is asked for, or this browser has logged in."""
    if folder is None or not has_password(folder):
        return True
    return bool(constant_time_compare(request.session.get(_IN, ""), _mark(folder)))


def _mark(folder: Path) -> str:
    """What a logged-in browser carries; a new password makes every old one worthless."""
    return str(salted_hmac("door", password_hash(folder)).hexdigest())


def enter(request: HttpRequest) -> HttpResponse:
    """The login page."""
    folder: Path = settings.LEMEL_BOOK
    onward = request.POST.get("next") or request.GET.get("next") or "/"
    if not url_has_allowed_host_and_scheme(onward, allowed_hosts=None):
        onward = "/"
    if not has_password(folder):
        return redirect("/")
    with shell.faults(request):
        if request.method == "POST":
            _check(request, folder)
            request.session.cycle_key()
            request.session[_IN] = _mark(folder)
            return redirect(onward)
    return shell.show(request, "web/door/enter.html", {"next": onward}, band=False)


def _check(request: HttpRequest, folder: Path) -> None:
    who, now = str(request.META.get("REMOTE_ADDR", "")), time.monotonic()
    wait = tries.wait_s(who, now)
    if wait:
        minutes = int(wait // 60) + 1
        raise BadInput("password", "", "a few tries", f"Wait {minutes} min, then try again.")
    if not is_password(folder, request.POST.get("password", "")):
        tries.wrong(who, now)
        raise BadInput("password", "", "the book's password", "That was another one.")
    tries.right(who)


def leave(request: HttpRequest) -> HttpResponse:
    """Out again."""
    if request.method == "POST":
        request.session.flush()
    return redirect("/")


urlpatterns = [path("", enter, name="door"), path("leave/", leave, name="leave")]
