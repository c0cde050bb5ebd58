"""The wrong bag in the pot: told before, during and after the melt, and followed where it went."""

from __future__ import annotations

import pytest

from lemel.errors import BadInput
from lemel.metal import standard
from lemel.values import Holding, Reading
from lemel.words import say

from .at_bench import (
    bar_of,
    charged_mg,
    everything,
    heat_metal,
    store,
)


def test_a_wrong_bag_before_the_pour_is_put_right_and_a_correction_offered(charged, plan):
    """The correction against the closed form: grams = M (F - f + k s) / (c - F)."""
    wanted = charged_mg(plan, "H1")
    wrong = min((b for b in wanted if b != "S1"), key=lambda body: wanted[body])
    before = store(charged, wrong), store(charged, "S13")
    done = charged.mishaps.wrong_lot(plan.id, "H1", wrong, "S13", at="15:20")
    assert store(charged, wrong).gross_mg == before[0].gross_mg + wanted[wrong]
    assert store(charged, "S13").gross_mg == before[1].gross_mg - wanted[wrong]
    heat = f"{plan.id}/H1"
    assert wrong not in charged.ancestors(heat)[heat]
    assert "S13" in charged.ancestors(heat)[heat]
    assert charged.heat_state(plan.id, "H1") == "charged"
    assert charged.heat_events(plan.id, "H1")[-1][2]["told_at"].endswith("T15:20")
    metal = heat_metal(charged, heat)
    for offer in done.offers:
        if offer.way != "correct":
            continue
        [(name, grams)] = offer.additions_g.items()
        [grain] = [one for one in charged.additions() if one.id == name]
        raw = next(one for one in done.offers if one.way == "mark_real")
        least = standard("UK Ag 925").least
        short = metal.gross_mg / 1000 * (least - raw.promised)
        assert grams == pytest.approx(short / (grain.composition.share("Ag") - least), abs=0.03)
    assert done.offers
    assert charged.audit().whole


def poorest(book, plan):
    """A lot of the heat and the poorest silver bag of the house that is large enough for it."""
    wanted = charged_mg(plan, "H1")
    heats = {body for h in plan.heats for body in charged_mg(plan, h.id)}
    candidates = [
        (store(book, lot.id).as_dict().get("Ag", 0) / store(book, lot.id).gross_mg, lot.id)
        for lot in book.lots()
        if lot.owner == "shop"
        and lot.main == "Ag"
        and lot.id not in heats
        and lot.mass_g > 20
        and {one.code for one in book.bench.open_gates(lot.id) if one.grade in ("stop", "ask")}
        <= {"scrap.gate.consent_destroy.unknown"}  # this book does not say which owner is the shop
    ]
    right = min(candidates)[1]
    wrong = max((b for b in wanted if wanted[b] < 20_000), key=lambda b: wanted[b])
    return wrong, right


def test_the_offered_correction_once_added_keeps_the_promise(charged, plan):
    wrong, right = poorest(charged, plan)
    done = charged.mishaps.wrong_lot(plan.id, "H1", wrong, right)
    [correct] = [one for one in done.offers if one.way == "correct"]
    assert correct.promised >= 0.925
    added = charged.mishaps.charge_more(plan.id, "H1", dict(correct.additions_g))
    assert [one.way for one in added.offers] == ["keep"]
    assert [one.code for one in added.next] == ["book.next.pot_holds"]
    assert charged.audit().whole


def test_the_other_way_is_to_mark_the_bar_at_what_it_is(charged, plan):
    wrong, right = poorest(charged, plan)
    done = charged.mishaps.wrong_lot(plan.id, "H1", wrong, right)
    [real] = [one for one in done.offers if one.way == "mark_real"]
    charged.mishaps.mark_real(plan.id, "H1", real.standard, "wrong bag")
    charged.molten(plan.id, "H1")
    charged.pour(plan.id, "H1")
    assert charged.mishaps.promise_of(bar_of(plan)) == real.standard != "UK Ag 925"
    with pytest.raises(BadInput, match="Mark it lower"):
        charged.mishaps.mark_real(plan.id, "H1", "UK Ag 999", "hope")


