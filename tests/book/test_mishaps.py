"""What goes wrong at the bench, each in one act: keys, the pot, consents, late hours."""

from __future__ import annotations

import dataclasses
from datetime import date

import pytest

from lemel.book import Account
from lemel.errors import BadInput
from lemel.values import Consent, Reading

from .at_bench import (
    bar_of,
    charged_mg,
    everything,
    heat_metal,
    planned_loss_mg,
    store,
)

# A key


def test_an_act_with_a_key_is_done_once_and_another_act_may_not_have_it(poured, plan):
    bar, acts = bar_of(plan), poured.mishaps
    given = {"cropped_g": 2.0, "by": "leif", "at": "11:00", "key": "phone 1"}
    first = acts.fault(bar, "pipe", **given)
    before = everything(poured)
    again = acts.fault(bar, "pipe", **given)
    assert again.entries[0].again
    assert (again.bodies, again.loss_mg, again.next) == (first.bodies, first.loss_mg, first.next)
    assert everything(poured) == before
    for act in (
        lambda: acts.fault(bar, "pits", **given),
        lambda: acts.remelt(bar, by="leif", at="11:00", key="phone 1"),
    ):
        with pytest.raises(BadInput, match="key"):
            act()
    assert everything(poured) == before


def test_an_act_that_stopped_or_was_refused_leaves_its_key_free(poured, plan):
    bar, acts = bar_of(plan), poured.mishaps
    left = store(poured, bar).gross_mg / 1000 - 5
    assert acts.fault(bar, "pipe", cropped_g=3.0, left_g=left, key="k").stopped
    with pytest.raises(BadInput):
        acts.fault(bar, "bent", key="k")
    assert acts.fault(bar, "pipe", cropped_g=3.0, left_g=left, answered=True, key="k").entries


def test_every_act_takes_a_key(poured):
    import inspect

    acts = type(poured.mishaps)
    written = [
        name
        for name, act in inspect.getmembers(acts, inspect.isfunction)
        if inspect.signature(act).return_annotation == "Happened" and name != "_do"
    ]
    assert len(written) > 15
    assert [n for n in written if "key" not in inspect.signature(getattr(acts, n)).parameters] == []


# At the pot


def test_a_charge_may_go_in_bit_by_bit_as_it_melts(shop, plan):
    wanted = charged_mg(plan, "H1")
    first = dict(sorted(wanted.items())[:2])
    shop.charge(plan.id, "H1", taken={b: mg / 1000 for b, mg in first.items()}, only=True)
    assert heat_metal(shop, f"{plan.id}/H1").gross_mg == sum(first.values())
    rest = next(body for body in wanted if body not in first)
    with pytest.raises(BadInput, match="what is taken is reserved"):
        shop.stock_take(Account("shop", "store", rest), 0.01)
    shop.molten(plan.id, "H1")
    for body, mg in wanted.items():
        if body not in first:
            shop.mishaps.charge_more(plan.id, "H1", {body: mg / 1000}, key=f"line {body}")
            again = shop.mishaps.charge_more(plan.id, "H1", {body: mg / 1000}, key=f"line {body}")
            assert again.entries[0].again
    assert heat_metal(shop, f"{plan.id}/H1").gross_mg == sum(wanted.values())
    assert shop.pour(plan.id, "H1").entry
    assert dict(shop.origin(bar_of(plan)).shares) == pytest.approx(
        dict(plan.heats[0].origin.shares), abs=2e-4
    )


def test_a_cold_charge_goes_back_into_its_bags_with_its_promises(shop, plan):
    for heat in ("H1", "H4"):
        before = shop.balances(place="store"), shop.accept(plan).reserved_mg
        shop.charge(plan.id, heat)
        shop.mishaps.uncharge(plan.id, heat)
        assert (shop.balances(place="store"), shop.accept(plan).reserved_mg) == before
        assert shop.heat_state(plan.id, heat) == "planned"
        assert shop.charge(plan.id, heat).entry
    assert shop.audit().whole


