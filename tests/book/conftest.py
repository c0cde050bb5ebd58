"""A book in a folder of its own, with Ada and the shop in it, at an hour that stands still."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from lemel.book import open_book

NOON = datetime(2031, 10, 9, 12, 0, tzinfo=UTC)


@pytest.fixture
def book(tmp_path):
    with open_book(tmp_path / "book", create=True, clock=lambda: NOON) as opened:
        opened.enter_owners({"shop": "Quillmarsh Bench", "ada": "Ada", "bo": "Bo"})
        yield opened
