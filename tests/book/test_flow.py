"""The Quillmarsh month through its real steps: reserved, charged, poured, milled, cut, proven."""

from __future__ import annotations

import dataclasses

import pytest

from lemel.book import Account, open_book
from lemel.errors import BadInput
from lemel.plan import Movement, do
from lemel.values import Composition, Holding, Reading

from .conftest import clock, fill, run


def planned_mg(plan, body):
    """What the plan's own ledger says of a thing that it makes."""
    return sum(m.holding.gross_mg for m in plan.balance.movements if m.to.id == body)


def test_the_weigh_in_holds_what_the_lots_weigh_and_twice_is_once(stocked, month):
    held = {a.body: h.gross_mg for a, h in stocked.balances(place="store").items()}
    assert {lot.id: round(lot.mass_g * 1000) for lot in month.lots}.items() <= held.items()
    entries = stocked.head()
    fill(stocked, month)
    assert stocked.head() == entries


def test_another_lot_under_the_same_name_is_refused(stocked, month):
    other = dataclasses.replace(month.lots[0], note="another bag")
    with pytest.raises(BadInput, match="an id that is new"):
        stocked.weigh_in([other])


def test_an_accepted_plan_is_kept_whole_and_reserves_its_lots(stocked, plan):
    accepted = stocked.accept(plan)
    assert stocked.plan(plan.id) == plan
    assert accepted.reserved_mg["S1"] == sum(
        round(1000 * line.mass_g)
        for heat in plan.heats
        for line in heat.charge.lines
        if line.body == "S1"
    )
    assert stocked.accept(plan) == accepted


def test_no_lot_is_promised_twice(stocked, plan):
    stocked.accept(plan)
    with pytest.raises(BadInput, match="more is reserved than is there"):
        stocked.accept(dataclasses.replace(plan, id="again"))
    assert len(stocked.accept(plan).steps) == len(stocked.steps(plan.id))


def test_what_is_promised_is_not_taken_for_something_else(stocked, plan):
    stocked.accept(plan)
    with pytest.raises(BadInput, match="what is taken is reserved"):
        stocked.stock_take(Account("shop", "store", "S1"), 1.0)


def test_a_plan_on_a_consent_that_is_not_on_record_is_refused(tmp_path, month, plan):
    with open_book(tmp_path / "book", create=True) as book:
        shop = month.workshop
        book.weigh_in(month.lots, month.readings, shop.owners, additions=shop.additions)
        with pytest.raises(BadInput, match="consent is"):
            book.accept(plan)
        assert book.steps(plan.id) == ()


def test_the_month_as_planned_ends_as_the_plan_says_to_the_milligram(after, plan):
    """Two ways: the book's own entries, and the plan's ledger, which knows nothing of the book."""
    assert after.audit().whole
    for row in plan.balance.owners:
        places = dict(row.places_mg)
        held = {}
        for account, metal in after.balances(owner=row.owner).items():
            held[account.place] = held.get(account.place, 0) + metal.gross_mg
        in_store = ("lot", "addition", "bar", "remnant", "offcut")
        assert held.get("store", 0) == sum(places.get(p, 0) for p in in_store)
        same = {"piece": "piece", "lemel_box": "kerf", "hold_up": "hold_up", "loss": "loss"}
        for ours, theirs in same.items():
            assert held.get(ours, 0) == places.get(theirs, 0)
        assert held.get("process", 0) == 0


def test_metal_is_conserved_through_the_month_in_every_element(stocked, plan):
    before = sum((h for h in stocked.balances().values()), Holding.nothing())
    stocked.accept(plan)
    run(stocked, plan)
    after = sum((h for h in stocked.balances().values()), Holding.nothing())
    assert before == after == Holding.nothing()


