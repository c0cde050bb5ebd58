"""The ledger: what is sealed stays, what does not balance is never let in."""

from __future__ import annotations

import sqlite3
import threading

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lemel.book import Account, Line, open_book
from lemel.book.engine import DATABASE
from lemel.book.guards import TRIGGERS
from lemel.book.holdings import in_proportion, share
from lemel.errors import BadInput
from lemel.values import Composition, Holding

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})


def brought(owner: str, lot: str, mg: int, of: Composition = STERLING) -> list[Line]:
    metal = Holding.of(mg, of)
    return [
        Line(Account(owner, "outside", "arrivals"), -metal),
        Line(Account(owner, "store", lot), metal),
    ]


def raw(book) -> sqlite3.Connection:
    """The file behind the book's back, with the manners of any other program."""
    connection = sqlite3.connect(book.folder / DATABASE, isolation_level=None)
    connection.execute("PRAGMA foreign_keys=ON")
    return connection


def test_what_comes_in_is_held_to_the_nanogram(book):
    book.post("weigh_in", brought("ada", "F1", 41_200))
    held = book.held(Account("ada", "store", "F1"))
    assert held.gross_mg == 41_200
    assert held.as_dict() == {"Ag": 38_110_000_000, "Cu": 3_090_000_000}
    assert book.audit().whole


def test_an_entry_that_does_not_balance_in_gross_is_refused(book):
    lines = brought("ada", "F1", 100)
    with pytest.raises(BadInput, match="balance in gross"):
        book.post("weigh_in", [*lines, Line(Account("ada", "scrap", "x"), Holding.of(1, STERLING))])
    assert book.balances() == {}
    assert book.head() == (0, "")


def test_an_entry_that_balances_in_gross_but_not_in_silver_is_refused(book):
    lines = [brought("ada", "F1", 100)[0]]
    fine = Line(Account("ada", "store", "F1"), Holding.of(100, Composition.pure("Ag")))
    with pytest.raises(BadInput, match="balance in an element"):
        book.post("weigh_in", [*lines, fine])


def test_no_heap_gives_more_than_it_holds(book):
    book.post("weigh_in", brought("ada", "F1", 100))
    with pytest.raises(BadInput, match="more is taken than is there"):
        book.post(
            "give_back", [Line(one.account, -one.holding) for one in brought("ada", "F1", 101)]
        )
    assert book.held(Account("ada", "store", "F1")).gross_mg == 100


def test_no_heap_gives_an_element_that_it_lacks(book):
    book.post("weigh_in", brought("ada", "F1", 100))
    gold = brought("ada", "F1", 1, Composition.pure("Au"))
    with pytest.raises(BadInput, match="more is taken than is there"):
        book.post("give_back", [Line(one.account, -one.holding) for one in gold])


def test_metal_changes_its_owner_only_by_a_consent(book):
    book.post("weigh_in", brought("shop", "grain", 1000))
    metal = Holding.of(300, STERLING)
    over = [
        Line(Account("shop", "store", "grain"), -metal),
        Line(Account("ada", "store", "grain"), metal),
    ]
    with pytest.raises(BadInput, match="only by a consent"):
        book.post("transfer", over)
    book.post("transfer", over, consent="C1")
    assert book.held(Account("ada", "store", "grain")).gross_mg == 300


def test_the_same_act_with_the_same_key_is_one_entry(book):
    first = book.post("weigh_in", brought("ada", "F1", 100), key="phone-1")
    again = book.post("weigh_in", brought("ada", "F1", 100), key="phone-1")
    assert (again.number, again.digest, again.again) == (first.number, first.digest, True)
    assert book.held(Account("ada", "store", "F1")).gross_mg == 100


def test_a_key_does_not_stand_for_another_act(book):
    book.post("weigh_in", brought("ada", "F1", 100), key="phone-1")
    with pytest.raises(BadInput, match="says something else"):
        book.post("weigh_in", brought("ada", "F1", 101), key="phone-1")


def test_a_reversal_restores_and_is_made_once(book):
    sealed = book.post("weigh_in", brought("ada", "F1", 100))
    undone = book.reverse(sealed.number)
    assert book.balances() == {}
    assert book.reverse(sealed.number).number == undone.number
    assert book.audit().whole


