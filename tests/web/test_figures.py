"""Figures as the balance shows them, and fineness on its ruler."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lemel.web.figures import figure, grams, ruler, split_digits


@given(st.integers(0, 10**9))
def test_the_books_milligrams_are_shown_to_the_last_one(mg):
    sure, unsure = split_digits(mg / 1000, None)
    assert round(float((sure + unsure).replace("\u202f", "")) * 1000) == mg


@given(st.floats(0, 1e5), st.floats(1e-4, 1e3))
def test_what_is_shown_lies_within_half_of_the_unsure_digit(value, sd):
    sure, unsure = split_digits(value, sd)
    told = float((sure + unsure).replace("\u202f", ""))
    assert unsure
    assert abs(told - value) <= sd * 0.51 + 1e-9


def test_the_unit_is_small_and_the_unsure_digit_apart():
    assert str(figure(925.37, "‰", 0.8)) == (
        '<data class="figure" value="925.37"><span>925.<span class="unsure">4</span></span>'
        "<small> ‰</small></data>"
    )
    assert "1\u202f234.567" in str(grams(1_234_567))


def test_a_fineness_lies_on_its_ruler_where_it_belongs():
    drawn = ruler(926.6, 0.7, 925.0)
    assert drawn.notch < drawn.mean
    for begins, wide in drawn.smears:
        assert begins < drawn.mean < begins + wide
    assert "standard at 925" in drawn.said
    per_unit = (drawn.ticks[-1] - drawn.ticks[0]) / (float(drawn.most) - float(drawn.least))
    assert drawn.mean - drawn.notch == pytest.approx(1.6 * per_unit, abs=0.2)


@given(st.floats(1, 999), st.floats(0.05, 40), st.sampled_from([375, 585, 750, 916, 925, 958]))
def test_nothing_falls_off_the_ruler(mean, sd, standard):
    drawn = ruler(mean, sd, standard)
    for at in (drawn.mean, drawn.notch, *drawn.ticks):
        assert 0 <= at <= 192
