"""Outlines from drawings: SVG paths and DXF files."""

from __future__ import annotations

import io
import math

import ezdxf
import pytest

from lemel.cut import outline_area_mm2, outline_of_dxf, outline_of_path, outline_of_points
from lemel.errors import BadInput
from lemel.values import Outline


def test_a_circle_of_two_arcs_has_the_area_of_its_radius():
    circle = outline_of_path("M 0 10 A 10 10 0 1 1 20 10 A 10 10 0 1 1 0 10 Z")
    assert outline_area_mm2(circle) == pytest.approx(math.pi * 100, rel=3e-3)
    assert circle.length_mm == pytest.approx(20, abs=0.05)


@pytest.mark.parametrize(
    "path",
    [
        "M0 0H40V25H0Z", "m 0 0 h 40 v 25 h -40 z", "M0,0 L40,0 40,25 0,25",
        "M0 0 40 0 40 25 0 25z",
        "M5 5h10v5h-10z M0 0h40v25h-40z",
    ],
)  # fmt: skip
def test_a_rectangle_may_be_drawn_in_every_way_and_its_piercing_is_left_aside(path: str):
    plate = outline_of_path(path)
    assert (plate.length_mm, plate.width_mm) == (40, 25)
    assert outline_area_mm2(plate) == pytest.approx(1000)


def test_curves_agree_with_their_closed_areas():
    # Under the parabola from (0, 0) over (10, 20) to (20, 0): two thirds of 20 x 10.
    assert outline_area_mm2(outline_of_path("M0 0Q10 20 20 0Z")) == pytest.approx(400 / 3, rel=3e-3)
    assert outline_area_mm2(outline_of_path("M0 0Q5 10 10 0T20 0V-10H0Z")) == pytest.approx(
        200, rel=1e-3
    )
    # A cubic raised from that parabola is the same curve.
    third = outline_of_path("M0 0C6.6666667 13.3333333 13.3333333 13.3333333 20 0Z")
    assert outline_area_mm2(third) == pytest.approx(400 / 3, rel=3e-3)
    smooth = outline_of_path("m0,0c0,10 10,10 10,0s10-10 10,0v20h-20z")
    assert outline_area_mm2(smooth) == pytest.approx(400, rel=1e-3)


@pytest.mark.parametrize(
    "path",
    ["", "M 0 0", "M0 0 L 10 10 L 10 0 L 0 10 Z", "M0 0 H", "rubbish", "M0 0 L 1", "M0 0H10V0Z"],
)
def test_a_drawing_that_is_no_outline_is_refused_with_the_field(path: str):
    with pytest.raises(BadInput) as fault:
        outline_of_path(path)
    assert fault.value.field == "path_mm"


def dxf(draw, units: int = 4) -> str:
    drawing = ezdxf.new(units=units)
    draw(drawing.modelspace())
    text = io.StringIO()
    drawing.write(text)
    return text.getvalue()


def test_a_dxf_circle_and_a_closed_polyline_are_read():
    text = dxf(lambda page: (page.add_circle((5, 5), 10), page.add_lwpolyline(
        [(0, 0), (4, 0), (4, 3)], close=True)))  # fmt: skip
    disc = outline_of_dxf(text)
    assert outline_area_mm2(disc) == pytest.approx(math.pi * 100, rel=3e-3)


def test_loose_lines_and_arcs_are_joined_end_to_end():
    def slot(page):
        page.add_line((0, 0), (20, 0))
        page.add_line((20, 10), (0, 10))
        page.add_arc((20, 5), 5, -90, 90)
        page.add_arc((0, 5), 5, 90, 270)

    outline = outline_of_dxf(dxf(slot))
    assert outline.length_mm == pytest.approx(30, abs=0.05)
    assert outline_area_mm2(outline) == pytest.approx(200 + math.pi * 25, rel=3e-3)


def test_a_drawing_in_inches_becomes_millimetres():
    text = dxf(lambda page: page.add_lwpolyline([(0, 0), (2, 0), (2, 1), (0, 1)], close=True), 1)
    assert outline_of_dxf(text).length_mm == pytest.approx(50.8)


def test_a_drawing_is_not_mirrored_by_the_page_whose_y_points_down():
    mark = [(0, 0), (10, 0), (0, 4)]  # in the drawing, the right angle is at the lower left
    outline = outline_of_dxf(dxf(lambda page: page.add_lwpolyline(mark, close=True)))
    corners = {(round(x, 6), round(y, 6)) for x, y in outline.points_mm}
    assert corners == {(0, 4), (10, 4), (0, 0)}


def test_a_dxf_without_an_outline_or_that_is_none_is_refused():
    with pytest.raises(BadInput):
        outline_of_dxf(dxf(lambda page: page.add_line((0, 0), (1, 1))))
    with pytest.raises(BadInput):
        outline_of_dxf("not a drawing")


def test_corners_move_to_the_origin_and_repeats_are_dropped():
    outline = outline_of_points([(2, 3), (2, 3), (5, 3), (5, 7), (2, 3)])
    assert isinstance(outline, Outline)
    assert outline.points_mm == ((0, 0), (3, 0), (3, 4))
