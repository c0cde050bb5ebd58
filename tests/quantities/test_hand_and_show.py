"""Numbers as a hand can set them and as a person reads them."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from lemel.errors import BadInput
from lemel.quantities import (
    Preference,
    convert,
    hand_band,
    hand_gap,
    hand_mass,
    hand_step,
    hand_temperature,
    show,
    show_number,
    to_step,
    units,
)
from lemel.values import Quantity
from tests.strategies import quantities

steps = st.sampled_from([0.001, 0.01, 0.05, 0.1, 0.25, 1.0, 10.0])
values = st.floats(-1e5, 1e5)


@given(values, steps)
def test_down_nearest_up_stand_in_order_within_a_step(value, step):
    down, nearest, up = (to_step(value, step, way) for way in ("down", "nearest", "up"))
    assert down <= nearest <= up
    dust = 1e-9 * (1 + abs(value))
    assert up - down <= step + dust
    assert abs(nearest - value) <= step / 2 + dust
    assert down <= value + dust
    assert up >= value - dust


@given(st.integers(-10_000, 10_000), steps)
def test_a_number_on_the_grid_stays_whichever_way(n, step):
    on_grid = float(Fraction(Decimal(repr(step))) * n)
    dusty = on_grid * (1 + 1e-15)
    assert {to_step(dusty, step, way) for way in ("down", "nearest", "up")} == {on_grid}


@given(st.floats(20, 1200), st.floats(0, 100))
def test_a_band_for_paper_stays_inside_the_band(lo, width):
    hi = lo + width
    paper_lo, paper_hi = hand_band(lo, hi)
    assert paper_lo % 10 == paper_hi % 10 == 0
    if width >= 10:
        assert lo - 1e-6 <= paper_lo <= paper_hi <= hi + 1e-6
    else:
        assert paper_hi - paper_lo <= 10


def test_a_band_turned_round_is_refused():
    with pytest.raises(BadInput):
        hand_band(960, 940)


def test_the_bench_steps():
    assert hand_temperature(964.9) == 960
    assert hand_gap(0.825) in (0.8, 0.85)
    assert hand_gap(0.83, step_mm=0.1) == 0.8
    assert hand_mass(41.2049) == 41.2
    assert hand_mass(41.249, 0.1, "up") == 41.3
    assert hand_step("temperature") == 10
    for bad in (
        lambda: hand_step("hope"),
        lambda: to_step(1, 0),
        lambda: to_step(1, 1, "sideways"),
    ):
        with pytest.raises(BadInput):
            bad()
    with pytest.raises(BadInput):
        to_step(float("nan"), 1)


@pytest.mark.parametrize(
    ("value", "unit", "prefer", "text"),
    [
        (41.2, "g", {}, "41.20 g"),
        (41.2, "g", {"mass": "ozt"}, "1.3246 ozt"),
        (41.2, "g", {"mass": "dwt"}, "26.49 dwt"),
        (0.00031, "g", {}, "0.00031 g"),
        (0.0, "g", {}, "0.00 g"),
        (-0.001, "degC", {}, "0 °C"),
        (779.1, "degC", {}, "779 °C"),
        (779.1, "degC", {"temperature": "degF"}, "1434 °F"),
        (10.0, "K", {}, "10 K"),
        (10.0, "K", {"temperature": "degF"}, "18 °F"),
        (10.0, "K", {"temperature": "degC"}, "10 K"),
        (1.6, "mm", {}, "1.6 mm"),
        (1.6, "mm", {"length": "in"}, "0.063 in"),
        (1.6, "mm", {"length": "thou"}, "63 thou"),
        (925.0, "millesimal", {}, "925"),
        (925.34, "millesimal", {}, "925.3"),
        (99.0, "percent", {}, "99%"),
        (12.0, "money", {}, "12.00"),
        (3.0, "count", {}, "3"),
        (60.0, "g", {"length": "in"}, "60.00 g"),
        (1e300, "g", {}, "1.000e+300 g"),
        (-2.5e15, "mm", {}, "-2.500e+15 mm"),
    ],
)
def test_a_quantity_as_it_is_read(value, unit, prefer, text):
    assert show(Quantity(value, unit), Preference(**prefer)) == text


@given(quantities)
def test_what_is_shown_is_the_value_to_the_places_shown(quantity):
    number = show(quantity).split(" ")[0].rstrip("%")
    places = max(0, -Decimal(number).as_tuple().exponent)
    assert abs(float(number) - quantity.value) <= 10.0 ** -units()[quantity.unit].decimals
    assert places <= 12


@given(st.floats(2e-9, 1e6))
def test_no_mass_above_nothing_is_shown_as_nothing(mass_g):
    assert float(show(Quantity(mass_g, "g")).split()[0]) > 0


@given(st.floats(-100, 1500), st.floats(-100, 1500))
def test_a_shown_difference_is_the_difference_in_the_readers_degrees(one, other):
    assume(abs(one - other) > 1)
    fahrenheit = Preference(temperature="degF")
    shown = float(show(Quantity(one - other, "K"), fahrenheit).split()[0])
    exact = float(convert(one, "degC", "degF") - convert(other, "degC", "degF"))
    assert shown == pytest.approx(exact, abs=0.51)


def test_a_preference_of_the_wrong_kind_is_refused():
    with pytest.raises(BadInput):
        Preference(mass="mm")
    with pytest.raises(BadInput):
        Preference(temperature="K")


def test_plain_numbers():
    assert [show_number(n) for n in (3, 3.0, 0.5, 1234.56, 0.0001234)] == [
        "3", "3", "0.5", "1235", "0.0001234",
    ]  # fmt: skip
