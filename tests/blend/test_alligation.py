"""Printed alligation problems with their printed answers; sources beside each."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lemel import blend
from lemel.errors import BadInput

pytestmark = pytest.mark.outside


def test_three_golds_of_a_bundle_of_troy_weights():
    # 8 oz of 22 carats, 1 lb 8 oz of 21, 10 oz of 18: 20 8/19 carats. English arithmetic of
    # the 18th or 19th century, pp. 325-327 (title page not seen).
    assert blend.medial([(8, 22), (20, 21), (10, 18)]) == pytest.approx(20 + 8 / 19)


def test_parts_of_four_golds_for_21_carats():
    # Samuel Webber, Mathematics, vol. 1, p. 129: 3, 1, 3, 4 parts (one of many answers).
    parts = blend.alternate({"17": 17, "18": 18, "22": 22, "24": 24}, 21)
    assert list(parts.values()) == [3, 1, 3, 4]
    assert blend.medial([(p, float(g)) for g, p in parts.items()]) == pytest.approx(21)


def test_gold_solder_of_six_two_and_one():
    # Watt in Coles, 1876, p. 268; Warren, p. 206: 16 carats.
    assert blend.medial([(6, 24), (2, 0), (1, 0)]) == pytest.approx(16)


def test_pure_gold_reduced_to_sixteen_carats():
    # Warren, p. 206: 6 oz of pure gold take 3 oz of alloy and become 9 oz.
    assert blend.to_lower(6, 24, 16) == pytest.approx(3)


def test_sixteen_carats_raised_to_eighteen():
    # Warren, p. 207: one third of a pennyweight of pure gold for each pennyweight.
    assert blend.to_raise(1, 16, 18, 24) == pytest.approx(1 / 3)


def test_a_formula_with_copper_silver_and_platinum():
    # Warren, p. 204, formula 1: 20 dwt gold, 2 copper, 1 silver, 1 platinum: 20 carats.
    assert blend.medial([(20, 24), (2, 0), (1, 0), (1, 0)]) == pytest.approx(20)


def test_standard_gold_is_eight_and_a_third_per_cent_alloy():
    # Potts, section XIX, 5.
    assert 100 - blend.medial([(22, 100), (2, 0)]) == pytest.approx(8 + 1 / 3)


def test_a_dip_sample_of_silver():
    # Evans, 1888: 1115 parts contain 1003 of pure silver, about 900 fine.
    assert blend.medial([(1003, 1000), (112, 0)]) == pytest.approx(900, abs=0.5)


def test_forty_ounces_of_eighteen_carats():
    # Bonnycastle, Scholar's Guide (from memory): 16, 8, 4, 12 oz (one of many answers).
    amounts = blend.total({"15": 15, "17": 17, "20": 20, "22": 22}, 18, 40)
    assert list(amounts.values()) == pytest.approx([16, 8, 4, 12])


def test_an_ounce_of_fine_gold_to_eighteen_carats():
    # A trade forum's answer (practice): 6.66 dwt of alloy, 26.66 dwt in all.
    assert blend.to_lower(20, 24, 18) == pytest.approx(20 / 3)


def test_equal_weights_of_eighteen_and_nine_carats():
    # A trade forum's answer (practice): 13.5 carats.
    assert blend.medial([(10, 18), (10, 9)]) == pytest.approx(13.5)


def test_nine_pounds_of_gold_and_one_of_copper():
    # H. White, description of the US mint: nine tenths fine.
    assert blend.medial([(9, 1000), (1, 0)]) == pytest.approx(900)


@given(
    st.lists(st.floats(300, 999), min_size=1, max_size=5),
    st.lists(st.floats(0, 200), min_size=1, max_size=5),
    st.floats(210, 290),
)
def test_linked_parts_always_make_the_target(richer, poorer, target):
    grades = {f"g{k}": g for k, g in enumerate([*richer, *poorer])}
    parts = blend.alternate(grades, target)
    assert min(parts.values()) > 0
    assert blend.medial([(parts[n], g) for n, g in grades.items()]) == pytest.approx(target)


def test_a_target_beyond_all_grades_is_refused():
    with pytest.raises(BadInput, match="target"):
        blend.alternate({"a": 900, "b": 800}, 925)
