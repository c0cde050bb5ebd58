"""Odd addresses, odd forms, stale pages, two hands at once: a sentence, never a broken page."""

from __future__ import annotations

import pytest

from lemel.book import open_book, plans_at_work

ODD = ["nope", "x" * 300, "99999999999999999999", "-1", "..%2f..%2fetc", "%00", "%3Cb%3E", "%C3%A9"]
PLACES = (
    "/scrap/bag/{}/", "/scrap/receipt/{}.pdf", "/scrap/picture/{}/", "/does/{}/",
    "/orders/new/{}/", "/orders/close/{}/", "/orders/plan/{}/", "/orders/plan/{}/cards.pdf",
    "/orders/plan/{}/drawing/", "/orders/plan/compare/?one={}&other={}", "/furnace/{}/H1/",
    "/furnace/{}/H1/state/", "/mill/{}/mill H1-3/", "/mill/drawing/{}/", "/books/owner/{}/",
    "/books/owner/{}/statement/", "/papers/cards/{}.pdf", "/papers/receipt/{}.pdf",
    "/books/owner/shop/statement/?until={}",
)  # fmt: skip


@pytest.fixture
def plan(folder):
    [name] = plans_at_work(open_book(folder))
    return name


@pytest.mark.parametrize("place", PLACES)
def test_an_odd_address_is_answered_with_a_sentence(client, place):
    client.raise_request_exception = False
    for odd in ODD:
        answer = client.get(place.format(odd, odd))
        assert answer.status_code in (200, 302, 400, 404), (place, odd, answer.status_code)
        assert b"Traceback" not in answer.content
        assert b"<b>" not in answer.content.split(b"<main")[-1].split(b"</h1>")[-1][:300]


def test_the_last_day_there_is_ends_no_period(client):
    answer = client.get("/books/owner/shop/statement/?until=9999-12-31")
    assert answer.status_code == 404
    assert b"a day like" in answer.content


def test_an_empty_form_writes_nothing_anywhere(client, folder, plan):
    client.raise_request_exception = False
    head = open_book(folder).head()
    for place in (
        "/scrap/weigh-in/", "/scrap/receipt/", "/scrap/bag/S1/", "/scrap/file/",
        "/orders/new/ring/", "/orders/plan/", f"/orders/plan/{plan}/", "/papers/labels/",
        f"/furnace/{plan}/H1/rehearse/", f"/furnace/{plan}/H1/line/", f"/furnace/{plan}/H1/out/",
        f"/mill/{plan}/mill H1-3/", "/books/owner/shop/", "/books/owners/",
    ):  # fmt: skip
        assert client.post(place, {}).status_code == 422, place
    assert open_book(folder).head() == head


def test_a_page_that_is_behind_the_bench_is_told_and_nothing_is_done_twice(client, folder, plan):
    book = open_book(folder)
    book.charge(plan, "H5")
    book.molten(plan, "H5")
    book.pour(plan, "H5")
    head = book.head()
    # The tubs, the ticks and the weighing of a page that was opened before all that.
    sent = {"what": "charged", "id": "a-page-left-open-1"}
    client.post(f"/furnace/{plan}/H5/line/", sent)
    assert client.get(f"/furnace/{plan}/H5/charge/").status_code == 302
    out = {"do": "weigh", "after_g-H5-1": "16.79", "fault-H5-1": ""}
    assert client.post(f"/furnace/{plan}/H5/out/", out).status_code in (302, 422)
    assert book.head() == head


def test_two_phones_at_one_heat_keep_each_line_once(folder, plan):
    from django.test import Client

    book = open_book(folder)
    book.charge(plan, "H5")
    facts = {"closes_min": 1439, "light_min": 1, "latest_min": 1438, "length_min": 1}
    rehearsed = {"what": "rehearsed", "step": "", "facts": facts, "at": "", "pressed_ms": 1}
    book.file(f"line {plan}/H5", "rehearsed-for-the-test", rehearsed)
    one, other = Client(), Client()
    line = {"what": "step", "step": "s1", "id": "line-of-one-phone"}
    for phone in (one, other, one):
        assert phone.post(f"/furnace/{plan}/H5/line/", line).status_code == 302
    # The other phone ticks the same step by a line of its own: the step is done once.
    again = {**line, "id": "line-of-the-other-phone"}
    assert other.post(f"/furnace/{plan}/H5/line/", again).status_code == 302
    told = one.get(f"/furnace/{plan}/H5/state/").json()
    assert list(told["done"]) == ["s1"]
