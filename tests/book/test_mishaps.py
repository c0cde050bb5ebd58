"""What goes wrong at the bench, each in one act: written whole, undone whole, or refused whole."""

from __future__ import annotations

import dataclasses
from datetime import date

import pytest

from lemel.book import Account
from lemel.errors import BadInput
from lemel.metal import standard
from lemel.scrap import ScrapProblem, believe
from lemel.values import Composition, Consent, Holding, Lot, Reading
from lemel.words import say

from .conftest import opened

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})
GOLD = Composition.from_millesimal({"Au": 750, "Ag": 125, "Cu": 125})


@pytest.fixture
def shop(tmp_path, accepted):
    """The month's book with its plan accepted."""
    with opened(accepted, tmp_path) as book:
        yield book


@pytest.fixture
def charged(tmp_path, charged_once):
    with opened(charged_once, tmp_path) as book:
        yield book


@pytest.fixture
def poured(tmp_path, poured_once):
    with opened(poured_once, tmp_path) as book:
        yield book


@pytest.fixture
def bags(book):
    """Ada's and Bo's silver, and a bag of gold."""
    lots = [
        Lot("F1", "ada", "Ag", "filings", 41.2),
        Lot("C1", "ada", "Ag", "casting", 88.0, remelts=2),
        Lot("B1", "bo", "Ag", "wire", 12.0),
        Lot("G1", "ada", "Au", "wire", 9.0),
    ]
    readings = [Reading("R1", "F1", "xrf-bench", {"Ag": 0.925}, source="gun")]
    believed = {"F1": STERLING, "C1": STERLING, "B1": STERLING, "G1": GOLD}
    book.weigh_in(lots, readings, compositions=believed)
    return book


def store(book, body, owner="shop"):
    return book.held(Account(owner, "store", body))


def planned_loss_mg(plan, step):
    moves = plan.balance.movements
    return sum(m.holding.gross_mg for m in moves if m.step == step and m.to.place == "loss")


def heat_metal(book, heat):
    return sum(
        (h for a, h in book.balances(place="process").items() if a.body == heat), Holding.nothing()
    )


def charged_mg(plan, heat):
    [one] = [h for h in plan.heats if h.id == heat]
    return {line.body: round(1000 * line.mass_g) for line in one.charge.lines}


def everything(book):
    return book.head(), book.balances(), book.lots()


def bar_of(plan):
    return f"{plan.id}/H1-2"


# A bar's faults


@pytest.mark.parametrize(
    "kind", ["short", "cold_shut", "pipe", "flash", "pits", "streaks", "blister", "lamination"]
)
def test_every_fault_is_kept_with_its_next_step_and_its_event(poured, plan, kind):
    done = poured.mishaps.fault(bar_of(plan), kind, place_mm=12, depth_mm=0.4, note="seen wet")
    [kept] = poured.mishaps.faults(bar_of(plan))
    assert (kept["kind"], kept["place_mm"], kept["depth_mm"]) == (kind, 12, 0.4)
    assert say(done.next[0])
    assert poured.heat_events(plan.id, "H1")[-1][1] == "fault"
    assert poured.mishaps.suspects() == ()


def test_what_is_cropped_comes_back_as_an_offcut_with_its_ancestors(poured, plan):
    bar = bar_of(plan)
    before = store(poured, bar)
    done = poured.mishaps.fault(
        bar, "pipe", cropped_g=3.0, left_g=before.gross_mg / 1000 - 3.02, by="leif"
    )
    [crop] = done.bodies
    lots = {lot.id: lot for lot in poured.lots()}
    assert (lots[crop].form, round(1000 * lots[crop].mass_g)) == ("offcut", 3000)
    assert lots[crop].remelts == lots[bar].remelts
    assert poured.ancestors(crop)[crop] == (bar,)
    assert poured.origin(crop) == poured.origin(bar)
    assert before == store(poured, bar) + store(poured, crop) + poured.held(
        Account("shop", "loss", "part")
    )
    assert done.loss_mg == 20


def test_a_crop_that_misses_metal_is_asked_about_and_then_written(poured, plan):
    bar, before = bar_of(plan), everything(poured)
    left = store(poured, bar).gross_mg / 1000 - 5
    stopped = poured.mishaps.fault(bar, "pipe", cropped_g=3.0, left_g=left)
    assert stopped.stopped
    assert everything(poured) == before
    done = poured.mishaps.fault(bar, "pipe", cropped_g=3.0, left_g=left, answered=True)
    assert done.loss_mg == 2000


def test_a_crack_bars_the_heat_and_its_relatives_until_it_is_cleared_with_a_reason(poured, plan):
    poured.mishaps.fault(bar_of(plan), "crack", place_mm=10, depth_mm=2)
    suspects = poured.mishaps.suspects()
    assert {f"{plan.id}/H1", f"{plan.id}/H1-3", f"{plan.id}/H1-1-feeder"} <= set(suspects)
    assert "S1" not in suspects
    made = poured.work(plan.id, "mill H1-1").bodies
    assert set(made) <= set(poured.mishaps.suspects())
    with pytest.raises(BadInput, match="why it is sound"):
        poured.mishaps.clear_suspect(bar_of(plan), " ")
    poured.mishaps.clear_suspect(f"{plan.id}/H1-3", "a strip rolled to 0.3 mm without a mark")
    assert poured.mishaps.suspects() == ()
    with pytest.raises(BadInput, match="under suspicion"):
        poured.mishaps.clear_suspect(bar_of(plan), "again")