def test_a_heat_goes_one_state_at_a_time(stocked, plan):
    stocked.accept(plan)
    with pytest.raises(BadInput, match="poured follows only molten"):
        stocked.pour(plan.id, "H1")
    stocked.charge(plan.id, "H1", by="leif")
    with pytest.raises(BadInput, match="poured follows only molten"):
        stocked.pour(plan.id, "H1")
    stocked.molten(plan.id, "H1")
    stocked.pour(plan.id, "H1")
    assert [what for _, what, _ in stocked.heat_events(plan.id, "H1")] == [
        "charged", "molten", "poured"
    ]  # fmt: skip


def test_a_bag_that_weighs_wrong_stops_the_charge_until_it_is_answered_for(stocked, plan):
    stocked.accept(plan)
    held = stocked.held(Account("shop", "store", "S1")).gross_mg
    head = stocked.head()
    stopped = stocked.charge(plan.id, "H1", before={"S1": held / 1000 - 0.30})
    assert stopped.entry is None
    assert [one.code for one in stopped.objections] == ["book.identity.off"]
    assert (stocked.head(), stocked.heat_state(plan.id, "H1")) == (head, "planned")
    done = stocked.charge(
        plan.id, "H1", before={"S1": held / 1000 - 0.30}, answers={"S1": "book_difference"}
    )
    assert done.entry
    assert stocked.held(Account("shop", "stock_take", "S1")).gross_mg == 300


def test_a_bag_within_the_limit_does_not_stop_the_charge(stocked, plan):
    stocked.accept(plan)
    held = stocked.held(Account("shop", "store", "S1")).gross_mg
    assert stocked.charge(plan.id, "H1", before={"S1": held / 1000 + 0.05}).entry


def test_a_charge_is_made_once(stocked, plan):
    stocked.accept(plan)
    first = stocked.charge(plan.id, "H1")
    assert stocked.charge(plan.id, "H1").entry.number == first.entry.number


def test_house_metal_becomes_the_customers_by_the_consent_before_the_charge(stocked, plan):
    stocked.accept(plan)
    stocked.charge(plan.id, "H4")
    owners = {a.owner for a, _ in stocked.balances(place="process").items()}
    assert owners == {"haldorsen"}
    statement = stocked.statement("haldorsen")
    assert [line.kind for line in statement.lines] == ["weigh_in", "top_up"]


def test_a_spill_is_asked_about_and_then_is_the_heats_loss(stocked, plan):
    stocked.accept(plan)
    stocked.charge(plan.id, "H1")
    stocked.molten(plan.id, "H1")
    stopped = stocked.pour(plan.id, "H1", after={"H1-3": 95.0})
    assert [one.code for one in stopped.objections] == ["book.step.loss"]
    assert stocked.heat_state(plan.id, "H1") == "molten"
    answer = {f"{plan.id}/H1": "book_difference"}
    done = stocked.pour(plan.id, "H1", after={"H1-3": 95.0}, answers=answer)
    foreseen = planned_mg(plan, "H1 melt and pour")
    assert done.loss_mg == foreseen + planned_mg(plan, "H1-3") - 95_000
    [row] = stocked.losses()
    assert (row.operation, row.grade, row.loss_mg) == ("melt_and_pour", "stop", done.loss_mg)


def test_more_out_than_in_is_an_error_too(stocked, plan):
    stocked.accept(plan)
    stocked.charge(plan.id, "H1")
    stocked.molten(plan.id, "H1")
    stopped = stocked.pour(plan.id, "H1", after={"H1-3": 110.0})
    assert [one.code for one in stopped.objections] == ["book.step.gain"]


def test_remnants_come_back_as_lots_that_know_their_ancestors(after, plan):
    rest = f"{plan.id}/H1-2-a-rest"
    lots = {lot.id: lot for lot in after.lots()}
    assert round(1000 * lots[rest].mass_g) == planned_mg(plan, "H1-2-a-rest")
    charged = {line.body for line in plan.heats[0].charge.lines}
    before = max(lot.remelts for lot in plan.lots if lot.id in charged)
    assert lots[rest].remelts == before + 1
    behind = after.ancestors(rest)
    heat = f"{plan.id}/H1"
    assert set(behind[heat]) == charged
    assert rest in after.descendants("S14")
    assert rest not in after.descendants("G8")
    [reading] = after.readings(rest)
    assert reading.method == "own-melt-predicted"


