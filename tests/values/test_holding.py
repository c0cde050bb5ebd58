"""The book's measure: nothing appears and nothing is lost, to the nanogram."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lemel.errors import BadInput
from lemel.values import REST, Composition, Holding, share_out
from tests.strategies import compositions, holdings


@given(holdings())
def test_elements_sum_to_the_gross(held):
    assert sum(held.as_dict().values()) == held.gross_mg * 1_000_000


@given(holdings(), holdings())
def test_adding_and_taking_away_again_leaves_the_first(one, other):
    assert one + other - other == one
    assert one + (-one) == Holding.nothing()
    assert one + other == other + one


@given(holdings(), st.lists(st.integers(0, 1000), min_size=1, max_size=7))
def test_a_split_is_exact_in_gross_and_in_every_element(held, weights):
    parts_mg = share_out(held.gross_mg, weights) if sum(weights) else [held.gross_mg]
    pieces = held.split(parts_mg)
    assert [piece.gross_mg for piece in pieces] == parts_mg
    assert sum(pieces, Holding.nothing()) == held


@given(holdings(), st.lists(st.integers(1, 1000), min_size=1, max_size=7))
def test_each_piece_has_the_fineness_of_the_whole_to_a_nanogram_each(held, weights):
    parts_mg = share_out(held.gross_mg, weights)
    balancing = REST if REST in held.as_dict() else max(held.as_dict().items(), key=_by_mass)[0]
    for piece in held.split(parts_mg):
        for element, ng in held.as_dict().items():
            fair = ng * piece.gross_mg / held.gross_mg
            slack = len(held.element_ng) if element == balancing else 1
            assert abs(piece.as_dict().get(element, 0) - fair) <= slack + fair * 1e-12


@given(holdings(), st.integers(1, 99))
def test_a_movement_out_splits_like_a_movement_in(held, first):
    first = first % held.gross_mg
    parts = [first, held.gross_mg - first]
    outward = (-held).split([-part for part in parts])
    assert sum(outward, Holding.nothing()) == -held


@given(st.integers(0, 10**15), st.lists(st.integers(0, 10**9), min_size=1, max_size=9))
def test_sharing_out_gives_all_and_is_fair_to_one(total, weights):
    shares = share_out(total, weights)
    assert sum(shares) == total
    if sum(weights):
        for share, weight in zip(shares, weights, strict=True):
            assert abs(share * sum(weights) - total * weight) < sum(weights)


def test_pieces_that_do_not_sum_to_the_whole_are_refused():
    held = Holding.of(1000, Composition.from_millesimal({"Ag": 925, "Cu": 75}))
    with pytest.raises(BadInput):
        held.split([400, 500])


def test_a_holding_whose_elements_do_not_sum_is_refused():
    with pytest.raises(BadInput):
        Holding(1, (("Ag", 999_999),))


@given(st.integers(1, 10**7), compositions())
def test_milligrams_times_parts_per_million_are_nanograms(gross_mg, body):
    for element, ng in Holding.of(gross_mg, body).element_ng:
        assert ng == gross_mg * body.to_ppm()[element]


def _by_mass(entry: tuple[str, int]) -> tuple[int, str]:
    return entry[1], entry[0]
