"""The units of the reader: chosen once, shown everywhere; others are taken where written."""

from __future__ import annotations

import pytest
from django.test import RequestFactory

from lemel.errors import BadInput
from lemel.values import Quantity
from lemel.web import given, reader


@pytest.fixture
def in_ounces(client):
    answer = client.post(
        "/units/", {"mass": "ozt", "length": "in", "temperature": "degF", "back": "/scrap/"}
    )
    assert (answer.status_code, answer["Location"]) == (302, "/scrap/")
    return client


def test_what_is_chosen_is_shown(in_ounces):
    page = in_ounces.get("/").content.decode()
    assert "ozt, in, °F" in page
    assert "<small> ozt</small>" in page
    assert "<small> g</small>" not in page


def test_without_a_choice_the_pages_speak_in_grams(client):
    page = client.get("/").content.decode()
    assert "g, mm, °C" in page
    assert "ozt</small>" not in page


@pytest.mark.parametrize("cookie", ["", "oz.in.degF", "ozt", "ozt.in.degF.more", "<script>"])
def test_a_cookie_that_says_nothing_is_no_fault(client, cookie):
    client.cookies[reader.COOKIE] = cookie
    page = client.get("/")
    assert page.status_code == 200
    assert "g, mm, °C" in page.content.decode()


def test_a_unit_that_is_none_is_refused_and_nothing_leads_away(client):
    assert client.post("/units/", {"mass": "oz"}).status_code == 422
    whole = {"mass": "g", "length": "mm", "temperature": "degC"}
    for back in ("https://elsewhere.example/", "//elsewhere.example/"):
        assert client.post("/units/", {**whole, "back": back})["Location"] == "/"


def asked(said, unit, most=1e6):
    return given.number(RequestFactory().post("/", {"field": said}), "field", unit, most=most)


@pytest.mark.parametrize(
    ("said", "unit", "inside"),
    [
        ("41.2", "g", 41.2),
        ("41,2", "g", 41.2),
        ("41.2 g", "g", 41.2),
        ("2 ozt", "g", 62.2069536),
        ("5 dwt", "g", 7.7758692),
        ("1/4 in", "mm", 6.35),
        ("1 1/2 in", "mm", 38.1),
        ("1760 degF", "degC", 960.0),
        ("1e2", "g", 100.0),
    ],
)
def test_another_unit_is_taken_where_it_is_written(said, unit, inside):
    """Factors exact by definition: troy ounce 31.1034768 g, inch 25.4 mm (from memory)."""
    assert asked(said, unit) == pytest.approx(inside, rel=1e-12)


@pytest.mark.parametrize(
    ("said", "unit"), [("2 oz", "g"), ("3 mm", "g"), ("two", "g"), ("1/0", "mm")]
)
def test_an_ounce_without_a_word_and_a_wrong_unit_are_refused(said, unit):
    with pytest.raises(BadInput) as fault:
        asked(said, unit)
    assert fault.value.field == "field"


def test_a_temperature_difference_is_not_a_temperature():
    token = reader._prefers.set(reader._read("ozt.in.degF"))
    try:
        assert reader.show(Quantity(38, "K")).startswith("68 ")
        value, unit, sd, _ = reader.in_unit(960.0, "°C", 10.0, 0)
        assert (round(value), unit, round(sd)) == (1760, "°F", 18)
    finally:
        reader._prefers.reset(token)
