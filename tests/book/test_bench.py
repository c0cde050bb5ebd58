"""The records of the bench: orders, tools, prices, rules, runs, places."""

from __future__ import annotations

import dataclasses
import shutil
from datetime import date, timedelta
from decimal import Decimal

import pytest

from lemel.book import open_book
from lemel.errors import BadInput
from lemel.values import (
    Crucible,
    Grooves,
    HouseRules,
    Lot,
    Section,
)

from .at_bench import STERLING, line, run_month
from .conftest import clock

PNG = b"\x89PNG\r\n\x1a\n" + bytes(64)
JPEG = b"\xff\xd8\xff\xe0" + bytes(64)
WEBP = b"RIFF\x10\x00\x00\x00WEBPVP8 " + bytes(64)


class TestOrders:
    def test_an_order_is_entered_changed_and_closed_and_nothing_is_lost(self, book):
        book.bench.enter_orders((line(),), by="bo")
        book.bench.enter_orders((line(count=3),), by="bo")
        [one] = book.bench.orders()
        assert (one.line, one.state, one.left) == (line(count=3), "open", 3)
        book.bench.close_order("O1.1", "met", by="bo")
        book.bench.close_order("O1.1", "met", by="bo")
        assert book.bench.orders() == ()
        [closed] = book.bench.orders(open_only=False)
        assert (closed.state, closed.left) == ("met", 0)
        assert len(book.filed_history("order", "O1.1")) == 3

    def test_a_closed_line_is_not_opened_again_nor_closed_otherwise(self, book):
        book.bench.enter_orders((line(),))
        book.bench.close_order("O1.1", "dropped")
        with pytest.raises(BadInput, match="a line that is open, or a new one"):
            book.bench.enter_orders((line(),))
        with pytest.raises(BadInput, match="It is dropped"):
            book.bench.close_order("O1.1", "met")
        with pytest.raises(BadInput, match="how"):
            book.bench.close_order("O1.1", "lost")

    def test_one_wrong_line_keeps_all_of_them_out(self, book):
        with pytest.raises(BadInput, match="nobody"):
            book.bench.enter_orders((line(), line("O2.1", owner="nobody")))
        assert book.bench.orders(open_only=False) == ()

    def test_a_customers_words_can_be_erased_and_the_order_stays(self, book):
        words = "for mother, born in May"
        book.bench.enter_orders((line(note=words),), customers={"O1": "Nell Ashby"})
        assert book.bench.orders()[0].customer == "Nell Ashby"
        key = book.erase_names("ada")
        [one] = book.bench.orders()
        assert (one.line.owner, one.line.note, one.customer) == (key, "", "")
        written = str(book.export())
        assert words not in written
        assert "Nell Ashby" not in written
        assert book.audit().whole