def test_an_unknown_owner_is_named(book):
    with pytest.raises(BadInput, match="owner is 'cy'"):
        book.post("weigh_in", brought("cy", "F1", 100))


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE book_entry SET kind = 'gift' WHERE number = 1",
        "DELETE FROM book_entry",
        "UPDATE book_posting SET gross_mg = gross_mg + 1",
        "DELETE FROM book_posting",
        "UPDATE book_part SET ng = ng + 1",
        "DELETE FROM book_part",
        "DELETE FROM book_account",
        "UPDATE book_account SET place = 'piece' WHERE place = 'store'",
        "INSERT INTO book_posting (entry_id, line, account_id, gross_mg) VALUES (1, 9, 1, 5)",
        "INSERT INTO book_part (posting_id, element, ng) VALUES (1, 'Au', 5)",
        "INSERT OR REPLACE INTO book_posting (id, entry_id, line, account_id, gross_mg)"
        " VALUES (1, 2, 0, 1, 5)",
        "INSERT OR REPLACE INTO book_entry SELECT * FROM book_entry",
        "INSERT INTO book_posting (entry_id, line, account_id, gross_mg) VALUES (2, 0, 1, 0.5)",
        "INSERT INTO book_part (posting_id, element, ng) VALUES (99, 'Ag', 'much')",
        "INSERT INTO book_account (owner_id, place, body, gross_mg) SELECT key, 'store', 'x', 9"
        " FROM book_party LIMIT 1",
    ],
)
def test_the_database_itself_refuses(book, sql):
    book.post("weigh_in", brought("ada", "F1", 100))
    with raw_closed(book) as connection, pytest.raises(sqlite3.DatabaseError, match="book: "):
        connection.execute(sql)
    assert book.audit().whole


class raw_closed:  # noqa: N801 - reads as a word in a with
    """`raw`, closed again."""

    def __init__(self, book):
        self.connection = raw(book)

    def __enter__(self):
        return self.connection

    def __exit__(self, *_):
        self.connection.close()


def test_postings_without_an_entry_are_not_committed(book):
    book.post("weigh_in", brought("ada", "F1", 100))
    with raw_closed(book) as connection:
        connection.execute("BEGIN")
        connection.execute(
            "INSERT INTO book_posting (entry_id, line, account_id, gross_mg) VALUES (2, 0, 1, 5)"
        )
        with pytest.raises(sqlite3.IntegrityError):
            connection.execute("COMMIT")
        connection.execute("ROLLBACK")


