"""The page on which a reader chooses the units of all pages."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import path
from django.utils.http import url_has_allowed_host_and_scheme

from lemel.web import given, shell
from lemel.web.reader import CHOICES, COOKIE, prefers

__all__ = ["units", "urlpatterns"]

_YEAR_S = 365 * 24 * 3600


def units(request: HttpRequest) -> HttpResponse:
    """Choose the units in which the pages speak."""
    back = str(request.POST.get("back") or request.GET.get("back") or "/")
    if not url_has_allowed_host_and_scheme(back, allowed_hosts=None) or back.startswith("//"):
        back = "/"
    with shell.faults(request):
        if request.method == "POST":
            chosen = [
                given.choice(request, name, [key for key, _ in some])
                for name, some in CHOICES.items()
            ]
            answer = redirect(back)
            answer.set_cookie(
                COOKIE, ".".join(chosen), max_age=_YEAR_S, httponly=True, samesite="Strict"
            )
            return answer
    now = prefers()
    context = {
        "back": back,
        "fields": [
            (name, name, some, getattr(now, name) or some[0][0]) for name, some in CHOICES.items()
        ],
    }
    return shell.show(request, "web/shell/units.html", context)


urlpatterns = [path("", units, name="units")]
