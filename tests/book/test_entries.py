"""Entries a page at a time: all of them once, the newest first, with both sides of an undoing."""

from __future__ import annotations

import pytest

from lemel.book import Account, Draft, Line, entry_of, find_entries
from lemel.errors import BadInput
from lemel.values import Composition, Holding

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})


@pytest.fixture
def filled(book):
    def weighed(n, owner):
        metal = Holding.of(1000 + n, STERLING)
        lines = [
            Line(Account(owner, "outside", "arrivals"), -metal),
            Line(Account(owner, "store", f"L{n % 5}"), metal),
        ]
        return Draft("weigh_in", lines, key=f"in {n}", about=f"L{n % 5}", by="bo")

    book.post_many(weighed(n, "ada" if n % 2 else "bo") for n in range(47))
    return book


def pages(book, of, most):
    found, before = [], 0
    while True:
        page = find_entries(book, of, before=before, most=most)
        found += page.entries
        before = page.before
        if not before:
            return found


@pytest.mark.parametrize("most", [1, 7, 46, 47, 500])
def test_pages_give_every_entry_once_the_newest_first(filled, most):
    assert [one.number for one in pages(filled, "", most)] == list(range(47, 0, -1))


@pytest.mark.parametrize(
    ("of", "count"), [("L3", 9), ("ada", 23), ("bo", 24), ("weigh_in", 47), ("nothing", 0)]
)
def test_what_touches_a_heap_or_an_owner_is_found(filled, of, count):
    assert len(pages(filled, of, 10)) == count


def test_an_entry_tells_its_lines_and_what_undid_it(filled):
    undone = filled.reverse(3, by="ada")
    first, second = entry_of(filled, 3), entry_of(filled, undone.number)
    assert (first.undone_by, second.undoes) == (undone.number, 3)
    assert (first.by, second.by) == ("bo", "ada")
    assert sum(line.holding.gross_mg for line in first.lines) == 0
    assert {line.account: -line.holding for line in first.lines} == {
        line.account: line.holding for line in second.lines
    }
    assert find_entries(filled, most=1).entries == (second,)


def test_what_is_not_there_is_refused(filled):
    with pytest.raises(BadInput, match="48"):
        entry_of(filled, 48)
    with pytest.raises(BadInput, match="most"):
        find_entries(filled, most=0)
