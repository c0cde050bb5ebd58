"""Every area answers in the same frame, and nothing leaves the machine."""

from __future__ import annotations

import pytest

from tests.web.places import PLACES


@pytest.mark.parametrize("place", PLACES)
def test_each_area_has_a_page(client, place):
    answer = client.get(place)
    assert answer.status_code == 200
    assert b"<h1>" in answer.content


def test_an_address_where_nothing_lies_is_said_to_be_so(client):
    answer = client.get("/nowhere/")
    assert answer.status_code == 404
    assert b"Nothing lies at this address" in answer.content


def test_a_browser_opens_each_page_without_complaint(page):
    for place in PLACES:
        page.goto(place)
        assert page.locator("h1").is_visible()
