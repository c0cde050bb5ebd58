"""Lots and heaps a page at a time say what the whole lists say."""

from __future__ import annotations

import pytest

from lemel.book import Account, Book, find_heaps, find_lots, open_book
from lemel.errors import BadInput
from tests.months import quillmarsh_problem


@pytest.fixture
def book(tmp_path):
    with open_book(tmp_path / "book", create=True) as made:
        made.bench.take_in(quillmarsh_problem())
        yield made


def _all_pages(book: Book, most: int) -> tuple:
    lots, after = [], ""
    while True:
        some = find_lots(book, after=after, most=most)
        lots += some.lots
        if not some.after:
            return tuple(lots)
        after = some.after


@pytest.mark.parametrize("most", [1, 7, 500])
def test_all_pages_together_are_the_whole_list(book, most):
    assert _all_pages(book, most) == book.lots()


def test_a_word_is_looked_for_in_id_and_record_and_owner_narrows(book):
    lots = book.lots()
    wanted = lots[3]
    assert wanted in find_lots(book, wanted.id.lower(), most=500).lots
    assert find_lots(book, "filings", most=500).lots == tuple(
        lot for lot in lots if "filings" in f"{lot}"
    )
    own = find_lots(book, owner=wanted.owner, most=500).lots
    assert own == tuple(lot for lot in lots if lot.owner == wanted.owner)


def test_an_answer_to_a_gate_is_in_the_lot_and_an_empty_bag_is_not_there(book):
    lot = book.lots()[0]
    book.bench.answer_gate(lot.id, "magnet", "no", seen="the magnet fell off")
    assert find_lots(book, lot.id).lots[0].flags["magnet"] == "no"
    assert [one.answer for one in book.bench.gate_answers(lot.id)] == ["no"]
    book.mishaps.take_back(lot.id, drop=True)
    assert lot.id not in {one.id for one in find_lots(book, most=500).lots}


def test_heaps_page_by_page_are_the_balances(book):
    found: dict = {}
    after = 0
    while True:
        some = find_heaps(book, after=after, most=9)
        found |= dict(some.heaps)
        after = some.after
        if not after:
            break
    assert found == book.balances()
    assert set(dict(find_heaps(book, place="store", most=500).heaps)) == set(
        book.balances(place="store")
    )
    assert isinstance(next(iter(found)), Account)


def test_a_page_has_a_limit(book):
    with pytest.raises(BadInput, match="1 to 500"):
        find_lots(book, most=501)


def test_acts_together_are_all_there_or_none(book):
    before = book.head()

    def two_acts() -> None:
        with book.together():
            book.enter_owners({"zed": "Zed"})
            book.bench.close_order("no such line", "met")

    with pytest.raises(BadInput, match="no such line"):
        two_acts()
    assert book.head() == before
    assert "zed" not in book.owners()
