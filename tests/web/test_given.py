"""What a form brings is read, or refused at its field."""

from __future__ import annotations

from datetime import date

import pytest
from django.test import RequestFactory

from lemel.errors import BadInput
from lemel.web import given


def _form(**fields):
    return RequestFactory().post("/", fields)


@pytest.mark.parametrize(
    ("said", "grams"),
    [("41.2", 41.2), ("41,2", 41.2), (" 41.20 g", 41.2), ("0,125", 0.125), ("1 250.5", 1250.5)],
)
def test_a_weight_is_read_as_it_is_written_at_the_bench(said, grams):
    assert given.number(_form(mass_g=said), "mass_g", "g", most=5000) == grams


@pytest.mark.parametrize("said", ["", "a lot", "nan", "inf", "-1", "5001", "1e9", "1.2.3"])
def test_what_is_no_weight_is_refused_at_its_field(said):
    with pytest.raises(BadInput) as refused:
        given.number(_form(mass_g=said), "mass_g", "g", most=5000)
    assert refused.value.field == "mass_g"


def test_a_comma_that_could_be_either_is_asked_about():
    with pytest.raises(BadInput, match=r"1\.250 or 1250"):
        given.number(_form(mass_g="1,250"), "mass_g", "g")


def test_an_empty_field_is_none_where_it_may_be():
    assert given.optional_number(_form(mass_g=""), "mass_g") is None


def test_words_days_and_choices():
    form = _form(lot=" S1 ", on="2031-10-09", metal="Ag", n="3")
    assert given.text(form, "lot") == "S1"
    assert given.day(form, "on") == date(2031, 10, 9)
    assert given.choice(form, "metal", ("Ag", "Au")) == "Ag"
    assert given.whole(form, "n") == 3
    for wrong in (
        lambda: given.text(form, "missing"),
        lambda: given.text(_form(lot="x" * 201), "lot"),
        lambda: given.day(_form(on="9.10."), "on"),
        lambda: given.choice(form, "metal", ("Pt",)),
        lambda: given.whole(_form(n="2.5"), "n"),
    ):
        with pytest.raises(BadInput):
            wrong()