class TestTools:
    POT = Crucible("pot A", "silver", "graphite", 60.0, 200.0, melts_done=7, melts_most=50)

    def test_a_tool_that_is_retired_leaves_the_plan_but_not_the_book(self, book):
        book.bench.set_tool("crucible", self.POT, by="bo")
        book.bench.retire_tool("crucible", "pot A", "cracked at the lip", by="bo")
        assert book.bench.tools("crucible") == ()
        [row] = book.bench.tools("crucible", retired=True)
        assert row.retired_why == "cracked at the lip"
        assert row.tool.retired
        book.bench.set_tool("crucible", self.POT)
        assert book.bench.tools("crucible")[0].tool == self.POT

    def test_grooves_need_their_mill(self, book):
        with pytest.raises(BadInput, match=r"grooves\.G\.mill"):
            book.bench.set_tool("grooves", Grooves("G", "no such mill", (4.0,)))

    def test_plain_data_with_a_wrong_key_is_refused_by_name(self, book):
        with pytest.raises(BadInput, match="kerf"):
            book.bench.set_tool("saw", {"id": "S", "kerf": 0.3, "longest_mm": 100.0})
        assert book.bench.tools("saw") == ()

    def test_a_stick_and_inspections_are_kept(self, book):
        book.bench.set_tool("stick", {"id": "own stick", "for": "rings", "mark_10_mm": 50.1})
        book.bench.note_tool("stick", "own stick", "tip worn", by="bo")
        book.bench.note_tool("stick", "own stick", "tip filed true", by="cy")
        assert [n.note for n in book.bench.tool_notes("stick", "own stick")] == [
            "tip worn", "tip filed true",
        ]  # fmt: skip
        with pytest.raises(BadInput, match="none yet"):
            book.bench.note_tool("mill", "M", "rust")

    def test_a_pots_life_is_what_it_had_and_the_heats_since(self, taken, plan):
        before = {row.id: row.tool.melts_done for row in taken.bench.tools("crucible")}
        taken.accept(plan)
        run_month(taken, plan)
        after = {row.id: row.tool.melts_done for row in taken.bench.tools("crucible")}
        heats = [heat.pot for heat in plan.heats if heat.pot]
        assert heats
        assert {pot: after[pot] - before[pot] for pot in after} == {
            pot: heats.count(pot) for pot in after
        }
        [pot] = [r.tool for r in taken.bench.tools("crucible") if r.id == "graphite S"]
        taken.bench.set_tool("crucible", dataclasses.replace(pot, mass_g=338.0))
        [again] = [r.tool for r in taken.bench.tools("crucible") if r.id == "graphite S"]
        assert again.melts_done == pot.melts_done


class TestPricesAndRules:
    def test_the_latest_price_up_to_the_day_counts_and_none_is_overwritten(self, book):
        day = date(2031, 10, 1)
        book.bench.set_price("fine/Ag", "1.02", on=day, source="dealer", currency="QMK")
        book.bench.set_price("fine/Ag", "1.10", on=day + timedelta(7), source="dealer")
        book.bench.set_price("labour_per_h", "18", on=day)
        assert book.bench.prices(day - timedelta(1)) is None
        assert book.bench.prices(day).fine_per_g == {"Ag": Decimal("1.02")}
        assert book.bench.prices(day + timedelta(6)).fine_per_g == {"Ag": Decimal("1.02")}
        later = book.bench.prices(day + timedelta(30))
        assert (later.fine_per_g["Ag"], later.as_of) == (Decimal("1.10"), day + timedelta(7))
        assert later.labour_per_h == 18
        book.bench.set_price("fine/Ag", "1.03", on=day, source="mended")
        assert book.bench.prices(day).fine_per_g == {"Ag": Decimal("1.03")}
        assert book.bench.prices(day + timedelta(30)).fine_per_g == {"Ag": Decimal("1.10")}

    @pytest.mark.parametrize(
        ("what", "amount"),
        [("fine/Xx", "1"), ("gold", "1"), ("fine/Ag", "dear"), ("fine/Ag", "-1"),
         ("fine/Ag", "NaN"), ("scrap_paid/Ag", "88"), ("stock/UK Ag 925", "1")],
    )  # fmt: skip
    def test_a_price_that_is_none_is_refused(self, book, what, amount):
        with pytest.raises(BadInput):
            book.bench.set_price(what, amount, currency="QMK")
        assert book.bench.price_lines() == ()

    def test_all_prices_are_in_one_currency(self, book):
        with pytest.raises(BadInput, match="currency"):
            book.bench.set_price("fine/Ag", "1.02")
        book.bench.set_price("fine/Ag", "1.02", currency="QMK")
        with pytest.raises(BadInput, match="QMK"):
            book.bench.set_price("fine/Au", "84", currency="XYZ")

    def test_rules_stand_until_they_are_changed_and_wrong_ones_are_refused(self, book):
        assert book.bench.rules() == HouseRules()
        book.bench.set_rule("probability", 0.95, by="maribeth")
        book.bench.set_rule("allowances.melt", 0.004)
        book.bench.set_rule("allowances.saw", 0.002)
        rules = book.bench.rules()
        assert (rules.probability, rules.allowances) == (0.95, {"melt": 0.004, "saw": 0.002})
        for name, value in (
            ("probability", 1.5), ("course", "luck"), ("promise_per", "day"), ("colour", "red"),
            ("allowances.melt", 3), ("hold_limit_min", "long"), ("remelts_most", 2.5),
        ):  # fmt: skip
            with pytest.raises(BadInput):
                book.bench.set_rule(name, value)
        assert book.bench.rules() == rules

    def test_the_hold_is_the_houses_own_and_the_gates_follow(self, book, month):
        book.bench.enter_workshop(month.workshop)
        lot = Lot(
            "B1", "shop", "Ag", "jewellery", 10.0, scrap_class="maker_marked", stated=STERLING,
            received_on=date(2031, 10, 1),
        )  # fmt: skip
        book.weigh_in([lot])

        def held(day):
            codes = [one.code for one in book.bench.open_gates("B1", day)]
            return "scrap.gate.hold_period.yes" in codes

        assert held(date(2031, 10, 12))
        assert not held(date(2031, 10, 14))
        book.bench.set_rule("hold_days", 30)
        assert held(date(2031, 10, 14))
        book.bench.set_figure("scrap_figures", "hold_days", "value", None)
        assert not held(date(2031, 10, 14))
        with pytest.raises(BadInput, match="no such table"):
            book.bench.set_figure("no such table", "a", "b", 1)