def test_origin_is_frozen_at_the_pour_by_fine_mass(after, plan):
    """Against the plan, which worked its shares out from the same lots by itself."""
    told = dict(after.origin(f"{plan.id}/H1-3-a-rest").shares)
    planned = dict(plan.heats[0].origin.shares)
    assert set(told) == set(planned)
    assert all(told[name] == pytest.approx(planned[name], abs=2e-4) for name in told)


def test_an_assay_books_its_difference_on_all_that_is_left_of_the_heat(after, plan):
    bar = Account("shop", "store", f"{plan.id}/H1-2-a-rest")
    before = after.held(bar)
    reading = Reading("A1", f"{plan.id}/H1", "silver-volhard", {"Ag": 0.925})
    sealed = after.prove(plan.id, "H1", reading)
    now = after.held(bar)
    assert sealed
    assert now.gross_mg == before.gross_mg
    assert now.as_dict()["Ag"] == round(before.gross_mg * 925_000)
    assert after.heat_state(plan.id, "H1") == "proven"
    difference = after.held(Account("shop", "assay_difference", f"{plan.id}/H1"))
    assert difference.gross_mg == 0
    assert difference.as_dict()["Ag"] > 0
    assert after.audit().whole


def test_a_crack_makes_the_heat_and_all_its_relatives_suspect(after, plan):
    marked = after.mark_suspect(f"{plan.id}/H1-1-a")
    assert f"{plan.id}/H1" in marked
    assert f"{plan.id}/H1-3-a-rest" in marked
    assert f"{plan.id}/H3-1-a-rest" not in marked
    assert "S1" not in marked


def test_a_statement_closes(after, plan):
    told = after.statement("corvalho")
    topped_up = sum(m.holding.gross_mg for m in plan.balance.movements if m.step == "H2 top-up")
    assert told.opening_mg == 0
    assert told.closing_mg == sum(line.gross_mg for line in told.lines)
    kinds = [line.kind for line in told.lines]
    assert kinds == ["weigh_in", "top_up", "melt_and_pour", "mill", "mill"]
    assert told.lines[1].gross_mg == topped_up
    later = after.statement("corvalho", since="2031-10-10")
    assert (later.opening_mg, later.closing_mg, later.lines) == (told.closing_mg,) * 2 + ((),)


def test_the_names_of_a_customer_can_be_erased_from_the_plan_too(stocked, plan):
    stocked.accept(plan)
    head = stocked.head()
    key = stocked.erase_names("haldorsen")
    assert "haldorsen" not in str(stocked.plan(plan.id))
    assert stocked.plan(plan.id).heats[3].owner == key
    assert stocked.audit(head).whole


def test_a_lot_with_metal_is_not_withdrawn_and_a_reading_is(stocked, month):
    with pytest.raises(BadInput, match="a body that holds nothing"):
        stocked.withdraw("S1")
    stocked.withdraw(month.readings[0].id)
    assert [one.withdrawn for one in stocked.readings() if one.id == month.readings[0].id] == [True]


def test_a_composition_may_be_told_instead_of_believed(tmp_path, month):
    with open_book(tmp_path / "book", create=True) as book:
        lot = dataclasses.replace(month.lots[0], owner="ada")
        book.weigh_in([lot], owners={"ada": "Ada"}, compositions={lot.id: Composition.pure("Ag")})
        held = book.held(Account("ada", "store", lot.id))
        assert held.as_dict() == {"Ag": round(lot.mass_g * 1e9)}


def test_the_register_keeps_who_sold_what_and_forgets_the_name_when_told(stocked):
    line = stocked.enter_purchase("S5", "Orla Fenwick", "teapot, emptied, hallmark 1911")
    assert (line.gross_mg, stocked.purchases()) == (418_200, (line,))
    with pytest.raises(BadInput, match="not in the register yet"):
        stocked.enter_purchase("S5", "Orla Fenwick", "teapot")
    key = stocked.erase_names("Orla Fenwick")
    assert stocked.purchases()[0].seller == key


