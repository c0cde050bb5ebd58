"""Many entries at once pass the same guards, one by one in the same chain; all or none."""

from __future__ import annotations

import time

import pytest

from lemel.book import Account, Draft, Line
from lemel.errors import BadInput
from lemel.values import Composition, Holding

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})
GOLD = Composition.from_millesimal({"Au": 750, "Ag": 125, "Cu": 125})


def drafts(count, begin=0, bags=500):
    """Bags weighed in, then shared out and put together again: nothing is lost on the way."""
    for n in range(begin, begin + count):
        bag = Account("ada", "store", f"L{n % bags}")
        metal = Holding.of(1000 + n % 977, GOLD if n % 3 == 0 else STERLING)
        source = Account("ada", "outside", "arrivals")
        yield Draft("weigh_in", [Line(source, -metal), Line(bag, metal)], key=f"in {n}")


def sums(count, bags=500):
    """The same, added up without the book."""
    by_bag = {}
    for n in range(count):
        metal = {"Au": 750, "Ag": 125, "Cu": 125} if n % 3 == 0 else {"Ag": 925, "Cu": 75}
        mg = 1000 + n % 977
        own = by_bag.setdefault(f"L{n % bags}", {})
        for element, parts in metal.items():
            own[element] = own.get(element, 0) + mg * parts * 1000
    return by_bag


def fill_and_check(book, count):
    begun = time.perf_counter()
    assert book.post_many(drafts(count))[0] == count
    sealed_s = time.perf_counter() - begun
    begun = time.perf_counter()
    held = book.balances("ada", "store")
    balance_s = time.perf_counter() - begun
    assert {a.body: h.as_dict() for a, h in held.items()} == sums(count)
    begun = time.perf_counter()
    found = book.audit()
    assert found.whole
    assert found.entries == count
    return sealed_s, balance_s, time.perf_counter() - begun


def test_twenty_thousand_postings_balance_to_the_nanogram(book):
    _, balance_s, _ = fill_and_check(book, 10_000)
    assert balance_s < 0.5


@pytest.mark.soak
def test_a_million_postings_balance_to_the_nanogram(book, record_property):
    sealed_s, balance_s, audit_s = fill_and_check(book, 500_000)
    record_property("sealed_s", sealed_s)
    record_property("audit_s", audit_s)
    assert balance_s < 0.05


def test_one_by_one_and_all_at_once_make_the_same_chain(book, tmp_path, begun):
    import shutil

    from lemel.book import open_book

    shutil.copytree(begun, tmp_path / "other")
    with open_book(tmp_path / "other", clock=book.clock) as other:
        for draft in drafts(30, bags=7):
            other.post(draft.kind, draft.lines, key=draft.key)
        book.post_many(drafts(30, bags=7))
        assert other.head() == book.head()


def test_one_that_does_not_balance_lets_none_in(book):
    metal = Holding.of(1000, STERLING)
    wrong = Draft("weigh_in", [Line(Account("ada", "store", "L1"), metal)], key="wrong")
    with pytest.raises(BadInput):
        book.post_many([*drafts(5), wrong])
    assert book.head()[0] == 0
    assert book.balances() == {}


def test_a_key_that_is_known_lets_none_in(book):
    book.post_many(drafts(3))
    with pytest.raises(BadInput):
        book.post_many(drafts(5))
    assert book.head()[0] == 3


def test_nothing_is_taken_below_nothing(book):
    metal = Holding.of(1000, STERLING)
    bag, gone = Account("ada", "store", "L1"), Account("ada", "refiner", "R1")
    with pytest.raises(BadInput):
        book.post_many([Draft("send", [Line(bag, -metal), Line(gone, metal)])])
    assert book.head()[0] == 0
