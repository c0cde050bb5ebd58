"""Books in folders of their own, at an hour that stands still: an empty one, and the month's."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime

import pytest

from lemel.book import open_book
from lemel.demo import quillmarsh
from lemel.files import read_plan
from lemel.plan import do
from lemel.values import Lot, Reading
from lemel.words import say

from .at_bench import GOLD, STERLING, run_month

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


def onward(folder, tmp_path_factory, name, go):
    """A copy of a book's folder, in which something more was done."""
    to = tmp_path_factory.mktemp(name) / "book"
    shutil.copytree(folder, to)
    with open_book(to, clock=clock) as book:
        go(book)
    return to


def opened(folder, tmp_path):
    """A copy of a folder of its own for one test, opened."""
    shutil.copytree(folder, tmp_path / "book")
    return open_book(tmp_path / "book", clock=clock)


def run(book, plan, **weights):
    """Every step of the plan as planned, but for the weights that are told."""
    for step in book.steps(plan.id):
        if step.kind == "melt_and_pour":
            heat = step.about.split("/")[1]
            done = book.charge(plan.id, heat)
            assert done.entry, done
            book.molten(plan.id, heat)
            done = book.pour(plan.id, heat, **weights.get(heat, {}))
        elif step.kind != "top_up":
            done = book.work(plan.id, step.name, **weights.get(step.name, {}))
        assert done.entry, (step.name, [say(one) for one in done.objections])


@pytest.fixture(scope="session")
def accepted(weighed, plan, tmp_path_factory):
    """The month's book with its plan accepted, to be copied."""
    return onward(weighed, tmp_path_factory, "accepted", lambda book: book.accept(plan))


@pytest.fixture(scope="session")
def charged_once(accepted, plan, tmp_path_factory):
    """H1 is in its pot, to be copied."""
    return onward(accepted, tmp_path_factory, "charged", lambda book: book.charge(plan.id, "H1"))


@pytest.fixture(scope="session")
def poured_once(charged_once, plan, tmp_path_factory):
    """H1 is poured, to be copied."""

    def pour(book):
        book.molten(plan.id, "H1")
        book.pour(plan.id, "H1")

    return onward(charged_once, tmp_path_factory, "poured", pour)


@pytest.fixture(scope="session")
def worked(accepted, plan, tmp_path_factory):
    """The month after its steps, all as planned: pieces, bars and remnants; to be copied."""
    return onward(accepted, tmp_path_factory, "worked", lambda book: run(book, plan))


@pytest.fixture
def after(tmp_path, worked):
    """The month's book after every step."""
    with opened(worked, tmp_path) as book:
        yield book


@pytest.fixture
def book(tmp_path, begun):
    shutil.copytree(begun, tmp_path / "book")
    with open_book(tmp_path / "book", clock=clock) as book:
        yield book


@pytest.fixture
def stocked(tmp_path, weighed):
    shutil.copytree(weighed, tmp_path / "book")
    with open_book(tmp_path / "book", clock=clock) as book:
        yield book


@pytest.fixture
def shop(tmp_path, accepted):
    """The month's book with its plan accepted."""
    with opened(accepted, tmp_path) as book:
        yield book


@pytest.fixture
def charged(tmp_path, charged_once):
    with opened(charged_once, tmp_path) as book:
        yield book


@pytest.fixture
def poured(tmp_path, poured_once):
    with opened(poured_once, tmp_path) as book:
        yield book


@pytest.fixture
def bags(book):
    """Ada's and Bo's silver, and a bag of gold."""
    lots = [
        Lot("F1", "ada", "Ag", "filings", 41.2),
        Lot("C1", "ada", "Ag", "casting", 88.0, remelts=2),
        Lot("B1", "bo", "Ag", "wire", 12.0),
        Lot("G1", "ada", "Au", "wire", 9.0),
    ]
    readings = [Reading("R1", "F1", "xrf-bench", {"Ag": 0.925}, source="gun")]
    believed = {"F1": STERLING, "C1": STERLING, "B1": STERLING, "G1": GOLD}
    book.weigh_in(lots, readings, compositions=believed)
    return book


@pytest.fixture(scope="session")
def taken_folder(tmp_path_factory, month):
    folder = tmp_path_factory.mktemp("taken") / "book"
    with open_book(folder, create=True, clock=clock) as book:
        book.bench.take_in(month, source="quotations", by="maribeth")
    return folder


@pytest.fixture(scope="session")
def done_folder(tmp_path_factory, taken_folder, plan):
    folder = tmp_path_factory.mktemp("done") / "book"
    shutil.copytree(taken_folder, folder)
    with open_book(folder, clock=clock) as book:
        book.accept(plan)
        run_month(book, plan)
    return folder


@pytest.fixture(scope="session")
def poured_folder(tmp_path_factory, taken_folder, plan):
    folder = tmp_path_factory.mktemp("poured") / "book"
    shutil.copytree(taken_folder, folder)
    with open_book(folder, clock=clock) as book:
        book.accept(plan)
        run_month(book, plan, stop_before="mill H1-3")
    return folder


@pytest.fixture
def taken(tmp_path, taken_folder):
    """A book that has taken in the month's files."""
    shutil.copytree(taken_folder, tmp_path / "taken")
    with open_book(tmp_path / "taken", clock=clock) as book:
        yield book


@pytest.fixture
def done(tmp_path, done_folder):
    """The same after its plan was accepted and every step done."""
    shutil.copytree(done_folder, tmp_path / "done")
    with open_book(tmp_path / "done", clock=clock) as book:
        yield book
