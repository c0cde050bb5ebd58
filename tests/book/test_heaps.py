"""Heaps that change their shape: split, joined, remelted, found, recovered, delivered."""

from __future__ import annotations

import dataclasses
from datetime import date

import pytest

from lemel.book import Account
from lemel.errors import BadInput
from lemel.scrap import ScrapProblem, believe
from lemel.values import Composition, Consent, Lot, Reading

from .at_bench import (
    STERLING,
    bar_of,
    everything,
    store,
)


def test_parts_of_a_lot_inherit_its_readings_and_melts(bags):
    bags.mishaps.split("C1", {"C1a": 30.0, "C1b": 20.0})
    assert [store(bags, b, "ada").gross_mg for b in ("C1", "C1a", "C1b")] == [
        38_000, 30_000, 20_000,
    ]  # fmt: skip
    lots = {lot.id: lot for lot in bags.lots()}
    assert lots["C1a"].remelts == 2
    bags.mishaps.split("F1", {"F1a": 10})
    [copied] = bags.readings("F1a")
    assert (copied.values, copied.source) == ({"Ag": 0.925}, "bag F1: R1")
    assert [one.id for one in bags.readings("F1") if one.withdrawn] == ["R1"]


#: What a bag shared with others by instrument is carried by the method alone once it is parted.
NARROWED = 0.04


def sd_of_mix(book, shares):
    """sd of the silver in a heat of these lots, by mass share, with every error they share."""
    lots = tuple(dataclasses.replace(x, parents=()) for x in book.lots() if x.id in shares)
    told = tuple(one for one in book.readings() if one.on in shares)
    beliefs = believe(ScrapProblem(lots, told)).beliefs
    weights = [shares[body] for body in beliefs.bodies]
    own = sum((w * sd) ** 2 for w, sd in zip(weights, beliefs.own_sd, strict=True))
    rows = list(zip(weights, beliefs.loading, strict=True))
    loads = [sum(w * row[k] for w, row in rows) for k in range(len(beliefs.factors))]
    return (own + sum(x * x for x in loads)) ** 0.5


@pytest.mark.parametrize(
    ("evidence", "stated", "most"),
    [
        (["xrf-bench"], None, 1.01),
        (["xrf-bench", "xrf-hand-abraded"], None, 1.01),
        ([], STERLING, 1.5),
        (["xrf-hand-abraded"], STERLING, 1.5),
        (["stamp-maker"], STERLING, 1.5),
    ],
)
def test_parts_of_a_bag_in_one_heat_look_no_better_than_the_whole_bag(book, evidence, stated, most):
    """Against the same bag unsplit, alone and beside a bag read with the same instrument."""
    lots = [Lot(x, "ada", "Ag", "wire", 60.0, stated=stated, scrap_class="coin") for x in "PQ"]
    told = [
        Reading(f"{x} {how}", x, how, {"Ag": 0.921}, source="gun 9 Oct")
        for x in "PQ"
        for how in evidence
    ]
    book.weigh_in(lots, told, compositions=dict.fromkeys("PQ", STERLING))
    alone, beside = sd_of_mix(book, {"P": 1.0}), sd_of_mix(book, {"P": 0.5, "Q": 0.5})
    book.mishaps.split("P", {"P1": 20.0, "P2": 20.0})
    for shares in ({"P1": 0.5, "P2": 0.5}, {"P": 1 / 3, "P1": 1 / 3, "P2": 1 / 3}):
        assert alone * (1 - NARROWED) <= sd_of_mix(book, shares) <= most * alone
    assert sd_of_mix(book, {"P1": 0.25, "P2": 0.25, "Q": 0.5}) >= beside * (1 - NARROWED)
    book.mishaps.split("P1", {"P11": 10.0})
    assert sd_of_mix(book, {"P1": 0.5, "P11": 0.5}) >= alone * (1 - NARROWED)


def test_a_split_shares_out_the_whole_bag_or_asks(bags):
    before = everything(bags)
    assert bags.mishaps.split("F1", {"a": 20, "b": 20}, whole=True).stopped
    assert bags.mishaps.split("F1", {"a": 30, "b": 20}).stopped
    assert everything(bags) == before
    done = bags.mishaps.split("F1", {"a": 20, "b": 21.19}, whole=True)
    assert (done.loss_mg, store(bags, "F1", "ada").gross_mg) == (10, 0)
    with pytest.raises(BadInput, match="an id that is new"):
        bags.mishaps.split("C1", {"a": 1})


def test_a_merged_bag_holds_both_and_knows_less_of_any_part(bags):
    whole = store(bags, "F1", "ada") + store(bags, "C1", "ada")
    bags.mishaps.merge(["F1", "C1"], "M1")
    assert store(bags, "M1", "ada") == whole
    lots = {lot.id: lot for lot in bags.lots()}
    assert lots["M1"].remelts == 2
    assert set(bags.ancestors("M1")["M1"]) == {"F1", "C1"}
    [reading] = bags.readings("M1")
    assert reading.sd_own > 0


@pytest.mark.parametrize(
    ("bodies", "why"),
    [(["F1", "G1"], "one metal"), (["F1"], "two lots"), (["F1", "B1"], "a consent of bo")],
)
def test_what_must_not_meet_is_not_merged(bags, bodies, why):
    before = everything(bags)
    with pytest.raises(BadInput, match=why):
        bags.mishaps.merge(bodies, "M1")
    assert everything(bags) == before


