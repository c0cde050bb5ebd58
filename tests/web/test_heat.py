"""The colours of hot metal against what the trade and the physics say."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from lemel.web.heat import GLOWS, _tristimulus, glow


@pytest.mark.outside
@pytest.mark.parametrize(
    ("at_c", "word"),
    [
        (20, "black"),
        (450, "black"),
        (540, "first red in the dark"),
        (625, "dull red"),
        (750, "cherry"),
        (900, "orange"),
        (1100, "yellow"),
        (1300, "white"),
    ],
)
def test_the_words_are_the_trades(at_c, word):
    # common practice, no source: a temper and forge colour chart in any workshop book, +-50 K
    assert glow(at_c).word == word


@pytest.mark.outside
def test_nothing_glows_below_the_draper_point():
    # J. W. Draper, 1847: solids begin to shine at 977 degF, 525 degC (from memory)
    assert glow(524).colour == ""
    assert glow(526).colour


@pytest.mark.outside
def test_a_black_bodys_colour_is_that_of_the_planckian_locus():
    # CIE 15, the Planckian locus at 2856 K (illuminant A): x 0.4476, y 0.4074
    x, y, z = (_tristimulus(name, 2856.0) for name in "xyz")
    assert x / (x + y + z) == pytest.approx(0.4476, abs=0.004)
    assert y / (x + y + z) == pytest.approx(0.4074, abs=0.004)


def _parts(colour):
    return [int(colour[n : n + 2], 16) for n in (1, 3, 5)]


def test_hotter_is_brighter_in_every_channel():
    seen = [_parts(glow(t).colour) for t in range(530, 1300, 10)]
    for cooler, hotter in pairwise(seen):
        assert all(b >= a for a, b in zip(cooler, hotter, strict=True))


def test_the_colours_bear_their_names():
    def hue(at_c):
        red, green, _ = _parts(glow(at_c).colour)
        return math.degrees(math.atan2(math.sqrt(3) * green, 2 * red - green))

    assert hue(620) < 5
    assert hue(750) < 15
    assert 15 < hue(900) < 35
    assert 35 < hue(1100) < 60


def test_the_scale_has_no_gap():
    assert [begins for begins, _ in GLOWS] == sorted(begins for begins, _ in GLOWS)


def test_a_page_never_shows_heat_without_its_number(client):
    from django.template import engines

    told = engines["django"].from_string("{% heat 760 %}").render()
    assert "760" in told
    assert "cherry" in told
    assert glow(760).colour in told
    assert "svg" not in engines["django"].from_string("{% heat 20 %}").render()
