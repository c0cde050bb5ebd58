"""Units: exact, closed, and never a temperature difference taken for a temperature."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lemel.errors import BadInput
from lemel.quantities import Amount, convert, convert_exactly, parse_amount, unit, units

KEYS = sorted(units())
PAIRS = [
    (one, other)
    for one in KEYS
    for other in KEYS
    if one != other and units()[one].dimension == units()[other].dimension
]
numbers = st.decimals(-10_000, 10_000, places=3)


@given(numbers, st.sampled_from(PAIRS))
def test_there_and_back_is_the_same_number(value, pair):
    one, other = pair
    if units()[one].dimension == "temperature":
        value = abs(value)
    assert convert_exactly(convert_exactly(value, one, other), other, one) == Fraction(value)


@given(numbers.map(abs), st.sampled_from(PAIRS))
def test_the_decimal_is_the_exact_answer_to_28_digits(value, pair):
    exact = convert_exactly(value, *pair)
    near = Fraction(convert(value, *pair))
    assert abs(near - exact) <= abs(exact) * Fraction(1, 10**27)


@given(st.floats(-200, 2000), st.floats(-200, 2000))
def test_a_difference_of_temperatures_converts_as_a_difference(one_c, other_c):
    in_f = convert_exactly(one_c, "degC", "degF") - convert_exactly(other_c, "degC", "degF")
    in_c = Fraction(Decimal(repr(one_c))) - Fraction(Decimal(repr(other_c)))
    assert in_f == convert_exactly(in_c, "K", "degF_diff")


@pytest.mark.parametrize("temperature", ["degC", "degF", "kelvin"])
@pytest.mark.parametrize("difference", ["K", "degF_diff"])
def test_a_temperature_and_a_difference_never_convert(temperature, difference):
    for one, other in ((temperature, difference), (difference, temperature)):
        with pytest.raises(BadInput, match="not the same"):
            convert(300, one, other)


@pytest.mark.parametrize(
    ("value", "unit_from", "unit_to", "exact"),
    [
        (1, "gr", "mg", "64.79891"),
        (1, "dwt", "g", "1.55517384"),
        (1, "dwt", "gr", "24"),
        (1, "ozt", "g", "31.1034768"),
        (1, "ozt", "gr", "480"),
        (1, "ozt", "dwt", "20"),
        (1, "lbt", "g", "373.2417216"),
        (1, "lbt", "ozt", "12"),
        (1, "oz_av", "gr", "437.5"),
        (1, "oz_av", "g", "28.349523125"),
        (1, "lb", "g", "453.59237"),
        (1, "lb", "oz_av", "16"),
        (1, "ct", "g", "0.2"),
        (1, "tola", "gr", "180"),
        (1, "tola", "ozt", "0.375"),
        (1, "momme", "g", "3.75"),
        (1, "in", "mm", "25.4"),
        (1, "in", "thou", "1000"),
        (1, "kWh", "J", "3600000"),
        (212, "degF", "degC", "100"),
        (-40, "degF", "degC", "-40"),
        (0, "degC", "kelvin", "273.15"),
        (9, "degF_diff", "K", "5"),
        (18, "karat", "millesimal", "750"),
        (1, "MPa", "Pa", "1000000"),
    ],
)
@pytest.mark.outside
def test_the_defined_ratios(value, unit_from, unit_to, exact):
    """Yard and pound notice of 1959 and SI brochure (2019); troy ratios as in any weights table
    of the trade; from memory, digits checked on general conversion pages."""
    assert convert(value, unit_from, unit_to) == Decimal(exact)


@pytest.mark.outside
def test_a_kilogram_in_troy_ounces():
    """32.1507466 ozt, printed on general conversion pages of the bullion trade."""
    assert round(convert(1, "kg", "ozt"), 7) == Decimal("32.1507466")


@pytest.mark.outside
@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        ("gr", "grain"), ("dwt", "pennyweight"), ("ozt", "troy_ounce"), ("lbt", "troy_pound"),
        ("oz_av", "ounce"), ("lb", "pound"), ("ct", "carat"), ("in", "inch"), ("ft", "foot"),
        ("kWh", "kilowatt_hour"), ("kgf", "kilogram_force"), ("lbf", "pound_force"),
        ("psi", "pound_force_per_square_inch"), ("in2", "square_inch"), ("um", "micrometer"),
    ],
)  # fmt: skip
def test_a_general_unit_library_agrees(ours, theirs):
    """pint, default registry."""
    pint = pytest.importorskip("pint")
    base = {"mass": "g", "length": "mm", "energy": "J", "force": "N", "pressure": "MPa"}
    base["area"] = "mm2"
    wanted = base[unit(ours).dimension]
    other = pint.UnitRegistry().Quantity(1, theirs).to(wanted.replace("mm2", "mm**2")).magnitude
    assert float(convert(1, ours, wanted)) == pytest.approx(other, rel=1e-12)


@pytest.mark.parametrize("text", ["oz", "ounce", "2 oz", "Oz"])
def test_a_bare_ounce_is_refused_with_the_choice(text):
    with pytest.raises(BadInput) as fault:
        parse_amount(text if text[0].isdigit() else f"1 {text}")
    assert fault.value.allowed == "ozt or oz_av"


@pytest.mark.parametrize("name", ["carat", "k", "tael", "gauge", "ga", "deg", "°"])
def test_other_unclear_names_are_refused_too(name):
    with pytest.raises(BadInput, match="Say which one"):
        unit(name)


@pytest.mark.parametrize(
    ("text", "value", "key"),
    [
        ("2 ozt", "2", "ozt"),
        ("2ozt", "2", "ozt"),
        ("1 1/2 in", "1.5", "in"),
        ("3/8 ozt", "0.375", "ozt"),
        ("-5 degC", "-5", "degC"),
        ("-5 °C", "-5", "degC"),
        (".8mm", "0.8", "mm"),
        ("1e3 g", "1000", "g"),
        ("1 Troy ounce", "1", "ozt"),
        ("4 pennyweights", "4", "dwt"),
        ("7 Grams", "7", "g"),
        ("925 permille", "925", "millesimal"),
        ("18 kt", "18", "karat"),
    ],
)
def test_amounts_are_read_as_people_write_them(text, value, key):
    assert parse_amount(text) == Amount(Decimal(value), key)


@pytest.mark.parametrize(
    "text", ["", "g", "1,5 g", "1.5", "two ozt", "1/0 g", "5 furlongs", "1..2 g"]
)
def test_what_cannot_be_read_is_refused_with_what_to_do(text):
    with pytest.raises(BadInput) as fault:
        parse_amount(text)
    assert fault.value.do


def test_a_bare_number_takes_the_default_unit():
    assert parse_amount(" 41.20 ", "g") == Amount(Decimal("41.2"), "g")


def test_letter_case_counts_where_it_means_something():
    assert unit("mg").dimension == "mass"
    assert unit("MPa").key == "MPa"
    with pytest.raises(BadInput):
        unit("mpa")
    with pytest.raises(BadInput):
        unit("Mg")


def test_nothing_is_colder_than_absolute_zero():
    with pytest.raises(BadInput, match=r"-273\.15"):
        convert(-460, "degF", "degC")
    assert convert("-459.67", "degF", "kelvin") == 0


@pytest.mark.parametrize("value", [math.nan, math.inf, "x", True, None])
def test_what_is_no_number_is_refused(value):
    with pytest.raises(BadInput):
        convert(value, "g", "mg")


def test_dimensions_do_not_mix_and_the_choice_is_named():
    with pytest.raises(BadInput) as fault:
        convert(1, "g", "mm")
    assert "ozt" in fault.value.allowed
    assert "length" in fault.value.do


def test_no_name_means_two_units():
    seen: dict[str, str] = {}
    for key in units():
        assert unit(key).key == key
        seen[key.lower()] = seen.get(key.lower(), key)
    assert unit("hk_tael").key == "tael_hk"


def test_an_amount_converts_itself():
    assert Amount(Decimal(3), "dwt").to("gr") == 72