def test_a_wrong_bag_found_after_the_pour_moves_the_bars_to_the_truth(poured, plan):
    """Against plain sums: pot - what was not in it + what was, shared by mass."""
    wrong, right = poorest(poured, plan)
    mg = charged_mg(plan, "H1")[wrong]
    of_right = store(poured, right)
    pot = sum(
        (
            Holding.of(round(1000 * line.mass_g), line.composition)
            for line in plan.heats[0].charge.lines
        ),
        Holding.nothing(),
    )
    [line] = [one for one in plan.heats[0].charge.lines if one.body == wrong]
    silver = (
        pot.as_dict()["Ag"]
        - mg * line.composition.to_ppm()["Ag"]
        + of_right.as_dict()["Ag"] * mg / of_right.gross_mg
    ) / (pot.gross_mg * 1e6)
    before = store(poured, bar_of(plan))
    assert poured.mishaps.promise_of(bar_of(plan)) == "UK Ag 925"
    done = poured.mishaps.wrong_lot(plan.id, "H1", wrong, right)
    after = store(poured, bar_of(plan))
    assert after.gross_mg == before.gross_mg
    assert after.as_dict()["Ag"] / (after.gross_mg * 1e6) == pytest.approx(silver, abs=3e-5)
    assert poured.mishaps.promise_of(bar_of(plan)) == ""
    assert done.next[0].code == "book.next.wrong_lot_poured"
    standing = [one for one in poured.readings(bar_of(plan)) if not one.withdrawn]
    assert len(standing) == 1
    assert poured.audit().whole


def test_a_second_wrong_bag_of_one_heat_builds_on_the_first(poured, plan):
    """Told wrong and then right again, the bars are what they were; told twice, both count."""
    wrong, right = poorest(poured, plan)
    before, bags = store(poured, bar_of(plan)), (store(poured, wrong), store(poured, right))
    poured.mishaps.wrong_lot(plan.id, "H1", wrong, right)
    once = store(poured, bar_of(plan))
    assert share_of(once) < share_of(before)
    with pytest.raises(BadInput, match="charged"):
        poured.mishaps.wrong_lot(plan.id, "H1", wrong, right)
    poured.mishaps.wrong_lot(plan.id, "H1", right, wrong)
    after = store(poured, bar_of(plan))
    assert share_of(after) == pytest.approx(share_of(before), abs=1e-6)
    assert [one.gross_mg for one in bags] == [store(poured, b).gross_mg for b in (wrong, right)]
    assert poured.audit().whole


def test_a_wrong_bag_found_late_follows_its_metal_into_another_heat(poured, plan):
    """Against plain sums: the other heat's bar changes by its share of the first heat's metal."""
    feeder, other = f"{plan.id}/H1-3-feeder", f"{plan.id}/H6"
    poured.charge(plan.id, "H6")
    poured.mishaps.charge_more(plan.id, "H6", {feeder: store(poured, feeder).gross_mg / 1000})
    in_pot = heat_metal(poured, other).gross_mg
    went_on = in_pot - sum(charged_mg(plan, "H6").values())
    poured.molten(plan.id, "H6")
    poured.pour(plan.id, "H6", after={"H6-1": 128.0}, answers={other: "book_difference"})
    bar = f"{plan.id}/H6-1"
    first, second = store(poured, bar_of(plan)), store(poured, bar)
    wrong, right = poorest(poured, plan)
    assert poured.mishaps.promise_of(bar)
    done = poured.mishaps.wrong_lot(plan.id, "H1", wrong, right)
    moved = share_of(store(poured, bar_of(plan))) - share_of(first)
    assert moved < 0
    assert share_of(store(poured, bar)) - share_of(second) == pytest.approx(
        moved * went_on / in_pot, rel=1e-3
    )
    assert store(poured, bar).gross_mg == second.gross_mg
    assert poured.mishaps.promise_of(bar) == ""
    said = {one.code: one for one in done.next}
    assert say(said["book.next.followed"])
    assert said["book.next.not_told_apart"].values["heap"].startswith("hold up")
    assert poured.audit().whole