class TestRuns:
    @pytest.fixture
    def rolling(self, tmp_path, poured_folder, plan):
        shutil.copytree(poured_folder, tmp_path / "poured")
        with open_book(tmp_path / "poured", clock=clock) as book:
            yield book, plan.id, "mill H1-3"

    def test_passes_come_in_order_and_twice_is_once(self, rolling):
        book, plan, step = rolling
        run = book.bench.begin_run(plan, step, by="bo")
        assert book.bench.begin_run(plan, step, by="cy") == run
        second = book.bench.tick_pass(run, 2, {"thickness_mm": 3.9}, by="bo")
        book.bench.tick_pass(run, 1, {"thickness_mm": 4.4, "width_mm": 39.5}, by="bo")
        assert book.bench.tick_pass(run, 2, {"thickness_mm": 3.9}, by="bo") == second
        [one] = book.bench.runs(plan, step)
        assert [(e.n, e.thickness_mm) for e in one.events] == [(1, 4.4), (2, 3.9)]
        with pytest.raises(BadInput, match="a number that is free"):
            book.bench.tick_pass(run, 2, {"thickness_mm": 3.5}, by="bo")
        book.bench.tick_pass(run, 2, {"thickness_mm": 3.5}, by="bo", mend=True)
        assert book.bench.runs(plan, step)[0].events[1].thickness_mm == 3.5

    def test_an_ended_run_takes_no_more_and_the_next_begins_anew(self, rolling):
        book, plan, step = rolling
        run = book.bench.begin_run(plan, step)
        book.bench.tick_crack(run, 1, place_mm=12.0, depth_mm=0.4, by="bo")
        book.bench.end_run(run, "a crack", by="bo")
        with pytest.raises(BadInput, match="not ended"):
            book.bench.tick_pass(run, 2)
        other = book.bench.begin_run(plan, step)
        assert other != run
        assert [one.ended for one in book.bench.runs(plan)] == ["a crack", ""]

    @pytest.mark.parametrize(
        ("n", "measured"),
        [(0, {}), (1, {"thickness_mm": -1.0}), (1, {"thick": 1.0}), (1.5, {}),
         (1, {"width_mm": float("nan")})],
    )  # fmt: skip
    def test_a_pass_that_cannot_be_is_refused(self, rolling, n, measured):
        book, plan, step = rolling
        run = book.bench.begin_run(plan, step)
        with pytest.raises(BadInput):
            book.bench.tick_pass(run, n, measured)
        assert book.bench.runs(plan, step)[0].events == ()

    def test_a_melt_is_no_working_run(self, rolling):
        book, plan, _ = rolling
        with pytest.raises(BadInput, match="a step that works a bar"):
            book.bench.begin_run(plan, "H1 melt and pour")

    def test_a_half_worked_bar_is_offered_as_it_really_is(self, rolling):
        book, plan, step = rolling
        run = book.bench.begin_run(plan, step)
        book.bench.tick_pass(run, 1, {"thickness_mm": 4.0, "width_mm": 39.6})
        book.bench.tick_anneal(run, 2)
        book.bench.tick_pass(run, 3, {"thickness_mm": 3.0, "width_mm": 40.0, "length_mm": 93.0})
        book.bench.tick_crack(run, 4, place_mm=5.0, depth_mm=0.3)
        [row] = [one for one in book.bench.stock() if one.body.endswith("/H1-3")]
        assert row.section == Section.flat(3.0, 40.0)
        assert (row.temper, row.length_mm, row.free_g) == ("worked", 93.0, 0.0)
        # ln(A_soft / A) by hand: 4.0 x 39.6 when it was soft, 3.0 x 40.0 now.
        assert row.strain == pytest.approx(0.27763, abs=1e-5)
        assert (row.faults[-1].kind, row.faults[-1].depth_mm) == ("crack", 0.3)
        book.drop_plan(plan)
        problem = book.bench.problem(date(2031, 10, 9))
        [bar] = [one for one in problem.workshop.stock if one.id.endswith("/H1-3")]
        assert (bar.kind, bar.anneals, bar.soft_section) == ("working", 1, Section.flat(4.0, 39.6))


