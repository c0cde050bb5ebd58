"""Properties that hold for every composition, at the ends and in the middle of every system."""

from __future__ import annotations

import math
import random
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lemel.metal import enthalpy_j_g, heat_curve, liquid_fraction, melting, melting_many
from lemel.tables import shipped
from lemel.values import ELEMENTS, Composition

SYSTEMS = [row.key for row in shipped().rows("metal_system") if "-" in row.key]


@st.composite
def alloys(draw: st.DrawFn) -> Composition:
    """Any composition of one system, its dilute ends as likely as its middle."""
    row = shipped().row("metal_system", draw(st.sampled_from(SYSTEMS)))
    shares = {}
    for element in row.cells["elements"]:
        shares[element] = 10 ** draw(st.floats(-7, 0)) if draw(st.booleans()) else draw(
            st.floats(0.01, 1)
        )  # fmt: skip
    return Composition.of(shares)


def check(body: Composition) -> None:
    found = melting(body)
    values = (found.liquidus_c, found.solidus_c, found.segregated_solidus_c, found.band_k)
    assert all(math.isfinite(value) for value in values)
    assert found.solidus_c <= found.liquidus_c + 1e-9
    assert found.segregated_solidus_c <= found.solidus_c + 1e-9
    assert 200 <= found.segregated_solidus_c < 1800


@given(alloys())
def test_the_order_of_the_three_temperatures_holds_everywhere(body):
    check(body)


@given(alloys())
def test_liquid_share_rises_from_nothing_to_all(body):
    found = melting(body)
    span = found.liquidus_c - found.solidus_c
    shares = [liquid_fraction(body, found.solidus_c + span * n / 6) for n in range(-1, 8)]
    assert shares[0] == 0.0
    assert shares[-1] == 1.0
    # A retrograde solidus may dissolve up to 0.005 of first liquid again.
    assert all(b >= a - 0.005 for a, b in pairwise(shares))


@given(alloys(), st.floats(25, 1300), st.floats(0.5, 200))
def test_heat_only_ever_rises(body, temp_c, step):
    assert enthalpy_j_g(body, temp_c + step) > enthalpy_j_g(body, temp_c)


@given(alloys())
def test_order_and_scale_of_the_parts_do_not_matter(body):
    parts = list(body.parts)
    turned = Composition.of({e: 37.5 * share for e, share in reversed(parts)})
    assert melting(turned).liquidus_c == pytest.approx(melting(body).liquidus_c, abs=1e-6)


@pytest.mark.parametrize(
    ("pair", "third"),
    [(("Ag", "Cu"), "Au"), (("Ag", "Au"), "Cu"), (("Au", "Cu"), "Ag"), (("Ag", "Cu"), "Zn")],
)
def test_a_vanishing_third_element_leaves_the_binary(pair, third):
    for share in (0.15, 0.5, 0.85):
        binary = melting(Composition.of({pair[0]: share, pair[1]: 1 - share}))
        parts = {pair[0]: share, pair[1]: 1 - share, third: 1e-11}
        ternary = melting(Composition.of(parts))
        assert ternary.liquidus_c == pytest.approx(binary.liquidus_c, abs=1e-6)
        assert ternary.solidus_c == pytest.approx(binary.solidus_c, abs=1e-6)


@pytest.mark.parametrize("key", SYSTEMS)
def test_many_at_once_agree_with_one_by_one(key):
    import numpy as np

    elements = key.split("-")
    limits = shipped().row("metal_system", key).cells["limits"]
    dice = np.random.default_rng(7)
    shares = dice.dirichlet(np.full(len(elements), 0.8), size=25)
    for element, most in limits.items():
        shares = shares[shares[:, elements.index(element)] < most]
    many = melting_many(elements, shares)
    for row, top, bottom in zip(shares, many.liquidus_c, many.solidus_c, strict=True):
        found = melting(Composition.of(dict(zip(elements, row.tolist(), strict=True))))
        assert found.liquidus_c == pytest.approx(float(top), abs=1e-5)
        assert found.solidus_c == pytest.approx(float(bottom), abs=1e-5)


def test_lines_through_silver_gold_copper_have_no_unexplained_step():
    # Along a line the liquidus is continuous; the solidus may only fall onto a valley, steeply
    # where the field of one solid ends (copper-rich 9 carat), never back within a step.
    dice = random.Random(11)
    for _ in range(4):
        start, end = ([dice.random() for _ in range(3)] for _ in range(2))
        tops = []
        for n in range(41):
            mix = [a + (b - a) * n / 40 for a, b in zip(start, end, strict=True)]
            parts = dict(zip(("Ag", "Au", "Cu"), mix, strict=True))
            tops.append(melting(Composition.of(parts)).liquidus_c)
        steps = [abs(b - a) for a, b in pairwise(tops)]
        assert max(steps) < 30


@settings(max_examples=25)
@given(st.dictionaries(st.sampled_from(ELEMENTS), st.floats(1e-5, 1), min_size=1, max_size=5),
       st.floats(0, 0.3))  # fmt: skip
def test_any_metal_at_all_gets_an_answer(parts, rest):
    body = Composition.of(parts, rest * sum(parts.values()))
    check(body)
    curve = heat_curve(body)
    assert curve.enthalpy_at(20.0) == pytest.approx(0.0, abs=1e-6)
    assert all(b > a for a, b in pairwise(curve.enthalpy_j_g))


@pytest.mark.soak
def test_twenty_thousand_random_compositions():
    dice = random.Random(20261)
    for _ in range(20_000):
        elements = dice.choice(SYSTEMS).split("-")
        shares = {e: dice.expovariate(1) for e in elements}
        if dice.random() < 0.3:
            shares[dice.choice(elements)] *= 10 ** dice.uniform(-8, -1)
        check(Composition.of(shares))
