"""Scrap: what lies in the bags, and what is known of it."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.urls import path

from lemel.web import shell

__all__ = ["urlpatterns"]


def index(request: HttpRequest) -> HttpResponse:
    """The area's first page."""
    return shell.show(request, "web/scrap/index.html", {})


urlpatterns = [path("", index, name="scrap")]
