"""Faults of the input are gathered, so that a file can be mended in one go."""

from __future__ import annotations

import pytest

from lemel.errors import BadInput, Broken, LemelError, NotKnown, Stopped, gather, require


def _refuse(field: str):
    raise BadInput(field, -1, "0 or more", "Check the sign.")


def test_all_faults_are_told_at_once_and_the_first_leads():
    makers = [lambda: 1, lambda: _refuse("mass_g"), lambda: 2, lambda: _refuse("length_mm")]
    with pytest.raises(BadInput) as fault:
        gather(makers)
    assert [one.field for one in fault.value.all] == ["mass_g", "length_mm"]


def test_without_a_fault_everything_is_made():
    assert gather([lambda: 1, lambda: 2]) == [1, 2]


def test_a_fault_names_the_place_where_it_was_found():
    with pytest.raises(BadInput) as fault:
        gather([lambda: _refuse("mass_g"), lambda: _refuse("")])
    placed = fault.value.under("lots.S1")
    assert [one.field for one in placed.all] == ["lots.S1.mass_g", "lots.S1"]


def test_require_lets_the_right_pass_and_names_the_wrong():
    require(True, "mass_g", 1, "0 or more", "Nothing.")
    with pytest.raises(BadInput, match="mass_g is -1; allowed: 0 or more"):
        require(False, "mass_g", -1, "0 or more", "Check the sign.")


def test_whatever_is_raised_on_purpose_has_one_root():
    assert all(issubclass(kind, LemelError) for kind in (BadInput, NotKnown, Stopped, Broken))
    assert "is not known" in str(NotKnown("density of X", "no model covers it", "Measure it."))