def test_what_is_weighed_back_is_what_the_bag_holds(charged, plan):
    charged.mishaps.uncharge(plan.id, "H1", after={"S1": 186.35})
    assert store(charged, "S1").gross_mg == 186_350
    with pytest.raises(BadInput, match="charged"):
        charged.mishaps.uncharge(plan.id, "H1")


def test_a_spill_is_a_lot_and_a_loss_and_the_heat_goes_on(charged, plan):
    charged.molten(plan.id, "H1")
    before = heat_metal(charged, f"{plan.id}/H1")
    done = charged.mishaps.spill(plan.id, "H1", recovered_g=3.2, lost_g=0.15)
    [spilled] = done.bodies
    after = heat_metal(charged, f"{plan.id}/H1")
    lost = charged.held(Account("shop", "loss", "spill"))
    assert before == after + store(charged, spilled) + lost
    assert (lost.gross_mg, store(charged, spilled).gross_mg) == (150, 3200)
    assert f"{plan.id}/H1" in charged.ancestors(spilled)
    stopped = charged.pour(plan.id, "H1")
    assert [one.code for one in stopped.objections] == ["book.step.gain"]
    with pytest.raises(BadInput, match="at most"):
        charged.mishaps.spill(plan.id, "H1", recovered_g=500)


# Consents


def test_the_grams_of_a_consent_are_summed_over_all_top_ups(shop, plan):
    first = charged_mg(plan, "H4")
    used = sum(mg for body, mg in first.items() if body != "G8") / 1000
    shop.charge(plan.id, "H4")
    left = 4.0 - used
    with pytest.raises(BadInput, match=f"at most {left:g} g by C2"):
        shop.mishaps.charge_more(plan.id, "H4", {"fine gold grain": left + 0.01}, consent="C2")
    assert shop.mishaps.charge_more(
        plan.id, "H4", {"fine gold grain": round(left, 2)}, consent="C2"
    ).entries
    shop.mishaps.uncharge(plan.id, "H4")
    assert shop.charge(plan.id, "H4").entry


def test_a_consent_is_only_good_for_what_it_is_about(shop, plan):
    given = [
        Consent("X1", "corvalho", "top_up", date(2031, 10, 1), about=("S9",)),
        Consent("X2", "corvalho", "destroy", date(2031, 10, 1)),
    ]
    shop.enter_consents(given)
    shop.charge(plan.id, "H2")
    grain = {"fine silver grain": 1.0}
    for consent, why in (("X1", "covers S9"), ("X2", "consent to destroy"), ("C2", "of corvalho")):
        with pytest.raises(BadInput, match=why):
            shop.mishaps.charge_more(plan.id, "H2", grain, consent=consent)


# Hours and unweighed runs


@pytest.mark.parametrize("said", ["25:00", "noon", "2031-10-12 09:00", "2031-02-30 09:00"])
def test_an_hour_that_is_none_or_yet_to_come_is_refused(shop, plan, said):
    with pytest.raises(BadInput, match="at"):
        shop.charge(plan.id, "H1", at=said)


def test_a_late_entry_keeps_the_told_hour_beside_the_hour_of_writing(shop, plan):
    shop.charge(plan.id, "H1", at="2031-10-08 15:20")
    [(written, what, facts)] = shop.heat_events(plan.id, "H1")
    assert (written[:10], what) == ("2031-10-09", "charged")
    assert facts["told_at"] == "2031-10-08T15:20"


