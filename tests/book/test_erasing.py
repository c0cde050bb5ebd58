"""A person's words go when the person is erased: the export holds none of them any more."""

from __future__ import annotations

import dataclasses
import json
from datetime import date

import pytest

from lemel.book import open_book
from lemel.errors import BadInput
from lemel.values import Composition, Consent, Lot

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})
WORDS = ("grandmothers ladle", "letter in the blue folder", "left by the widow", "smells of amber")


@pytest.fixture
def told(book):
    lot = Lot("L1", "ada", "Ag", "hollowware", 80.0, note=WORDS[0])
    consent = Consent("K1", "ada", "destroy", date(2031, 10, 1), document=WORDS[1])
    book.weigh_in([lot], consents=[consent], compositions={"L1": STERLING})
    book.enter_purchase("L1", "ada", WORDS[2])
    book.bench.answer_gate("L1", "mercury", "no", seen=WORDS[3])
    return book


def test_the_words_are_read_with_what_they_are_about(told):
    [lot] = told.lots()
    assert lot.note == WORDS[0]
    [consent] = _consents(told)
    assert consent.document == WORDS[1]
    assert told.purchases()[0].described == WORDS[2]
    assert told.bench.gate_answers("L1")[0].seen == WORDS[3]


def _consents(book):
    from lemel.book import records

    return records.consents(book.alias).values()


def test_after_a_person_is_erased_the_export_holds_no_word_of_theirs(told, tmp_path):
    before = json.dumps(told.export())
    assert all(word in before for word in WORDS)
    balances, head = told.balances("ada"), told.head()
    key = told.erase_names("ada")
    after = told.export()
    assert [word for word in (*WORDS, "Ada") if word in json.dumps(after)] == []
    assert {a.body: h for a, h in told.balances(key).items()} == {
        a.body: h for a, h in balances.items()
    }
    assert told.head() == head
    assert told.audit().whole
    assert told.lots()[0].note == ""
    with open_book(tmp_path / "other", create=True) as other:
        assert other.read_in(after).whole


def test_the_same_lot_again_is_nothing_new_and_other_words_are_refused(told):
    lot = Lot("L1", "ada", "Ag", "hollowware", 80.0, note=WORDS[0])
    head = told.head()
    told.weigh_in([lot], compositions={"L1": STERLING})
    assert told.head() == head
    with pytest.raises(BadInput):
        told.weigh_in([dataclasses.replace(lot, note="other")], compositions={"L1": STERLING})
    consent = Consent("K1", "ada", "destroy", date(2031, 10, 1), document="another")
    with pytest.raises(BadInput):
        told.enter_consents([consent])


def test_a_book_that_has_the_words_in_the_lot_itself_is_read_as_ever(book):
    """As books were written before the words lay apart."""
    from lemel.book import ledger, records

    lot = Lot("L1", "ada", "Ag", "hollowware", 80.0, note=WORDS[0])
    with ledger.writing(book.alias):
        records.enter_body(book.alias, book.now(), "lot", "L1", "ada", lot, lot.origin)
    book.weigh_in([lot], compositions={"L1": STERLING})
    assert book.lots()[0].note == WORDS[0]
