"""Records of the shop: versions, never edits; what is private can be emptied."""

import pytest
from django.db import DatabaseError, connections

from lemel.book import open_book
from lemel.errors import BadInput


def test_a_change_is_a_new_version_and_the_same_again_is_none(book):
    book.enter_owners({"ada": "Ada"})
    first = book.file("order", "O1", {"what": "ring"}, owner="ada", private={"note": "for mother"})
    again = book.file("order", "O1", {"what": "ring"}, owner="ada", private={"note": "for mother"})
    later = book.file("order", "O1", {"what": "bangle"}, owner="ada")
    assert (first.n, again.n, later.n) == (1, 1, 2)
    assert book.filed("order")["O1"].record == {"what": "bangle"}
    assert [one.record["what"] for one in book.filed_history("order", "O1")] == ["ring", "bangle"]


def test_what_is_gone_no_longer_stands_but_is_not_lost(book):
    book.file("price", "silver", {"per_g": "0.80"})
    book.file("price", "silver", {"per_g": "0.80"}, gone=True)
    assert book.filed("price") == {}
    assert len(book.filed_history("price", "silver")) == 2


def test_a_record_changed_behind_the_books_back_is_refused_or_found(book):
    book.file("rule", "promise", {"probability": 0.99})
    with connections[book.alias].cursor() as cursor:
        with pytest.raises(DatabaseError):
            cursor.execute("UPDATE book_filed SET record = '{}'")
        with pytest.raises(DatabaseError):
            cursor.execute("DELETE FROM book_filed")
        cursor.execute("DROP TRIGGER filed_is_fixed")
        cursor.execute("""UPDATE book_filed SET record = '{"probability":0.5}'""")
    codes = {fault.code: fault.about for fault in book.audit().faults}
    assert codes["book.audit.filed"] == "rule promise"


def test_records_travel_with_the_book(book, tmp_path):
    book.enter_owners({"ada": "Ada"})
    book.file("order", "O1", {"what": "ring"}, owner="ada")
    with open_book(tmp_path / "other", create=True) as other:
        assert other.read_in(book.export()).whole
        assert other.filed("order") == book.filed("order")


def test_an_unknown_owner_is_refused_by_name(book):
    with pytest.raises(BadInput, match="nobody"):
        book.file("order", "O1", {}, owner="nobody")
