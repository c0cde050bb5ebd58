"""What can I make from this, today? One line an open order, and the drawer."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.urls import path

from lemel.web import shell

__all__ = ["urlpatterns"]


def index(request: HttpRequest) -> HttpResponse:
    """The first page."""
    return shell.show(request, "web/today/index.html", {"lines": ()})


urlpatterns = [path("", index, name="today")]