def test_a_dropped_plan_frees_what_it_held_and_another_may_have_it(stocked, plan):
    accepted = stocked.accept(plan)
    assert stocked.drop_plan(plan.id) == sum(accepted.reserved_mg.values())
    again = stocked.accept(dataclasses.replace(plan, id="again"))
    assert again.reserved_mg == accepted.reserved_mg


def test_a_top_up_beyond_its_consent_is_refused(stocked, plan):
    stocked.accept(plan)
    with pytest.raises(BadInput, match="at most 4 g by C2"):
        stocked.charge(plan.id, "H4", taken={"fine gold grain": 3.95})
    stocked.withdraw("C2")
    with pytest.raises(BadInput, match="a consent of haldorsen that holds"):
        stocked.charge(plan.id, "H4")
    assert stocked.heat_state(plan.id, "H4") == "planned"
    assert not stocked.balances("haldorsen", "process")


def moved(plan, step, source, to, mg):
    metal = Holding.of(mg, Composition.from_millesimal({"Ag": 925, "Cu": 75}))
    heap = type(plan.balance.movements[0].source)
    return Movement(step, heap(*source), heap(*to), metal)


def test_scrap_that_is_used_as_it_is_becomes_a_bar_of_its_lot(stocked, plan):
    """Only the whole bag is taken, as the plan does it; what it misses is asked about."""
    take = moved(
        plan, "take S2 as it is", ("shop", "lot", "S2"), ("shop", "bar", "S2 as it is"), 74_150
    )
    short = dataclasses.replace(
        plan, id="short", heats=(), balance=dataclasses.replace(plan.balance, movements=(take,))
    )
    stocked.accept(short)
    done = stocked.work("short", "take S2 as it is", after={"S2 as it is": 74.14})
    assert (done.loss_mg, done.bodies) == (10, ("short/S2 as it is",))
    assert stocked.ancestors(done.bodies[0])[done.bodies[0]] == ("S2",)
    assert stocked.origin(done.bodies[0]) == stocked.origin("S2")
    assert "S2" not in {lot.id for lot in stocked.lots()}


def test_each_of_several_consents_must_hold(stocked, plan):
    heats = tuple(heat for heat in plan.heats if heat.id == "H4")
    both = tuple(
        dataclasses.replace(m, consent="C1, C2" if m.consent else "")
        for m in plan.balance.movements
        if m.step in ("H4 top-up", "H4 melt and pour")
    )
    other = dataclasses.replace(
        plan, id="both", heats=heats, balance=dataclasses.replace(plan.balance, movements=both)
    )
    stocked.accept(other)
    stocked.withdraw("C1")
    with pytest.raises(BadInput, match="consent is 'C1'"):
        stocked.charge("both", "H4")


def test_clean_metal_without_end_is_bought_as_it_is_charged(tmp_path, month):
    """The plan takes 'as much as is needed'; nobody has to weigh it in before."""
    shop = month.workshop
    endless = ("fine silver grain", "copper")
    additions = [
        dataclasses.replace(one, stock_g=None) if one.id in endless else one
        for one in shop.additions
    ]
    given = dataclasses.replace(
        month, workshop=dataclasses.replace(shop, additions=tuple(additions))
    )
    plan = do(given)
    assert plan.balance.residual_mg == 0
    with open_book(tmp_path / "book", create=True, clock=clock) as book:
        fill(book, given)
        assert "copper" not in book.accept(plan).reserved_mg
        run(book, plan)
        wanted: dict[str, int] = {}
        for heat in plan.heats:
            for line in heat.charge.lines:
                wanted[line.body] = wanted.get(line.body, 0) + round(1000 * line.mass_g)
        bought = book.held(Account("shop", "outside", "bought"))
        assert -bought.gross_mg == sum(mg for body, mg in wanted.items() if body in endless)
        assert book.held(Account("shop", "store", "copper")).gross_mg == 0
        assert sum((h for h in book.balances().values()), Holding.nothing()) == Holding.nothing()
        assert book.audit().whole
