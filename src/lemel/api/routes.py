"""The API's root: what the book's last entry is."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from ninja import NinjaAPI

from lemel import __version__
from lemel.book import open_book

__all__ = ["api"]

api = NinjaAPI(title="lemel", version=__version__, urls_namespace="api")


@api.get("/head")
def head(request: Any) -> dict[str, Any]:  # noqa: ARG001
    """Number and digest of the book's last entry."""
    number, digest = open_book(settings.LEMEL_BOOK).head()
    return {"entries": number, "head": digest}
