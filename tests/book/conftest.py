"""Books in folders of their own, at an hour that stands still: an empty one, and the month's."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime

import pytest

from lemel.book import open_book
from lemel.demo import quillmarsh
from lemel.files import read_plan
from lemel.plan import do

NOON = datetime(2031, 10, 9, 12, 0, tzinfo=UTC)


def clock():
    return NOON


def fill(book, month):
    shop = month.workshop
    book.weigh_in(
        month.lots, month.readings, shop.owners, shop.consents,
        additions=shop.additions, bars=shop.stock, by="maribeth",
    )  # fmt: skip


@pytest.fixture(scope="session")
def month():
    return read_plan(quillmarsh())


@pytest.fixture(scope="session")
def plan(month):
    return do(month)


@pytest.fixture(scope="session")
def begun(tmp_path_factory):
    """A book with owners and nothing else, to be copied."""
    folder = tmp_path_factory.mktemp("begun") / "book"
    with open_book(folder, create=True, clock=clock) as book:
        book.enter_owners({"shop": "Quillmarsh Bench", "ada": "Ada", "bo": "Bo"})
    return folder


@pytest.fixture(scope="session")
def weighed(tmp_path_factory, month):
    """A book with the month's lots weighed in, to be copied."""
    folder = tmp_path_factory.mktemp("weighed") / "book"
    with open_book(folder, create=True, clock=clock) as book:
        fill(book, month)
    return folder


@pytest.fixture
def book(tmp_path, begun):
    shutil.copytree(begun, tmp_path / "book")
    with open_book(tmp_path / "book", clock=clock) as opened:
        yield opened


@pytest.fixture
def stocked(tmp_path, weighed):
    shutil.copytree(weighed, tmp_path / "book")
    with open_book(tmp_path / "book", clock=clock) as opened:
        yield opened
