"""Single values as they stand in a file: what is taken, what is refused, and in which words."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lemel.errors import BadInput
from lemel.files import Place, read_number, read_parts, read_section, section_text
from lemel.values import SECTION_DIMS, Section

FILE = Place("bench.toml", ("mass_g",), {("mass_g",): 7})
CELL = Place("lots.csv", ("mass_g",), {(): 3}, textual=True)


def test_a_fault_names_file_line_and_key():
    with pytest.raises(BadInput) as told:
        read_number("twelve", FILE)
    assert told.value.field == "bench.toml line 7, mass_g"
    assert told.value.value == "twelve"


def test_a_number_in_quotes_is_refused_in_toml_and_taken_in_a_cell():
    with pytest.raises(BadInput, match="without quotes"):
        read_number("12.5", FILE)
    assert read_number(" 12.5 ", CELL) == 12.5


def test_a_decimal_comma_is_refused_with_the_way_to_write_it():
    with pytest.raises(BadInput, match=r"Write 12\.5, not 12,5"):
        read_number("12,5", CELL)


@pytest.mark.parametrize(
    "wrong",
    [float("nan"), float("inf"), Decimal("NaN"), Decimal("1e400"), 10**400, True, None, [], {}],
)
def test_what_is_no_finite_number_is_refused(wrong):
    with pytest.raises(BadInput):
        read_number(wrong, FILE)


@pytest.mark.parametrize("wrong", ["nan", "inf", "1e999999999999", "", "0x10", "1_000", "١٢"])
def test_words_that_only_look_like_numbers_are_refused_in_a_cell(wrong):
    # Python would take some of them; a bench would not have meant them so.
    with pytest.raises(BadInput):
        read_number(wrong, CELL)


@given(
    st.sampled_from(sorted(SECTION_DIMS)).flatmap(
        lambda kind: st.builds(
            Section.of,
            st.just(kind),
            st.fixed_dictionaries(
                {name: st.integers(1, 20_000).map(lambda n: n / 100) for name in SECTION_DIMS[kind]}
            ),
        )
    )
)
def test_a_section_written_and_read_is_the_same_section(section):
    assert read_section(section_text(section), FILE) == section


@pytest.mark.parametrize(
    "wrong", ["", "round", "round 1", "round 1 x 2 mm", "flat 1 mm", "star 1 mm", "round 0 mm", 5]
)
def test_a_section_without_kind_size_or_unit_is_refused(wrong):
    with pytest.raises(BadInput):
        read_section(wrong, FILE)


def test_parts_must_sum_to_a_thousand_unless_somebody_takes_the_rest():
    with pytest.raises(BadInput, match="sum 960"):
        read_parts("Ag=925 Cu=35", CELL, {})
    assert read_parts("Ag=925", CELL, {"balance": "Cu"}).share("Cu") == pytest.approx(0.075)
    assert read_parts("Ag=925", CELL, {"rest": True}).rest == pytest.approx(0.075)


@pytest.mark.parametrize("wrong", ["Ag=925 Xx=75", "Ag=-5 Cu=1005", "Ag", "Ag=925 Ag=75", "=5"])
def test_parts_that_are_none_are_refused(wrong):
    with pytest.raises(BadInput):
        read_parts(wrong, CELL, {})


def test_both_wrong_elements_are_told_at_once():
    with pytest.raises(BadInput) as told:
        read_parts("Ag=900 Xx=50 Yy=50", CELL, {})
    assert len(told.value.all) == 2
