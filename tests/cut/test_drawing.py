"""Drawings at full size: one unit is one millimetre, and everything is where it is cut."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from lemel.cut import CutProblem, Layout, do
from lemel.values import Bar, Blank, Composition, Outline, Section

SVG = "{http://www.w3.org/2000/svg}"


def laid(length: float = 160, width: float = 60, section: Section | None = None) -> Layout:
    own = section or Section.flat(1.0, width)
    bar = Bar("H7-a", "ada", "stock", Composition.pure("Ag"), 0.001, own, length, 50.0,
              parents=("H7",))  # fmt: skip
    if section is not None:
        blanks = (Blank("w", Outline("strip", 40, 1), own, 1.0, grain="along"),)
    else:
        ell = ((0, 0), (20, 0), (20, 5), (5, 5), (5, 20), (0, 20))
        blanks = (
            Blank("d", Outline("disc", 30, 30), Section.flat(1.0, 30), 1.0),
            Blank("r<1", Outline("strip", 25, 12), Section.flat(1.0, 12), 1.0),
            Blank("l", Outline("path", 20, 20, ell), Section.flat(1.0, 20), 1.0),
        )
    return do(CutProblem((), blanks, (bar,)))


def test_a_unit_is_a_millimetre_on_paper():
    root = ET.fromstring(laid().drawing["H7-a"])
    _, _, wide, high = (float(number) for number in root.attrib["viewBox"].split())
    assert root.attrib["width"] == f"{wide:.3f}mm"
    assert root.attrib["height"] == f"{high:.3f}mm"


def test_the_check_line_measures_fifty_millimetres_and_says_so():
    drawing = laid().drawing["H7-a"]
    assert "h 50.000" in drawing
    assert ">50 mm<" in drawing


def test_each_piece_is_drawn_where_it_is_placed():
    found = laid()
    root = ET.fromstring(found.drawing["H7-a"])
    spots = {spot.piece: spot for spot in found.sheets[0].placements}
    circle = root.find(f"{SVG}circle")
    assert circle is not None
    assert float(circle.attrib["r"]) == 15
    assert float(circle.attrib["cx"]) == pytest.approx(spots["d"].x_mm + 15, abs=1e-3)
    along, across = (12, 25) if spots["r<1"].turned else (25, 12)
    boxes = [tuple(float(r.attrib[k]) for k in ("x", "y", "width", "height"))
             for r in root.iter(f"{SVG}rect")]  # fmt: skip
    spot = spots["r<1"]
    assert any(
        box == pytest.approx((spot.x_mm, spot.y_mm, along, across), abs=2e-3) for box in boxes
    )
    path = next(p.attrib["d"] for p in root.iter(f"{SVG}path") if p.attrib["d"].count("L") == 5)
    xs = [float(x) for x in re.findall(r"(-?\d+\.\d+) -?\d+\.\d+", path)]
    assert min(xs) == pytest.approx(spots["l"].x_mm, abs=2e-3)


def test_names_are_escaped_and_the_remnant_keeps_the_stamp():
    found = laid()
    texts = [text.text for text in ET.fromstring(found.drawing["H7-a"]).iter(f"{SVG}text")]
    assert "r<1" in texts
    assert "H7-a-rest" in texts
    assert "H7" in texts


def test_a_long_sheet_prints_on_several_pages_that_overlap():
    found = laid(length=420)
    pages = [ET.fromstring(page) for page in found.pages["H7-a"]]
    assert len(pages) == 2
    windows = []
    for page in pages:
        assert float(page.attrib["width"].removesuffix("mm")) <= 277
        assert float(page.attrib["height"].removesuffix("mm")) <= 190
        inner = page.find(f"{SVG}svg")
        assert inner is not None
        x, _, wide, _ = (float(number) for number in inner.attrib["viewBox"].split())
        assert wide == float(inner.attrib["width"])
        windows.append((x, x + wide))
    assert windows[0][1] - windows[1][0] == pytest.approx(10)
    assert windows[1][1] >= 420
    assert len(laid().pages["H7-a"]) == 1


def test_wire_is_drawn_as_a_list_of_lengths():
    found = laid(length=900, section=Section.round(1.0))
    assert "= 40.0 mm" in found.drawing["H7-a"]
    assert "50 mm<" not in found.drawing["H7-a"]


def test_the_drawing_is_black_on_white_and_needs_nothing_from_elsewhere():
    drawing = laid().drawing["H7-a"]
    assert set(re.findall(r'(?:fill|stroke)="([^"]+)"', drawing)) <= {"none", "black", "white"}
    assert drawing.count("http") == 1