def test_what_is_off_after_unweighed_steps_is_booked_on_those_steps(poured, plan):
    poured.work(plan.id, "mill H1-2")
    body = f"{plan.id}/H1-2-a"
    real = store(poured, body).gross_mg / 1000 - 0.4
    [row] = [one for one in poured.losses() if one.operation == "mill"]
    stopped = poured.work(plan.id, "cut H1-2-a", before={body: real})
    assert [one.code for one in stopped.objections] == ["book.identity.off_unweighed"]
    assert stopped.objections[0].values["steps"] == 2
    pieces = {s.name: s for s in poured.steps(plan.id)}["cut H1-2-a"].gives_mg
    rest = {"H1-2-a-rest": pieces["H1-2-a-rest"] / 1000 - 0.4}
    done = poured.work(
        plan.id, "cut H1-2-a", before={body: real}, after=rest, answers={body: "book_difference"}
    )
    assert done.entry
    [after] = [one for one in poured.losses() if one.operation == "mill"]
    assert row.unweighed == 1
    foreseen = planned_loss_mg(plan, "mill H1-2")
    assert after.loss_mg - foreseen == pytest.approx(400)
    assert not poured.balances(place="stock_take")


def test_a_step_that_was_weighed_is_not_blamed(poured, plan):
    gives = {s.name: s for s in poured.steps(plan.id)}["mill H1-2"].gives_mg
    weighed = {own: mg / 1000 for own, mg in gives.items() if own.startswith("H1-2-")}
    poured.work(plan.id, "mill H1-2", after=weighed)
    body = f"{plan.id}/H1-2-a"
    real = store(poured, body).gross_mg / 1000 - 0.4
    stopped = poured.work(plan.id, "cut H1-2-a", before={body: real})
    assert [one.code for one in stopped.objections] == ["book.identity.off"]


def test_a_heats_assay_says_nothing_of_another_heat_that_its_offcuts_went_into(poured, plan):
    feeder = f"{plan.id}/H1-3-feeder"
    other = f"{plan.id}/H6"
    poured.charge(plan.id, "H6")
    poured.mishaps.charge_more(plan.id, "H6", {feeder: store(poured, feeder).gross_mg / 1000})
    assert other in poured.descendants(feeder)
    poured.molten(plan.id, "H6")
    more = {"H6-1": 128.0}
    poured.pour(plan.id, "H6", after=more, answers={other: "book_difference"})
    bar = store(poured, f"{plan.id}/H6-1")
    poured.prove(plan.id, "H1", Reading("A1", f"{plan.id}/H1", "silver-volhard", {"Ag": 0.9}))
    assert store(poured, f"{plan.id}/H6-1") == bar


def test_everything_that_went_wrong_travels_with_the_book(poured, plan, tmp_path):
    from lemel.book import open_book

    poured.mishaps.fault(bar_of(plan), "crack", cropped_g=2.0)
    poured.work(plan.id, "mill H1-1")
    poured.mishaps.undo_step(plan.id, "mill H1-1")
    with open_book(tmp_path / "other", create=True) as other:
        assert other.read_in(poured.export()).whole
        assert other.mishaps.suspects() == poured.mishaps.suspects()
        assert other.lots() == poured.lots()
        assert other.export() == poured.export()


def test_a_refused_plan_of_acts_changes_nothing(shop, plan):
    before = everything(shop)
    acts = [
        lambda: shop.mishaps.charge_more(plan.id, "H1", {"S1": 1}),
        lambda: shop.mishaps.spill(plan.id, "H1", recovered_g=1),
        lambda: shop.mishaps.undo_step(plan.id, "mill H1-2"),
        lambda: shop.mishaps.wrong_lot(plan.id, "H1", "S1", "S5"),
        lambda: shop.mishaps.split("S1", {"S1a": 180.0}),
        lambda: shop.mishaps.remelt("S1"),
        lambda: shop.mishaps.deliver("S1"),
        lambda: shop.mishaps.fault("S1", "bent"),
    ]
    for act in acts:
        with pytest.raises(BadInput):
            act()
        assert everything(shop) == before


def test_a_fault_may_be_told_of_a_bar_that_was_weighed_in(shop, month):
    bar = dataclasses.replace(month.workshop.stock[0], id="X1", mass_g=10.0)
    shop.weigh_in(bars=[bar])
    done = shop.mishaps.fault("X1", "pits", cropped_g=1.0)
    assert store(shop, done.bodies[0], bar.owner).gross_mg == 1000
