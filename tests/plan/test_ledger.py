"""The crossing to milligrams: nothing is lost, nothing is made, owners stay apart."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lemel.errors import Broken
from lemel.plan import Ledger
from lemel.values import Composition

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})
FINE = Composition.from_millesimal({"Ag": 999}, rest=True)


def bench() -> Ledger:
    """Ada's two lots and Bo's one."""
    ledger = Ledger(step_g=0.01)
    ledger.open("Ada", "lot", "S1", 120.00, STERLING)
    ledger.open("Ada", "addition", "grain", 40.00, FINE)
    ledger.open("Bo", "lot", "B1", 30.00, STERLING)
    return ledger


def test_what_is_left_of_a_step_is_its_loss():
    ledger = bench()
    ledger.step("melt", [("lot", "S1", 100.0)], [("bar", "H1-1", 99.7)], owner="Ada")
    balance = ledger.balance()
    assert balance.loss_mg == 300
    assert balance.residual_mg == 0
    assert ledger.held_g("Ada", "lot", "S1") == 20.0


def test_a_step_cannot_give_more_than_went_in():
    ledger = bench()
    with pytest.raises(Broken, match="more than went in"):
        ledger.step("melt", [("lot", "S1", 10.0)], [("bar", "H1-1", 10.5)], owner="Ada")


def test_no_account_goes_below_nothing():
    with pytest.raises(Broken, match="asked"):
        bench().step("melt", [("lot", "S1", 121.0)], [("bar", "H1-1", 1.0)], owner="Ada")


def test_one_owner_cannot_draw_on_anothers_lot():
    with pytest.raises(Broken):
        bench().step("melt", [("lot", "B1", 5.0)], [("bar", "H1-1", 5.0)], owner="Ada")


def test_metal_changes_owner_only_with_a_consent():
    with pytest.raises(Broken, match="consent"):
        bench().transfer("top-up", ("Ada", "addition", "grain"), "Bo", 3.0, "")


def test_a_transfer_is_seen_in_both_owners_balances():
    ledger = bench()
    ledger.transfer("top-up", ("Ada", "addition", "grain"), "Bo", 3.0, "C1")
    ledger.step("melt", [("lot", "B1", 30.0), ("addition", "grain", 3.0)],
                [("bar", "H1-1", 32.9)], owner="Bo")  # fmt: skip
    rows = {row.owner: row for row in ledger.balance().owners}
    assert rows["Ada"].transferred_mg == -3000
    assert rows["Bo"].transferred_mg == 3000
    assert rows["Bo"].residual_mg == rows["Ada"].residual_mg == 0
    assert ledger.balance().movements[0].consent == "C1"


def test_elements_follow_the_grams():
    ledger = bench()
    ledger.step("melt", [("lot", "S1", 100.0), ("addition", "grain", 10.0)],
                [("bar", "H1-1", 110.0)], owner="Ada")  # fmt: skip
    silver = ledger.composition("Ada", "bar", "H1-1").share("Ag")
    assert silver == pytest.approx((100 * 0.925 + 10 * 0.999) / 110, abs=1e-9)


@settings(max_examples=60, derandomize=True, deadline=None)
@given(
    takes=st.lists(st.floats(0.01, 8.0), min_size=1, max_size=8),
    cuts=st.lists(st.floats(0.05, 0.95), min_size=1, max_size=6),
)
def test_any_chain_of_steps_closes_to_the_nanogram(takes, cuts):
    ledger = bench()
    for n, grams in enumerate(takes):
        ledger.step(f"melt {n}", [("lot", "S1", grams)], [("bar", f"B{n}", grams * cuts[0])],
                    owner="Ada")  # fmt: skip
        held = ledger.held_g("Ada", "bar", f"B{n}")
        if held == 0:
            continue
        parts = [held * share / len(cuts) for share in cuts]
        ledger.step(f"cut {n}", [("bar", f"B{n}", held)],
                    [("piece", f"P{n}.{k}", part) for k, part in enumerate(parts)],
                    owner="Ada")  # fmt: skip
    balance = ledger.balance()
    assert balance.residual_mg == 0
    assert balance.residual_ng == 0
    ada = next(row for row in balance.owners if row.owner == "Ada")
    assert sum(ada.places_mg.values()) == 160_000
    assert sum(ada.closing_ng.values()) == 160_000 * 1_000_000
