"""Money is exact; a shop's ids are each there once; a charge weighs what its lines weigh."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lemel.errors import BadInput
from lemel.values import BillLine, Charge, Composition, Money, Saw, Section, Workshop, quiet
from tests.strategies import cash, prices, value_of


@given(st.lists(prices, min_size=1, max_size=30))
def test_a_bill_adds_up_to_the_last_digit_in_any_order(amounts):
    forwards, backwards = Money(Decimal(0), "QMF"), Money(Decimal(0), "QMF")
    for amount in amounts:
        forwards += Money(amount, "QMF")
    for amount in reversed(amounts):
        backwards += Money(amount, "QMF")
    assert forwards == backwards
    assert forwards.amount == sum(amounts)


@given(cash, prices)
def test_taking_away_undoes_adding_and_scaling_is_exact(money, factor):
    assert money + money - money == money
    assert money.times(3) == money + money + money
    assert money.times(factor).amount == money.amount * factor


def test_a_bill_line_is_quantity_times_price_and_income_is_negative():
    line = BillLine("metal", Decimal("-2.5"), "g", Money(Decimal("0.80"), "QMF"), "offcuts sold")
    assert line.total == Money(Decimal("-2.000"), "QMF")


@pytest.mark.parametrize("amount", [1.0, Decimal("Infinity"), "12"])
def test_money_is_made_of_exact_decimals_only(amount):
    with pytest.raises(BadInput):
        Money(amount, "QMF")


def test_money_names_its_currency():
    with pytest.raises(BadInput):
        Money(Decimal(1), "")


def test_two_tools_of_one_name_are_refused():
    saw = Saw("saw", 0.3, 100.0)
    with pytest.raises(BadInput) as fault:
        Workshop("w", "Quillmarsh", "house", {"house": "us"}, date(2031, 10, 1), saws=(saw, saw))
    assert (fault.value.field, fault.value.value) == ("saws.id", "saw")


@given(value_of(Charge))
def test_a_charge_weighs_what_its_lines_weigh(charge):
    assert charge.mass_g == pytest.approx(sum(line.mass_g for line in charge.lines))


@pytest.mark.parametrize("share", [-0.1, float("nan"), True, "half"])
def test_a_share_that_is_none_is_refused(share):
    with pytest.raises(BadInput):
        Composition((("Ag", share),))
    with pytest.raises(BadInput):
        Composition.of({"Ag": share})


def test_an_undeclared_share_cannot_be_less_than_nothing():
    with pytest.raises(BadInput):
        Composition((("Ag", 1.1),), -0.1)


def test_sections_are_asked_for_their_sizes_by_name():
    assert Section.round(2.0).dim("diameter") == 2.0
    assert Section.of("half_round", {"height": 2.2, "width": 4.0}).dim("height") == 2.2


def test_the_quiet_watch_never_stops_anybody():
    assert not quiet.cancelled()
    assert quiet.tell(0.5) is None
