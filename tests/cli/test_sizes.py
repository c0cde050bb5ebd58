"""`lemel size` and `lemel blank`: every kind of piece by its options, and the own ring stick."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

STICK = ("--stick", "4=15.0 10=19.8")


def blank(lemel, *words: object) -> dict[str, object]:
    return lemel("blank", *words, "--json").data


def test_the_own_stick_is_read_between_its_marks(lemel):
    found = lemel("size", "ring", "OWN 7", *STICK, "--json").data
    assert found["inside_diameter_mm"] == pytest.approx((15.0 + 19.8) / 2)
    ring = blank(lemel, "ring", "OWN 7", *STICK, "--width", 3, "--thickness", 1.5)
    assert ring["blank_length_mm"] == pytest.approx(math.pi * (17.4 + 1.5) + 0.4)


def test_a_file_of_pieces_may_ask_for_marks_of_the_own_stick(lemel, tmp_path):
    path = tmp_path / "rings.toml"
    path.write_text(
        'format = "lemel-cut 1"\ncomposition = { Ag = 925, Cu = 75 }\n[[piece]]\n'
        'what = "ring"\nsize = "OWN 7"\nwidth_mm = 3\nthickness_mm = 1.5\n',
        "utf-8",
    )
    length = lemel("cut", path, *STICK, "--json").data["blanks"][0]["outline"]["length_mm"]
    assert length == pytest.approx(math.pi * (17.4 + 1.5) + 0.4)
    assert lemel("cut", path).code == 2


@pytest.mark.parametrize("marks", ["4=15.0", "4:15.0 10:19.8", "4=x 10=19.8", "4=19.8 10=15.0"])
def test_a_stick_that_cannot_be_is_refused_by_its_option(lemel, marks):
    found = lemel("size", "ring", "OWN 7", "--stick", marks)
    assert found.code == 2
    assert found.err.startswith("--stick is ")


def test_an_oval_bangle_is_as_long_as_its_ellipse_by_sums_of_chords(lemel):
    found = blank(
        lemel, "bangle", "--long", 62, "--short", 52, "--width", 4, "--thickness", 2, "--joint", 0
    )
    a, b, steps = 32.0, 27.0, 20_000
    points = [
        (a * math.cos(2 * math.pi * i / steps), b * math.sin(2 * math.pi * i / steps))
        for i in range(steps + 1)
    ]
    around = sum(math.dist(p, q) for p, q in pairwise(points))
    assert found["blank_length_mm"] == pytest.approx(around, rel=2e-4)


def test_an_open_bangle_lacks_its_opening_and_has_no_joint(lemel):
    words = ("bangle", "--inside", 60, "--width", 4, "--thickness", 2)
    gap = (
        blank(lemel, *words)["blank_length_mm"]
        - blank(lemel, *words, "--opening", 25)["blank_length_mm"]
    )
    assert gap == pytest.approx(25 + 0.4)


def test_a_dome_is_given_by_its_height_or_by_its_punch(lemel):
    words = ("disc", "--diameter", 30, "--thickness", 0.8)
    high = 20 - math.sqrt(20**2 - 15**2)
    by_punch = blank(lemel, *words, "--dome-radius", 20)["blank_length_mm"]
    assert by_punch == pytest.approx(math.sqrt(30**2 + 4 * high**2))
    assert by_punch == pytest.approx(blank(lemel, *words, "--dome-height", high)["blank_length_mm"])
    refused = lemel("blank", *words, "--dome-radius", 10)
    assert (refused.code, refused.err.split()[0]) == (2, "--dome-radius")


def test_an_outline_is_a_path_and_its_mass_the_area_inside(lemel):
    found = blank(lemel, "outline", "--path", "M 0 0 H 24 V 7 H 7 V 24 H 0 Z", "--thickness", 0.9)
    area = 24 * 7 + 17 * 7
    assert found["mass_g"] == pytest.approx(area * 0.9 * found["density_g_cm3"] / 1000, rel=1e-6)


def test_the_neutral_line_may_be_your_own(lemel):
    words = ("ring", "ISO 54", "--width", 3, "--thickness", 2)
    less = (
        blank(lemel, *words)["blank_length_mm"]
        - blank(lemel, *words, "--neutral", 0.45)["blank_length_mm"]
    )
    assert less == pytest.approx(math.pi * 2 * 2 * 0.05)