def test_every_guard_is_there_after_all_migrations(book):
    with raw_closed(book) as connection:
        there = {name for (name,) in connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'")}  # fmt: skip
    assert there == set(TRIGGERS)


def test_the_migrations_make_the_tables_that_the_models_describe(book):
    from django.core.management import call_command

    call_command("makemigrations", "book", check=True, dry_run=True, verbosity=0)


TAMPERED = {
    "a changed amount": ("part_never_changes", "UPDATE book_part SET ng = ng + 1 WHERE id = 3"),
    "a changed word": ("entry_never_changes", "UPDATE book_entry SET about = 'x' WHERE number = 2"),
    "a changed total": ("", "UPDATE book_held SET ng = ng + 1 WHERE ng > 0"),
    "a dropped guard": ("", "DROP TRIGGER part_stays"),
    "a dropped entry": ("entry_stays", "DELETE FROM book_entry WHERE number = 2"),
}


@pytest.mark.parametrize("how", TAMPERED)
def test_the_audit_finds(book, how):
    for n in range(3):
        book.post("weigh_in", brought("ada", f"F{n}", 100 + n))
    guard, sql = TAMPERED[how]
    with raw_closed(book) as connection:
        connection.execute("PRAGMA foreign_keys=OFF")
        if guard:
            connection.execute(f"DROP TRIGGER {guard}")
        connection.execute(sql)
        if guard:
            connection.execute(TRIGGERS[guard])
    found = book.audit()
    assert not found.whole
    if "entry" in guard:
        assert "entry 2" in {fault.about for fault in found.faults} | {
            fault.about.replace("3", "2") for fault in found.faults
        }


def test_the_audit_names_the_entry_whose_byte_was_flipped(book):
    for n in range(3):
        book.post("weigh_in", brought("ada", f"F{n}", 100 + n), about=f"mark-of-{n}")
    book.close()
    with raw_closed(book) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    path = book.folder / DATABASE
    data = path.read_bytes()
    places = [n for n in range(len(data)) if data.startswith(b"mark-of-1", n)]
    named = []
    for place in places:
        book.close()
        path.write_bytes(data[:place] + b"n" + data[place + 1 :])
        found = book.audit()
        assert not found.whole
        named += [fault.about for fault in found.faults]
    assert "entry 2" in named


def test_a_tail_that_is_cut_off_is_found_by_the_head_on_paper(book):
    book.post("weigh_in", brought("ada", "F1", 100))
    sealed = book.post("weigh_in", brought("ada", "F2", 100))
    assert book.audit((sealed.number, sealed.digest)).whole
    with raw_closed(book) as connection:
        names = ("entry_stays", "posting_stays", "part_stays", "held_stays", "account_stays")
        for name in names:
            connection.execute(f"DROP TRIGGER {name}")
        connection.executescript(
            "DELETE FROM book_part WHERE posting_id IN"
            " (SELECT id FROM book_posting WHERE entry_id = 2);"
            "DELETE FROM book_posting WHERE entry_id = 2; DELETE FROM book_entry WHERE number = 2;"
            "DELETE FROM book_held WHERE account_id IN"
            " (SELECT id FROM book_account WHERE body = 'F2');"
            "DELETE FROM book_account WHERE body = 'F2';"
            "UPDATE book_account SET gross_mg = -100 WHERE place = 'outside';"
            "UPDATE book_held SET ng = ng / 2 WHERE ng < 0;"
        )
        for name in names:
            connection.execute(TRIGGERS[name])
    assert book.audit().whole
    codes = [fault.code for fault in book.audit((sealed.number, sealed.digest)).faults]
    assert codes == ["book.audit.not_as_noted"]


def test_two_threads_that_write_queue_and_lose_nothing(book):
    faults: list[BaseException] = []

    def write(name: str) -> None:
        try:
            for n in range(15):
                book.post("weigh_in", brought("ada", f"{name}{n}", 10 + n))
        except BaseException as fault:
            faults.append(fault)
        finally:
            book.close()

    threads = [threading.Thread(target=write, args=(name,)) for name in "AB"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not faults
    found = book.audit()
    assert (found.entries, found.whole) == (30, True)


def test_the_names_can_be_erased_and_the_chain_still_holds(book):
    book.post("weigh_in", brought("ada", "F1", 100))
    head = book.head()
    key = book.erase_names("ada")
    assert book.held(Account(key, "store", "F1")).gross_mg == 100
    assert book.audit(head).whole
    book.close()
    with raw_closed(book) as connection:
        connection.execute("VACUUM")
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    assert b"ada" not in (book.folder / DATABASE).read_bytes()


def test_the_secret_is_its_owners_alone(book):
    assert (book.folder / "secret").stat().st_mode & 0o777 == 0o600
    assert (book.folder).stat().st_mode & 0o777 == 0o700


def test_there_is_no_book_where_none_was_begun(tmp_path):
    with pytest.raises(BadInput, match="book is"):
        open_book(tmp_path)


holdings = st.builds(
    lambda mg, parts: Holding.of(mg, Composition.of(parts, 0.01)),
    st.integers(1, 10**7),
    st.dictionaries(st.sampled_from(["Ag", "Au", "Cu", "Zn"]), st.floats(0.001, 1), min_size=1),
)


@given(holdings, st.lists(st.integers(0, 10**6), min_size=1, max_size=8))
def test_shares_and_what_is_left_are_the_whole(whole, parts_mg):
    parts, left = share(whole, parts_mg)
    assert sum(parts, left) == whole
    assert [part.gross_mg for part in parts] == parts_mg
    assert all(ng >= 0 for part in parts for _, ng in part.element_ng)
    if left.gross_mg >= 0:
        assert all(ng >= 0 for _, ng in left.element_ng)


@given(holdings, st.integers(0, 10**7))
def test_a_part_has_the_composition_of_the_whole_to_the_nanogram(whole, mg):
    part = in_proportion(whole, mg).as_dict()
    for element, ng in whole.element_ng:
        assert abs(part.get(element, 0) - ng * mg / whole.gross_mg) <= 1
