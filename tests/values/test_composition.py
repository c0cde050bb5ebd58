"""What a metal is made of: it always sums, and integers always sum exactly."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lemel.errors import BadInput
from lemel.values import ELEMENTS, Composition, mix
from tests.strategies import compositions, masses_g

shares = st.dictionaries(st.sampled_from(ELEMENTS), st.floats(1e-6, 1e6), min_size=1, max_size=6)


@given(shares, st.floats(0, 1e3))
def test_shares_in_any_unit_are_normalised(given_shares, rest):
    body = Composition.of(given_shares, rest)
    assert sum(body.as_dict().values()) + body.rest == pytest.approx(1, abs=1e-12)
    for element, share in given_shares.items():
        assert body.share(element) * (sum(given_shares.values()) + rest) == pytest.approx(share)


@given(compositions())
def test_parts_per_million_sum_to_a_million_exactly(body):
    ppm = body.to_ppm()
    assert sum(ppm.values()) == 1_000_000
    assert all(abs(n - body.share(element) * 1e6) < 1.0001 for element, n in ppm.items())


@given(compositions())
def test_making_it_again_changes_nothing_that_matters(body):
    again = Composition.of(body.as_dict(), body.rest)
    for element in body.elements:
        assert again.share(element) == pytest.approx(body.share(element), rel=1e-12)


@given(st.lists(st.tuples(masses_g(), compositions()), min_size=1, max_size=5))
def test_melting_together_keeps_every_element(charge):
    whole = sum(mass for mass, _ in charge)
    for element in {e for _, body in charge for e in body.elements}:
        before = sum(mass * body.share(element) for mass, body in charge)
        assert mix(charge).share(element) * whole == pytest.approx(before, rel=1e-9)


@given(st.lists(st.tuples(masses_g(), compositions()), min_size=2, max_size=5))
def test_the_order_of_melting_does_not_matter(charge):
    one, other = mix(charge), mix(charge[::-1])
    assert one.elements == other.elements
    for element in one.elements:
        assert one.share(element) == pytest.approx(other.share(element), rel=1e-12)


@given(compositions())
def test_millesimal_parts_go_there_and_back(body):
    written = {element: body.fineness(element) for element in body.elements}
    again = Composition.from_millesimal(written, rest=True)
    for element in body.elements:
        assert again.share(element) == pytest.approx(body.share(element), abs=1e-9)


@pytest.mark.parametrize(
    ("parts", "options", "field"),
    [
        ({"Ag": 925, "Cu": 70}, {}, "composition"),
        ({"Ag": 925, "Cu": 76}, {"balance": "Cu"}, "composition"),
        ({"Xx": 1000}, {}, "Xx"),
        ({"Ag": 1001, "Cu": -1}, {}, "Cu"),
        ({"Ag": float("nan")}, {}, "Ag"),
        ({}, {}, "composition"),
        ({"Ag": 0.0}, {"balance": None, "slack": 1000}, "parts"),
    ],
)
def test_parts_that_cannot_be_are_refused_by_name(parts, options, field):
    with pytest.raises(BadInput) as fault:
        Composition.from_millesimal(parts, **options)
    assert fault.value.field == field


def test_the_balance_takes_what_is_missing_and_the_rest_stays_undeclared():
    assert Composition.from_millesimal({"Ag": 925}, balance="Cu").share("Cu") == pytest.approx(
        0.075
    )
    assert Composition.from_millesimal({"Ag": 925}, rest=True).rest == pytest.approx(0.075)


@pytest.mark.parametrize(
    ("parts", "main"),
    [
        ({"Ag": 925, "Cu": 75}, "Ag"),
        ({"Au": 375, "Ag": 100, "Cu": 525}, "Au"),
        ({"Au": 333, "Ag": 600, "Cu": 67}, "Au"),
        ({"Ag": 720, "Cu": 280}, "Ag"),
        ({"Cu": 950, "Ag": 50}, "Ag"),
        ({"Cu": 990, "Ag": 10}, "Cu"),
        ({"Pt": 950, "Cu": 50}, "Pt"),
    ],
)
def test_the_metal_that_names_an_alloy(parts, main):
    assert Composition.from_millesimal(parts).main() == main