def share_of(metal):
    return metal.as_dict()["Ag"] / (metal.gross_mg * 1e6)


def test_another_heat_that_was_assayed_stays_as_it_was_assayed(poured, plan):
    feeder, other = f"{plan.id}/H1-3-feeder", f"{plan.id}/H6"
    poured.charge(plan.id, "H6")
    poured.mishaps.charge_more(plan.id, "H6", {feeder: store(poured, feeder).gross_mg / 1000})
    poured.molten(plan.id, "H6")
    poured.pour(plan.id, "H6", after={"H6-1": 128.0}, answers={other: "book_difference"})
    poured.prove(plan.id, "H6", Reading("A6", other, "silver-volhard", {"Ag": 0.927}))
    before = store(poured, f"{plan.id}/H6-1")
    done = poured.mishaps.wrong_lot(plan.id, "H1", *poorest(poured, plan))
    assert store(poured, f"{plan.id}/H6-1") == before
    assert "book.next.as_assayed" in {one.code for one in done.next}


def trouble(book, lot):
    book.bench.answer_gate(lot, "mercury", "yes", seen="it leaves a white smear on gold")


def test_what_must_not_be_melted_does_not_go_into_the_pot_by_another_word(charged, plan):
    """Asked of every lot on its way into a pot, in the plan or not, and answered at the gate."""
    trouble(charged, "S8")
    before = everything(charged)
    more = charged.mishaps.charge_more(plan.id, "H1", {"S8": 2.0})
    wrong = charged.mishaps.wrong_lot(plan.id, "H1", "S5", "S8")
    for stopped in (more, wrong):
        assert stopped.stopped
        assert "scrap.gate.mercury.yes" in {one.code for one in stopped.objections}
    assert everything(charged) == before
    unasked = charged.mishaps.charge_more(plan.id, "H1", {"S9": 2.0})
    assert "scrap.gate.soft_solder.unknown" in {one.code for one in unasked.objections}
    assert unasked.stopped
    charged.bench.answer_gate("S8", "mercury", "no", seen="it was tin")
    assert charged.mishaps.charge_more(plan.id, "H1", {"S8": 2.0}).entries


def test_what_was_found_of_a_planned_lot_since_the_charge_stops_its_top_up(shop, plan):
    first, later = list(charged_mg(plan, "H1"))[:2]
    shop.charge(plan.id, "H1", taken={first: charged_mg(plan, "H1")[first] / 1000}, only=True)
    trouble(shop, later)
    stopped = shop.mishaps.charge_more(plan.id, "H1", {later: 1.0})
    assert [one.code for one in stopped.objections] == ["scrap.gate.mercury.yes"]


def test_a_wrong_bag_that_is_molten_is_written_and_what_comes_of_it_is_barred(charged, plan):
    """The book does not refuse the truth; it tells it, and keeps the metal out of clean heats."""
    trouble(charged, "S8")
    charged.molten(plan.id, "H1")
    done = charged.mishaps.wrong_lot(plan.id, "H1", "S5", "S8")
    assert not done.stopped
    assert [one.code for one in done.objections] == ["scrap.gate.mercury.yes"]
    assert f"{plan.id}/H1" in done.suspect
    charged.pour(plan.id, "H1")
    assert bar_of(plan) in charged.mishaps.suspects()


def test_another_owners_bag_in_the_pot_needs_a_consent_to_mix(charged, plan, month):
    wrong = min(charged_mg(plan, "H1"), key=lambda body: charged_mg(plan, "H1")[body])
    before = everything(charged)
    with pytest.raises(BadInput, match="consent"):
        charged.mishaps.wrong_lot(plan.id, "H1", wrong, "S7")
    assert everything(charged) == before
