"""Lengths before bending, winding and doming: against integrals and printed examples."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import ellipe

from lemel.cut import (
    around_oval_mm,
    bent_length_mm,
    bent_oval_length_mm,
    chain_links,
    dome_blank_mm,
    dome_height_mm,
    jump_ring_wire_mm,
)
from lemel.errors import BadInput

sizes = st.floats(0.5, 80)


@pytest.mark.outside
def test_the_trades_worked_ring_blank_is_61_mm():
    """Ring-blank pages of the trade: ID 18.4, t 1.0, pi taken as 3.145, printed 61 mm."""
    assert bent_length_mm(18.4, 1.0) == pytest.approx(60.95, abs=0.005)
    printed = 3.145 * (18.4 + 1.0)
    assert printed == pytest.approx(61, abs=0.05)


def test_a_half_round_bends_about_the_centroid_of_its_half_ellipse():
    height, half_width = 2.2, 2.0
    area, _ = quad(lambda y: 2 * half_width * math.sqrt(1 - (y / height) ** 2), 0, height)
    moment, _ = quad(lambda y: 2 * y * half_width * math.sqrt(1 - (y / height) ** 2), 0, height)
    share = moment / area / height
    assert share == pytest.approx(0.424413, abs=1e-6)
    assert bent_length_mm(63, height, share) == pytest.approx(
        math.pi * (63 + 0.849 * height), abs=1e-2
    )


@settings(max_examples=50, deadline=None, derandomize=True)
@given(st.floats(20, 80), st.floats(1, 3))
def test_the_oval_formula_agrees_with_the_elliptic_integral(short: float, ratio: float):
    a, b = short * ratio / 2, short / 2
    exact = 4 * a * ellipe(1 - (b / a) ** 2)
    assert around_oval_mm(a, b) == pytest.approx(exact, rel=2e-4)


@given(sizes, st.floats(0.1, 5))
@settings(max_examples=50, deadline=None, derandomize=True)
def test_an_oval_with_equal_axes_is_a_ring(size: float, thickness: float):
    assert bent_oval_length_mm(size, size, thickness) == pytest.approx(
        bent_length_mm(size, thickness)
    )


@given(st.floats(5, 60), st.floats(0.05, 1))
@settings(max_examples=50, deadline=None, derandomize=True)
def test_a_dome_keeps_its_area(across: float, share: float):
    radius = across / 2 / math.sin(share * math.pi / 2)
    height = dome_height_mm(across, radius)
    cap = 2 * math.pi * radius * height
    assert math.pi / 4 * dome_blank_mm(across, height) ** 2 == pytest.approx(cap, rel=1e-6)
    assert dome_blank_mm(across, height) == pytest.approx(
        2 * math.sqrt(2 * radius * height), rel=1e-6
    )


def test_a_hollow_smaller_than_the_dome_is_refused():
    with pytest.raises(BadInput):
        dome_height_mm(30, 14)


def test_a_jump_ring_takes_one_turn_of_a_helix():
    turn, _ = quad(lambda _: math.hypot(3.0, 1.0 / (2 * math.pi)), 0, 2 * math.pi)
    assert jump_ring_wire_mm(5.0, 1.0) == pytest.approx(turn)
    assert jump_ring_wire_mm(5.0, 1.0) == pytest.approx(math.pi * 6, rel=2e-3)


@given(st.floats(10, 900), st.floats(2, 12), st.floats(0.4, 1.0))
@settings(max_examples=50, deadline=None, derandomize=True)
def test_a_chain_is_long_enough_and_not_a_link_too_long(length: float, inside: float, wire: float):
    links = chain_links(length, inside, wire)
    assert links * inside + 2 * wire >= length - 1e-6
    assert (links - 1) * inside + 2 * wire < length or links == 1
