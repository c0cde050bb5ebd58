"""Parcels and stock-takes on the pages: reckoned, sent, answered; counted and signed off."""

from __future__ import annotations

import pytest

from lemel.book import Account, open_book
from tests.web.test_books import plain, read, refused, sent

TERMS = {
    "id": "Saltmoor Refiners", "as_of": "2026-10-01", "currency": "qmk", "paid-Ag": "95",
    "paid-Au": "98", "lot_charge": "10", "least_charge": "60", "postage": "12", "days": "10",
}  # fmt: skip
PARCELS = "/books/parcels/"


@pytest.fixture
def book(folder):
    return open_book(folder)


@pytest.fixture
def terms(client, book):
    sent(client, f"{PARCELS}terms/", **TERMS)
    return book.papers.refiners()["Saltmoor Refiners"]


def drawn_up(client, *bodies):
    place = client.post(
        PARCELS, {"refiner": "Saltmoor Refiners", "body": list(bodies), "once": "-".join(bodies)}
    )
    assert place.status_code == 302, plain(place.content.decode())[-600:]
    return place["Location"]


def test_terms_are_copied_by_hand_field_by_field(client, terms):
    assert float(terms.payable["Ag"]) == 0.95
    assert terms.currency == "QMK"
    page = f"{PARCELS}terms/"
    for name, bad in (("as_of", "soon"), ("days", "1.5"), ("paid-Ag", "950"), ("currency", "")):
        assert f'id="d-{name.lower()}"' in refused(client, page, **{**TERMS, name: bad})
    nothing = {**TERMS, "paid-Ag": "", "paid-Au": ""}
    assert "paid share" in refused(client, page, **nothing)


def test_a_small_parcel_is_not_yet_worth_its_charges(client, terms):
    page = drawn_up(client, "S5")
    assert "Not yet" in plain(read(client, page)) or "not yet" in plain(read(client, page))
    assert client.get(page.rstrip("/") + ".pdf").content.startswith(b"%PDF")


def test_a_parcel_needs_terms_and_something_in_it(client, terms):
    assert "f-body" in refused(client, PARCELS, refiner="Saltmoor Refiners")
    assert "f-refiner" in refused(client, PARCELS, refiner="nobody", body="S5")


def test_a_parcel_drawn_up_twice_by_one_press_is_one(client, terms, book):
    assert drawn_up(client, "S5") == drawn_up(client, "S5")
    assert len(book.papers.parcels()) == 1


def test_a_parcel_goes_and_is_settled_by_what_the_refiner_found(client, terms, book):
    free = next(lot for lot in book.lots() if lot.id == "G10")
    page = drawn_up(client, free.id)
    sent(client, page, do="send", once="send")
    assert not book.held(Account("shop", "store", free.id)).gross_mg
    assert "f-assayed" in refused(client, page, do="settle")
    lot = book.papers.parcels()[0].estimate[0]
    found = {f"assayed-0-{metal}": f"{ng / 1e9:.3f}" for metal, ng in lot.fine_ng.items()}
    back = {"back-0": "1.5", "back-metal-0": "Au", "back-fine-0": "999.9", "paid-0": "40"}
    sent(client, page, do="settle", **found, **back)
    assert "paid 40" in plain(read(client, page))
    assert book.audit().whole


def test_a_parcel_is_unpacked_to_where_it_lay(client, terms, book):
    mg = book.held(Account("shop", "store", "G10")).gross_mg
    page = drawn_up(client, "G10")
    sent(client, page, do="send")
    sent(client, page, do="unpack")
    assert book.held(Account("shop", "store", "G10")).gross_mg == mg


def test_samples_go_to_the_office_and_its_answer_is_evidence(client, book):
    new = f"{PARCELS}assay/"
    assert "f-body" in refused(client, new, office="Ferrow", claim="", sample="")
    said = {"office": "Ferrow", "claim": "", "sample": "drill", "body": "G10"}
    assert "f-mass_g" in refused(client, new, **said, mass_g="")
    page = sent(client, new, **said, mass_g="0.2")
    assert client.get(page.rstrip("/") + ".pdf").content.startswith(b"%PDF")
    assert "f-share-1" in refused(client, page, **{"result-1": "passed", "share-1": "2000"})
    before = len(book.readings("G10"))
    sent(client, page, **{"result-1": "passed", "share-1": "612", "fee": "30", "currency": "gbp"})
    assert len(book.readings("G10")) == before + 1
    assert "612" in plain(read(client, page))


def test_a_stock_take_hides_the_weights_and_posts_the_differences(client, book):
    page = sent(client, "/books/count/", place="store", owner="ostervelt")
    row = book.papers.read_stock_take("T-0001").rows[0]
    assert (
        f"{row.book_mg / 1000:.3f}"
        not in plain(read(client, page)).split("Sign off")[0].split("Weigh without")[1]
    )
    assert client.get(page.rstrip("/") + ".pdf").content.startswith(b"%PDF")
    assert "row 1" in refused(client, page, signed_by="bo")
    assert "f-signed_by" in refused(client, page, **{"row 1": "171.80"})
    refused(client, page, **{"row 1": "heavy", "signed_by": "bo"})
    assert book.papers.read_stock_take("T-0001").state == "open"
    answer = {"row 1": f"{row.book_mg / 1000 - 0.1:.2f}", "signed_by": "bo", "second": "ada"}
    done = client.post(page, answer)
    if done.status_code == 422:
        assert "promised to a plan" in done.content.decode()
        return
    assert book.papers.read_stock_take("T-0001").difference_mg == -100
    assert "Signed" in plain(read(client, page))


def test_a_stock_take_names_its_places(client):
    assert "f-places" in refused(client, "/books/count/", place="attic", owner="")
    assert "f-owner" in refused(client, "/books/count/", owner="nobody")