def test_two_owners_lots_are_merged_by_a_consent_to_mix_and_its_grams_count(bags):
    bags.enter_consents([Consent("K1", "bo", "mix_with:ada", date(2031, 10, 1), limit_g=13.0)])
    bags.mishaps.merge(["F1", "B1"], "M1", owner="ada", consent="K1")
    assert store(bags, "M1", "ada").gross_mg == 53_200
    assert not bags.balances("bo", "store")
    bags.weigh_in([Lot("B2", "bo", "Ag", "wire", 2.0)], compositions={"B2": STERLING})
    with pytest.raises(BadInput, match="at most 1 g by K1"):
        bags.mishaps.merge(["C1", "B2"], "M2", owner="ada", consent="K1")


def test_a_suspect_lot_does_not_hide_in_a_clean_bag(bags):
    bags.mark_suspect("F1")
    with pytest.raises(BadInput, match="under suspicion"):
        bags.mishaps.merge(["F1", "C1"], "M1")


def test_silver_of_different_families_is_not_merged(bags):
    lot = Lot("E1", "ada", "Ag", "wire", 5.0)
    bags.weigh_in([lot], compositions={"E1": Composition.from_millesimal({"Ag": 958, "Cu": 42})})
    with pytest.raises(BadInput, match="one family"):
        bags.mishaps.merge(["F1", "E1"], "M1")


def test_a_remelted_bar_keeps_its_count_and_the_steps_that_lack_it_are_named(poured, plan):
    bar = bar_of(plan)
    before = {lot.id: lot for lot in poured.lots()}[bar]
    done = poured.mishaps.remelt(bar)
    after = {lot.id: lot for lot in poured.lots()}
    assert bar not in after
    assert after[done.bodies[0]].remelts == before.remelts
    assert after[done.bodies[0]].form == "offcut"
    assert [one.values["step"] for one in done.next] == [f"{plan.id}: mill H1-2"]


def test_more_of_an_addition_comes_in_once(shop):
    before = store(shop, "copper")
    shop.mishaps.restock("copper", 50, key="delivery 7")
    assert shop.mishaps.restock("copper", 50, key="delivery 7").entries[0].again
    assert store(shop, "copper").gross_mg == before.gross_mg + 50_000
    with pytest.raises(BadInput, match="three sds"):
        shop.mishaps.restock("fine silver grain", 5, composition=STERLING)


def test_what_turns_up_goes_back_to_its_owner_out_of_the_loss(poured, plan):
    lost = poured.held(Account("shop", "loss", "melt_and_pour"))
    done = poured.mishaps.found("shop", "melt_and_pour", 0.3, lost_from=f"{plan.id}/H1")
    [name] = done.bodies
    assert lost == poured.held(Account("shop", "loss", "melt_and_pour")) + store(poured, name)
    assert poured.ancestors(name)[name] == (f"{plan.id}/H1",)
    assert poured.mishaps.found("shop", "melt_and_pour", 3.0).stopped
    with pytest.raises(BadInput, match="melt_and_pour"):
        poured.mishaps.found("shop", "polish", 0.3)


def test_the_lemel_box_is_emptied_into_a_lot_that_knows_its_bars(poured, plan):
    poured.work(plan.id, "mill H1-2")
    poured.work(plan.id, "cut H1-2-a")
    box = poured.held(Account("shop", "lemel_box", "lemel box"))
    done = poured.mishaps.recover("lemel_box", "lemel box", box.gross_mg / 1000 - 0.02, into="L1")
    assert done.loss_mg == 20
    assert poured.held(Account("shop", "lemel_box", "lemel box")).gross_mg == 0
    assert poured.ancestors("L1")["L1"] == (f"{plan.id}/H1-2-a",)
    with pytest.raises(BadInput, match="recover of lemel box"):
        poured.mishaps.undo_step(plan.id, "cut H1-2-a")


def test_a_pot_is_washed_and_what_stays_in_it_stays_its_owners(poured, plan):
    pot = poured.held(Account("shop", "hold_up", "graphite S"))
    done = poured.mishaps.recover(
        "hold_up", "graphite S", 0.4, owner="shop", emptied=False, into="W1"
    )
    rest = poured.held(Account("shop", "hold_up", "graphite S"))
    assert rest + store(poured, "W1") == pot
    assert done.loss_mg == 0
    assert poured.mishaps.recover("hold_up", "graphite S", 5.0, owner="shop").stopped


def test_a_piece_is_delivered_for_its_order_once(poured, plan):
    poured.work(plan.id, "mill H1-2")
    made = poured.work(plan.id, "cut H1-2-a").bodies
    piece = f"{plan.id}/O1.1"
    assert piece in made
    done = poured.mishaps.deliver(piece)
    assert done.next[0].values["order"] == "O1.1"
    assert poured.held(Account("shop", "piece", piece)).gross_mg == 0
    assert poured.held(Account("shop", "outside", "delivered")).gross_mg > 0
    with pytest.raises(BadInput, match="with metal"):
        poured.mishaps.deliver(piece)


def test_a_customer_takes_metal_back_unless_it_is_promised(shop, plan):
    before = everything(shop)
    with pytest.raises(BadInput, match="H4 melt and pour"):
        shop.mishaps.take_back("G8")
    assert everything(shop) == before
    done = shop.mishaps.take_back("G8", drop=True)
    assert [one.values["step"] for one in done.next] == [f"{plan.id}: H4 melt and pour"]
    assert shop.held(Account("haldorsen", "outside", "handed over")).gross_mg == 5420
    with pytest.raises(BadInput, match="at most 0 g"):
        shop.charge(plan.id, "H4")