class TestPlaces:
    def test_stock_lies_where_it_was_put(self, taken):
        taken.bench.set_place("sterling wire 1.0", "drawer 3", label="Ag 925, 1.0 mm", by="bo")
        row = next(one for one in taken.bench.stock() if one.body == "sterling wire 1.0")
        assert (row.place, row.label, row.temper) == ("drawer 3", "Ag 925, 1.0 mm", "soft")
        assert row.section == Section.round(1.0)
        with pytest.raises(BadInput, match="body"):
            taken.bench.set_place("no such bar", "drawer 3")

    def test_a_bar_put_by_for_the_pot_is_a_lot_and_no_stock(self, taken, month):
        taken.bench.set_place("sterling wire 1.0", "scrap tin", melt=True)
        asked = taken.bench.problem(month.workshop.as_of)
        assert "sterling wire 1.0" not in {bar.id for bar in asked.workshop.stock}
        [lot] = [one for one in asked.lots if one.id == "sterling wire 1.0"]
        assert (lot.form, lot.mass_g, lot.main) == ("wire", 64.3, "Ag")
        assert lot.stated.share("Ag") == pytest.approx(0.9255)
        row = next(one for one in taken.bench.stock() if one.body == "sterling wire 1.0")
        assert (row.melt, row.section) == (True, Section.round(1.0))

    def test_a_fault_on_record_lies_with_its_bar(self, done, plan):
        rest = f"{plan.id}/H1-3-a-rest"
        done.mishaps.fault(rest, "pits", place_mm=4.0, note="three, in a row")
        row = next(one for one in done.bench.stock() if one.body == rest)
        assert [(one.kind, one.place_mm) for one in row.faults][-1:] == [("pits", 4.0)]

    def test_a_remnant_is_stock_until_it_is_to_be_melted(self, done, plan):
        rest = f"{plan.id}/H1-3-a-rest"
        day = date(2031, 10, 9)

        def offered():
            problem = done.bench.problem(day)
            stock = {bar.id for bar in problem.workshop.stock}
            return rest in stock, rest in {lot.id for lot in problem.lots}

        assert offered() == (True, False)
        done.bench.set_place(rest, "scrap tin", melt=True)
        assert offered() == (False, True)
        done.bench.set_place(rest, "drawer 1")
        assert offered() == (False, True)
        done.bench.set_place(rest, "drawer 1", melt=False)
        assert offered() == (True, False)
