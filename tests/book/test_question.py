"""What the plan asks of the book: what is there, free and known, and what is wanted."""

from __future__ import annotations

import dataclasses
from datetime import date

import pytest

from lemel.book import Account, Line
from lemel.errors import BadInput
from lemel.plan import PlanOptions, do
from lemel.values import (
    Consent,
    Holding,
    Reading,
)

from .at_bench import STERLING, run_month, spoons


class TestTheQuestion:
    def test_a_month_taken_in_asks_the_same_question_and_gives_the_same_plan(
        self, taken, month, plan
    ):
        asked = taken.bench.problem(month.workshop.as_of, options=month.options)
        assert asked == month
        assert do(asked).made_from == plan.made_from

    def test_taking_it_in_twice_is_once(self, taken, month):
        before = taken.export()
        again = taken.bench.take_in(month, source="quotations", by="maribeth")
        assert (again.entries, again.differs) == (0, {})
        assert taken.export() == before

    def test_a_book_that_reads_otherwise_says_where(self, taken, month):
        taken.bench.answer_gate("S3", "germanium", "no", seen="certificate")
        taken.bench.retire_tool("saw", "piercing saw", "stolen")
        lots = (*month.lots[1:], dataclasses.replace(month.lots[0], id="S99", mass_g=1.2345))
        other = dataclasses.replace(month, lots=lots, readings=())
        differs = taken.bench.take_in(other).differs
        assert differs["lots S3"] == "flags"
        assert differs["lots S1"] == "in the book, not in the files"
        assert differs["lots S99"] == "mass_g"
        assert "saws piercing saw" not in differs

    def test_a_month_with_one_wrong_lot_leaves_nothing_behind(self, book, month):
        before = book.export()
        lots = (*month.lots, dataclasses.replace(month.lots[0], note="another"))
        with pytest.raises(BadInput):
            book.bench.take_in(dataclasses.replace(month, lots=lots))
        assert book.export() == before

    def test_what_is_promised_or_made_is_not_asked_for_again(self, taken, month, plan):
        taken.accept(plan)
        day = month.workshop.as_of
        unmet = {one.line for one in plan.unmet}
        bought = {one.line for one in plan.lines if one.met_by == "buy"}
        asked = taken.bench.problem(day)
        assert {one.id for one in asked.orders} == unmet | bought
        left = {lot.id: round(1000 * lot.mass_g) for lot in asked.lots}
        charged: dict[str, int] = {}
        for heat in plan.heats:
            for x in heat.charge.lines:
                charged[x.body] = charged.get(x.body, 0) + round(1000 * x.mass_g)
        for lot in month.lots:
            want = round(1000 * lot.mass_g) - charged.get(lot.id, 0)
            assert left.get(lot.id, 0) == want
        run_month(taken, plan)
        after = taken.bench.problem(day)
        assert {one.id for one in after.orders} == unmet | bought
        assert {x.id: round(1000 * x.mass_g) for x in after.lots}.items() >= left.items()

    def test_nothing_is_offered_twice_and_nothing_is_left_out(self, taken, plan, month):
        """Every milligram in the store is a lot, an addition or a bar of the question."""
        taken.accept(plan)
        run_month(taken, plan)
        asked = taken.bench.problem(month.workshop.as_of)
        offered = [(x.id, x.mass_g) for x in (*asked.lots, *asked.workshop.stock)]
        offered += [(x.id, x.stock_g) for x in asked.workshop.additions]
        assert len({name for name, _ in offered}) == len(offered)
        in_store = sum(h.gross_mg for h in taken.balances(place="store").values())
        assert sum(round(1000 * g) for _, g in offered) == in_store

    def test_a_second_month_is_planned_and_done_from_what_the_first_left(self, taken, plan):
        taken.accept(plan)
        run_month(taken, plan)
        lines = [
            dataclasses.replace(one, id=f"N{one.id}", order=f"N{one.order}", due_on=None)
            for one in plan.asked
            if one.order in ("O1", "O6")
        ]
        taken.bench.enter_orders(lines)
        names = [one.id for one in lines]
        second = do(taken.bench.problem(date(2031, 11, 2), lines=names, seed=3))
        assert second.made_from.seed == 3
        assert [one.line for one in second.lines if one.met_by == "unmet"] == []
        taken.accept(second)
        run_month(taken, second)
        assert taken.audit().whole
        states = {one.line.id: one.state for one in taken.bench.orders(open_only=False)}
        assert {states[name] for name in names} == {"made"}

    def test_a_dropped_plan_promises_nothing(self, taken, plan, month):
        taken.accept(plan)
        taken.drop_plan(plan.id)
        asked = taken.bench.problem(month.workshop.as_of, options=month.options)
        assert asked == month

    def test_a_consent_is_less_by_what_was_taken_on_it(self, taken, plan, month):
        limits = {c.id: c.limit_g for c in month.workshop.consents}
        topped = {}
        for movement in plan.balance.movements:
            if movement.step.endswith("top-up"):
                name = movement.consent
                topped[name] = topped.get(name, 0) + movement.holding.gross_mg
        assert topped
        taken.accept(plan)
        for _ in range(2):
            left = {c.id: c.limit_g for c in taken.bench.workshop().consents}
            for name, mg in topped.items():
                assert round(1000 * left[name]) == round(1000 * limits[name]) - mg
            if not taken.steps(plan.id)[-1].done:
                run_month(taken, plan)

    def test_consent_to_melt_reaches_what_came_of_it(self, done, plan, month):
        heat = next(h for h in plan.heats if h.owner == "corvalho")
        feeder = f"{plan.id}/{heat.bars[0]}-feeder"
        [lot] = [x for x in done.bench.problem(month.workshop.as_of).lots if x.id == feeder]
        assert lot.owner == "corvalho"
        codes = [o.code for o in done.bench.open_gates(feeder, month.workshop.as_of)]
        assert not [code for code in codes if "consent" in code]

    def test_an_assayed_heat_speaks_for_its_remnants(self, done, plan):
        heat = plan.heats[0]
        reading = Reading("A1", f"{plan.id}/{heat.id}", "silver-iso-11427", {"Ag": 0.9262})
        done.prove(plan.id, heat.id, reading)
        asked = done.bench.problem(date(2031, 10, 9))
        feeder = f"{plan.id}/{heat.bars[0]}-feeder"
        proven = [x for x in asked.readings if x.on == feeder and x.method == "own-melt-proven"]
        assert [x.values for x in proven] == [{"Ag": 0.9262}]
        [bar] = [x for x in asked.workshop.stock if x.id == f"{plan.id}/H1-3-a-rest"]
        assert bar.body.share("Ag") == pytest.approx(0.9262, abs=1e-6)
        assert bar.promise_met

    def test_a_promise_that_the_assay_broke_is_not_handed_on(self, done, plan):
        low = Reading("A1", f"{plan.id}/H1", "silver-iso-11427", {"Ag": 0.9212})
        done.prove(plan.id, "H1", low)
        [bar] = [
            x
            for x in done.bench.problem(date(2031, 10, 9)).workshop.stock
            if x.id == f"{plan.id}/H1-3-a-rest"
        ]
        assert bar.promise_met is None

    def test_a_heat_that_is_marked_lower_hands_on_no_more_than_that(self, done, plan):
        done.file("promise", f"{plan.id}/H1", {"standard": "UK Ag 800"})
        stock = {x.id: x for x in done.bench.problem(date(2031, 10, 9)).workshop.stock}
        assert stock[f"{plan.id}/H1-3-a-rest"].promise_met == "UK Ag 800"
        assert stock[f"{plan.id}/H3-1-a-rest"].promise_met == "UK Au 750"

    def test_a_suspect_lot_is_barred_with_its_reason(self, done, plan):
        done.mark_suspect(f"{plan.id}/H1-3-end1")
        asked = done.bench.problem(date(2031, 10, 9))
        barred = {lot.id for lot in asked.lots if "suspect" in lot.barred}
        assert f"{plan.id}/H1-1-feeder" in barred
        assert "S3" not in barred
        suspect = {bar.id for bar in asked.workshop.stock if bar.suspect}
        assert f"{plan.id}/H1-3-a-rest" in suspect

    def test_an_empty_book_says_what_it_lacks(self, book):
        with pytest.raises(BadInput, match="workshop"):
            book.bench.problem()
        book.bench.enter_workshop(_workshop(), by="bo")
        with pytest.raises(BadInput, match="lines"):
            book.bench.problem(lines=["O9"])

    def test_a_running_book_takes_metal_that_no_file_knew(self, book):
        book.bench.enter_workshop(_workshop())
        metal = Holding.of(5_000, STERLING)
        book.weigh_in([spoons(flags={"magnet": "no"})], consents=[
            Consent("C1", "ada", "destroy", date(2031, 1, 1), about=("L1",))
        ])  # fmt: skip
        book.post("scrap", [
            Line(Account("ada", "store", "L1"), -metal), Line(Account("ada", "scrap", "tin"), metal)
        ])  # fmt: skip
        asked = book.bench.problem(date(2031, 10, 9), options=PlanOptions(7))
        assert [(x.id, x.mass_g) for x in asked.lots] == [("L1", 95.0)]
        assert asked.options.seed == 7


def _workshop():
    from lemel.values import Workshop

    return Workshop("w", "A bench", "shop", {"shop": "The bench", "ada": "Ada"}, date(2031, 1, 1))


def test_an_order_for_a_bag_that_is_used_up_asks_for_what_came_of_it_and_plans_go_on(book, month):
    book.bench.take_in(month)
    line = next(one for one in month.orders if one.use_lots == ("G8",))
    first = do(book.bench.problem(month.workshop.as_of, lines=[line.id]))
    [heat] = first.heats
    book.accept(first)
    book.charge(first.id, heat.id)
    book.molten(first.id, heat.id)
    book.pour(first.id, heat.id)
    book.drop_plan(first.id)
    asked = book.bench.problem(month.workshop.as_of, lines=[line.id])
    [again] = asked.orders
    assert again.use_lots
    assert all(name.startswith(first.id) for name in again.use_lots)
    assert [one.line for one in do(asked).lines] == [line.id]
