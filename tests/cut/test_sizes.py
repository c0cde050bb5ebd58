"""Ring sizes: a mark on a named scale is so many millimetres, and back."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lemel.cut import ring_mark, ring_size, ring_size_of_diameter, ring_sizes, size_report
from lemel.errors import BadInput, NotKnown
from lemel.tables import shipped
from lemel.values import Composition

SCALES = [row.key for row in shipped().rows("cut_ring_scales") if row.key != "own"]


@pytest.mark.outside
@pytest.mark.parametrize(
    ("size", "diameter_mm"),
    [(49, 15.6), (52, 16.6), (55, 17.5), (58, 18.5), (60, 19.1), (72, 22.9)],
)
def test_iso_marks_have_the_diameters_of_the_printed_table(size: int, diameter_mm: float):
    """ISO size to inside diameter, one decimal: general encyclopedia, article "Ring size"."""
    assert round(ring_size(f"ISO {size}").inside_diameter_mm, 1) == diameter_mm


@pytest.mark.outside
@pytest.mark.parametrize(
    ("text", "around_mm", "slack"),
    [
        ("UK A", 37.5, 0.01), ("UK C", 40.0, 0.01), ("UK M", 52.5, 0.01), ("UK Z", 68.75, 0.01),
        ("UK-chart A", 37.8, 0.05), ("UK-chart C", 40.4, 0.05), ("UK-chart H", 46.8, 0.05),
        ("UK-D415 D", 41.5, 0.01), ("UK-D415 Z", 70.0, 0.01),
        ("US 0", 36.5, 0.05), ("US 4", 46.8, 0.05), ("US 3", 44.2, 0.05),
        ("JP 1", 40.84, 0.01), ("JP 13", 53.41, 0.01), ("CH 10", 50, 0.01),
    ],
)  # fmt: skip
def test_other_scales_read_as_their_published_lists(text: str, around_mm: float, slack: float):
    """R. Rowlett, dictionary of units, entry "ring size" (36.25 + 1.25 n; (n + 38) / 3);
    conversion chart of the general encyclopedia; a jeweller's list for D 41.5 and Z 70."""
    assert ring_size(text).inside_circumference_mm == pytest.approx(around_mm, abs=slack)


@pytest.mark.outside
@pytest.mark.parametrize(("size", "diameter_mm"), [(4, 14.86), (6, 16.51), (8, 18.19), (10, 19.84)])
def test_a_suppliers_table_differs_from_the_even_us_scale_by_up_to_a_tenth(size, diameter_mm):
    """A supplier's printed US table; the even scale is 0.458 in + 0.032 in a size."""
    assert ring_size(f"US-shop {size}").inside_diameter_mm == pytest.approx(diameter_mm, abs=1e-9)
    assert ring_size(f"US {size}").inside_diameter_mm == pytest.approx(diameter_mm, abs=0.1)


@pytest.mark.parametrize(
    "text", ["UK L½", "UK L 1/2", "uk l.5", "UK: L½", "UK-L½".replace("-", " ")]
)
def test_halves_may_be_written_in_every_usual_way(text: str):
    assert ring_size(text).inside_circumference_mm == pytest.approx(36.25 + 1.25 * 12.5)


def test_the_designation_of_the_standard_is_read():
    assert ring_size("ISO 8653-54").mark == "54"


@pytest.mark.parametrize(
    "text", ["54", "L", "XX 7", "UK 7", "US L", "UK AA", "ISO 20", "UK L+2", ""]
)
def test_a_size_without_a_scale_or_off_the_stick_is_refused(text: str):
    with pytest.raises(BadInput):
        ring_size(text)


def test_lists_of_one_name_that_differ_are_said_with_both_ends():
    (note,) = ring_size("UK L").notes
    assert note.code == "cut.size.variants_differ"
    assert note.values["low"].value == pytest.approx(51.25)  # type: ignore[union-attr]
    assert note.values["high"].value == pytest.approx(51.86, abs=0.01)  # type: ignore[union-attr]


def test_an_own_stick_serves_once_two_of_its_marks_are_measured():
    with pytest.raises(NotKnown):
        ring_size("OWN 5")
    stick = shipped().with_overrides(
        {
            "cut_ring_points": {
                "a": {"scale": "own", "mark": 1, "inside_diameter_mm": 15.0},
                "b": {"scale": "own", "mark": 9, "inside_diameter_mm": 19.0},
            }
        }
    )
    assert ring_size("OWN 5", tables=stick).inside_diameter_mm == pytest.approx(17.0)
    assert ring_mark(17.0 * math.pi, "own", tables=stick) == "5"


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.sampled_from(SCALES), st.integers(0, 200))
def test_every_mark_goes_to_millimetres_and_back(scale: str, step: int):
    row = shipped().row("cut_ring_scales", scale)
    low, high = row.number("lowest"), row.number("highest")
    mark = low + step * row.number("mark_step")
    if mark > high:
        return
    written = ring_mark(ring_size_at(scale, mark), scale)
    assert ring_size(f"{scale} {written}").inside_circumference_mm == pytest.approx(
        ring_size_at(scale, mark), abs=1e-9
    )


def ring_size_at(scale: str, mark: float) -> float:
    row = shipped().row("cut_ring_scales", scale)
    if row.text("marks") == "letter":
        whole = int(mark)
        text = chr(64 + whole) if whole <= 26 else f"Z+{whole - 26}"
        text += ".5" if mark % 1 else ""
    else:
        text = f"{mark:g}"
    return ring_size(f"{scale} {text}").inside_circumference_mm


@given(st.sampled_from(SCALES), st.floats(41, 60))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_a_larger_ring_never_has_a_smaller_mark(scale: str, around: float):
    if scale == "us-shop":
        around = max(around, 47.0)
    smaller, larger = (ring_size(f"{scale} {ring_mark(c, scale)}") for c in (around, around + 2))
    assert smaller.inside_circumference_mm <= larger.inside_circumference_mm


def test_the_report_gives_mm_other_scales_and_with_stock_the_blank():
    report = size_report("UK L", "ISO", thickness_mm=1.7, width_mm=3.0, body=Composition.pure("Au"))
    assert report.to == "51"
    assert report.others["uk"] == "L"
    assert report.blank_length_mm == pytest.approx(51.25 + math.pi * 1.7 + 0.4)
    assert report.mass_g == pytest.approx(report.blank_length_mm * 3 * 1.7 * 19.3 / 1000, rel=0.01)
    assert size_report("UK L").blank_length_mm is None


def test_a_diameter_finds_its_nearest_mark():
    assert ring_size_of_diameter(17.3, "US").mark == "7"
    assert ring_sizes(54.0)["ch"] == "14"
