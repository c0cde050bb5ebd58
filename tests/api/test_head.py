"""The API tells the book's last entry."""

from __future__ import annotations

from django.test import Client

from lemel.book import open_book
from lemel.serve import point_at


def test_the_head_of_an_empty_book_is_nothing(tmp_path):
    open_book(tmp_path / "book", create=True).close()
    point_at(tmp_path / "book")
    assert Client().get("/api/head").json() == {"entries": 0, "head": ""}