def test_one_cleared_crack_does_not_clear_the_relatives_of_another(bags):
    bags.mishaps.split("F1", {"F1a": 10, "F1b": 10})
    bags.mark_suspect("F1a")
    bags.mark_suspect("F1b")
    bags.mishaps.clear_suspect("F1a", "rolled thin")
    assert bags.mishaps.suspects() == ("F1b",)


def test_suspect_metal_stays_out_of_the_pot(shop, plan):
    shop.mark_suspect("S1")
    stopped = shop.charge(plan.id, "H1")
    assert [one.code for one in stopped.objections] == ["book.charge.suspect"]
    assert shop.heat_state(plan.id, "H1") == "planned"
    shop.mishaps.clear_suspect("S1", "rolled thin")
    assert shop.charge(plan.id, "H1").entry


# The wrong bag


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


def test_another_owners_bag_in_the_pot_needs_a_consent_to_mix(charged, plan, month):
    wrong = min(charged_mg(plan, "H1"), key=lambda body: charged_mg(plan, "H1")[body])
    before = everything(charged)
    with pytest.raises(BadInput, match="consent"):
        charged.mishaps.wrong_lot(plan.id, "H1", wrong, "S7")
    assert everything(charged) == before


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


# Undoing


def test_a_step_is_taken_back_and_done_again_with_other_weights(poured, plan):
    step, bar = "mill H1-2", bar_of(plan)
    before = store(poured, bar)
    planned = {s.name: s for s in poured.steps(plan.id)}[step].gives_mg
    poured.work(plan.id, step)
    poured.mishaps.undo_step(plan.id, step)
    assert store(poured, bar) == before
    assert not {s.name: s for s in poured.steps(plan.id)}[step].done
    assert f"{bar}-a" not in poured.descendants(bar)
    assert poured.lots() == tuple(lot for lot in poured.lots() if lot.id != f"{bar}-a")
    weights = {"H1-2-a": planned["H1-2-a"] / 1000 - 0.03}
    done = poured.work(plan.id, step, after=weights)
    assert done.entry
    assert store(poured, f"{bar}-a").gross_mg == planned["H1-2-a"] - 30
    assert f"{bar}-a" in poured.descendants(bar)
    live = [one for one in poured.readings(f"{bar}-a") if not one.withdrawn]
    assert len(live) == 1
    assert poured.audit().whole


def test_what_others_stand_on_is_not_taken_back_and_they_are_named(poured, plan):
    poured.work(plan.id, "mill H1-2")
    before = everything(poured)
    with pytest.raises(BadInput, match="mill H1-2"):
        poured.mishaps.undo_step(plan.id, "H1 melt and pour")
    assert everything(poured) == before


def test_a_heat_is_taken_back_state_by_state_to_where_it_began(shop, plan):
    before = shop.balances(place="store"), shop.accept(plan).reserved_mg
    shop.charge(plan.id, "H1")
    shop.molten(plan.id, "H1")
    shop.pour(plan.id, "H1")
    shop.prove(plan.id, "H1", Reading("A1", f"{plan.id}/H1", "silver-volhard", {"Ag": 0.93}))
    states = []
    for _ in range(4):
        shop.mishaps.undo_step(plan.id, "H1")
        states.append(shop.heat_state(plan.id, "H1"))
    assert states == ["poured", "molten", "charged", "planned"]
    assert (shop.balances(place="store"), shop.accept(plan).reserved_mg) == before
    assert [one.withdrawn for one in shop.readings(f"{plan.id}/H1")] == [True]
    with pytest.raises(BadInput, match="Nothing to undo"):
        shop.mishaps.undo_step(plan.id, "H1")
    shop.charge(plan.id, "H1")
    shop.molten(plan.id, "H1")
    assert shop.pour(plan.id, "H1").entry
    assert shop.audit().whole


def test_a_closed_heat_stays_as_it_is(poured, plan):
    poured.work(plan.id, "mill H1-2")
    poured.close_heat(plan.id, "H1")
    for step in ("H1", "H1 melt and pour", "mill H1-2"):
        with pytest.raises(BadInput, match="closed"):
            poured.mishaps.undo_step(plan.id, step)


def test_the_database_lets_no_heat_back_whose_step_stands(poured, plan):
    from django.db import IntegrityError, connections

    with connections[poured.alias].cursor() as cursor, pytest.raises(IntegrityError):
        cursor.execute("UPDATE book_heat SET state = 'molten' WHERE id = %s", [f"{plan.id}/H1"])


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


# Heaps that change their shape


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
