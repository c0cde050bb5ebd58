"""Backups by themselves: one a day, thinned; one before the tables change, which loses nothing."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from django.core.management import call_command
from django.db import connections
from hypothesis import given
from hypothesis import strategies as st

from lemel.book import Account, Line, engine, guards, open_book, restore
from lemel.book.copies import worth_keeping
from lemel.values import Composition, Holding

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})


def weigh(book, key="in"):
    metal = Holding.of(1000, STERLING)
    lines = [
        Line(Account("ada", "outside", "arrivals"), -metal),
        Line(Account("ada", "store", "L1"), metal),
    ]
    return book.post("weigh_in", lines, key=key)


def test_a_day_has_one_backup_and_an_empty_book_none(book):
    assert book.copies.daily() is None
    weigh(book)
    path = book.copies.daily()
    assert path.name == "day-2031-10-09.zip"
    assert book.copies.daily() is None
    assert [one for one, _ in book.copies.kept()] == [path]


def test_the_daily_backup_is_the_book_again(book, tmp_path):
    weigh(book)
    found = restore(book.copies.daily(), tmp_path / "again")
    assert (found.entries, found.head) == book.head()


def test_two_years_of_days_leave_seven_days_eight_weeks_and_twenty_four_months(tmp_path, begun):
    import shutil

    shutil.copytree(begun, tmp_path / "long")
    hour = datetime(2029, 10, 9, 12, 0, tzinfo=UTC)
    with open_book(tmp_path / "long", clock=lambda: hour) as book:
        weigh(book)
        first = book.copies.daily()
        for n in range(1, 731):
            day = (hour + timedelta(days=n)).date()
            (first.parent / f"day-{day}.zip").write_bytes(b"")
        by_hand = first.parent / "book-by-hand.zip"
        by_hand.write_bytes(b"")
        book.copies._thin()
        kept = {path.name for path, _ in book.copies.kept()}
    days = {date.fromisoformat(name[4:14]) for name in kept if name.startswith("day-")}
    last = max(days)
    assert by_hand.name in kept
    assert {last - timedelta(days=n) for n in range(7)} <= days
    assert len({(d.year, d.month) for d in days}) == 24
    # Seven days, eight weeks, twenty-four months; some days serve twice.
    assert 24 <= len(days) <= 7 + 8 + 24


@given(st.sets(st.dates(date(2029, 1, 1), date(2032, 1, 1)), min_size=1, max_size=200))
def test_the_newest_backup_always_stays(days):
    kept = worth_keeping(days)
    assert max(days) in kept
    assert kept <= days
    assert worth_keeping(kept) == kept


def test_before_the_tables_change_there_is_a_backup_and_nothing_is_lost(tmp_path):
    home = tmp_path / "old"
    (home / "photos").mkdir(parents=True)
    alias = engine.connect(home)
    call_command("migrate", "book", "0001", database=alias, verbosity=0, interactive=False)
    with connections[alias].cursor() as cursor:
        cursor.execute(
            "INSERT INTO book_party (key, code, shown, is_owner, erased_at)"
            " VALUES ('p1', 'ada', 'Ada', 1, '')"
        )
    engine.let_go(alias)
    with open_book(home) as book:
        [made] = [path.name for path, _ in book.copies.kept()]
        assert made.startswith("before-")
        assert book.owners() == {"ada": "Ada"}
        assert guards.missing(connections[book.alias]) == []
        weigh(book)
        assert book.audit().whole
    with open_book(home) as book:
        assert len(book.copies.kept()) == 1


def test_after_every_migration_the_guards_are_there(tmp_path):
    with open_book(tmp_path / "new", create=True) as book:
        assert engine.waiting(book.alias) == 0
        assert guards.missing(connections[book.alias]) == []
