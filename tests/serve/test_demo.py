"""The demo's book: the month as its files tell it, planned once."""

from __future__ import annotations

from lemel.book import open_book, plans_at_work
from lemel.serve import demo_book
from tests.months import quillmarsh_problem


def test_the_demo_is_the_month_of_the_files_and_is_planned_once(tmp_path):
    place = demo_book(tmp_path / "demo")
    with open_book(place) as book:
        head = book.head()
        assert book.audit().whole
        assert len(plans_at_work(book)) == 1
        asked = {line.id for line in quillmarsh_problem().orders}
        assert {one.line.id for one in book.bench.orders(open_only=False)} == asked
        grams = sum(lot.mass_g for lot in quillmarsh_problem().lots)
        lots = {lot.id for lot in quillmarsh_problem().lots}
        held = sum(m.gross_mg for a, m in book.balances(place="store").items() if a.body in lots)
        assert held == round(grams * 1000)
    assert demo_book(place) == place
    with open_book(place) as book:
        assert book.head() == head
