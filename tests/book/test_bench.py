"""The bench's records: orders, tools, prices, rules, gates, photographs, runs, and the question
that the plan asks of the book."""

from __future__ import annotations

import dataclasses
import hashlib
import shutil
from datetime import date, timedelta
from decimal import Decimal

import pytest

from lemel.book import Account, Line, open_book
from lemel.errors import BadInput
from lemel.plan import PlanOptions, do
from lemel.values import (
    Composition,
    Consent,
    Crucible,
    Grooves,
    Holding,
    HouseRules,
    Lot,
    OrderLine,
    Reading,
    Section,
)

from .conftest import clock

PNG = b"\x89PNG\r\n\x1a\n" + bytes(64)
JPEG = b"\xff\xd8\xff\xe0" + bytes(64)
WEBP = b"RIFF\x10\x00\x00\x00WEBPVP8 " + bytes(64)
STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})


def line(name="O1.1", owner="ada", count=1, **more):
    sizes = {"size": "ISO 54", "width_mm": 4.0, "thickness_mm": 1.5}
    return OrderLine(name, name.split(".")[0], owner, "ring", count, sizes, "UK Ag 925", **more)


def spoons(name="L1", **more):
    more = {"stated": STERLING, "received_on": date(2031, 1, 1), **more}
    return Lot(name, "ada", "Ag", "hollowware", 100.0, scrap_class="flatware", **more)


@pytest.fixture(scope="module")
def taken_folder(tmp_path_factory, month):
    folder = tmp_path_factory.mktemp("taken") / "book"
    with open_book(folder, create=True, clock=clock) as book:
        book.bench.take_in(month, source="quotations", by="maribeth")
    return folder


@pytest.fixture(scope="module")
def done_folder(tmp_path_factory, taken_folder, plan):
    folder = tmp_path_factory.mktemp("done") / "book"
    shutil.copytree(taken_folder, folder)
    with open_book(folder, clock=clock) as book:
        book.accept(plan)
        run_month(book, plan)
    return folder


@pytest.fixture(scope="module")
def poured_folder(tmp_path_factory, taken_folder, plan):
    folder = tmp_path_factory.mktemp("poured") / "book"
    shutil.copytree(taken_folder, folder)
    with open_book(folder, clock=clock) as book:
        book.accept(plan)
        run_month(book, plan, stop_before="mill H1-3")
    return folder


@pytest.fixture
def taken(tmp_path, taken_folder):
    """A book that has taken in the month's files."""
    shutil.copytree(taken_folder, tmp_path / "taken")
    with open_book(tmp_path / "taken", clock=clock) as book:
        yield book


@pytest.fixture
def done(tmp_path, done_folder):
    """The same after its plan was accepted and every step done."""
    shutil.copytree(done_folder, tmp_path / "done")
    with open_book(tmp_path / "done", clock=clock) as book:
        yield book


def run_month(book, plan, stop_before=None):
    for step in book.steps(plan.id):
        if step.name == stop_before:
            return
        if step.kind == "melt_and_pour":
            heat = step.about.split("/")[-1]
            assert book.charge(plan.id, heat).entry
            book.molten(plan.id, heat)
            assert book.pour(plan.id, heat).entry
        elif step.kind != "top_up":
            assert book.work(plan.id, step.name).entry


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


class TestGates:
    def test_the_newest_answer_shows_and_the_earlier_ones_stay(self, book):
        book.weigh_in([spoons(flags={"magnet": "unknown"})])
        book.bench.answer_gate("L1", "magnet", "yes", seen="a steel pin pulls", by="bo")
        book.bench.answer_gate("L1", "magnet", "no", seen="pin is out", by="cy")
        assert book.lots()[0].flags["magnet"] == "no"
        assert [(a.answer, a.by) for a in book.bench.gate_answers("L1")] == [
            ("yes", "bo"), ("no", "cy"),
        ]  # fmt: skip

    def test_an_answer_says_what_was_seen_and_only_to_what_is_asked(self, book):
        book.weigh_in([spoons()])
        for gate, answer, seen in (
            ("magnet", "no", " "), ("magnet", "perhaps", "x"), ("luck", "no", "x"),
            ("consent_destroy", "no", "she said so"), ("hold_period", "no", "long ago"),
            ("remelt_count", "no", "x"),
        ):  # fmt: skip
            with pytest.raises(BadInput):
                book.bench.answer_gate("L1", gate, answer, seen=seen)
        assert book.bench.gate_answers("L1") == ()

    def test_what_is_open_ends_when_it_is_answered(self, book, month):
        book.bench.enter_workshop(month.workshop)
        lot = Lot(
            "S", "shop", "Ag", "jewellery", 30.0, scrap_class="maker_marked", stated=STERLING,
            received_on=date(2031, 1, 1),
        )  # fmt: skip
        book.weigh_in([lot])
        asked = {one.code.split(".")[2] for one in book.bench.open_gates("S")}
        assert "magnet" in asked
        for gate in asked - {"unknown_alloy"}:
            book.bench.answer_gate("S", gate, "no", seen="looked at under the lamp")
        assert book.bench.open_gates("S") == ()

    def test_a_trouble_found_after_the_plan_stops_the_charge_and_nothing_is_written(
        self, taken, plan
    ):
        taken.accept(plan)
        lot = next(x.body for x in plan.heats[0].charge.lines if x.kind == "lot")
        taken.bench.answer_gate(lot, "magnet", "yes", seen="filings jump to the magnet", by="cy")
        entries = taken.head()
        stopped = taken.charge(plan.id, plan.heats[0].id)
        assert stopped.entry is None
        assert [one.code for one in stopped.objections] == ["scrap.gate.magnet.yes"]
        assert taken.head() == entries
        taken.bench.answer_gate(lot, "magnet", "no", seen="sorted again", by="cy")
        assert taken.charge(plan.id, plan.heats[0].id).entry

    def test_a_mark_is_photographed_before_the_pot(self, taken, plan):
        taken.accept(plan)
        lot = next(x.body for x in plan.heats[0].charge.lines if x.kind == "lot")
        taken.bench.answer_gate(lot, "marks_unrecorded", "yes", seen="a lion and a date letter")
        stopped = taken.charge(plan.id, plan.heats[0].id)
        assert [one.code for one in stopped.objections] == ["scrap.gate.marks_unrecorded.yes"]
        taken.bench.keep_photo(lot, PNG, of="whole")
        assert taken.charge(plan.id, plan.heats[0].id).entry is None
        taken.bench.keep_photo(lot, JPEG, of="mark", by="bo")
        assert taken.charge(plan.id, plan.heats[0].id).entry
        assert taken.bench.gate_answers(lot)[-1].answer == "no"


class TestPhotographs:
    @pytest.mark.parametrize(
        ("data", "media"), [(PNG, "image/png"), (JPEG, "image/jpeg"), (WEBP, "image/webp")]
    )
    def test_a_picture_is_kept_by_its_digest_and_read_back(self, book, data, media):
        book.weigh_in([spoons()])
        kept = book.bench.keep_photo("L1", data, taken_on=date(2031, 10, 8), by="bo")
        assert kept.digest == hashlib.sha256(data).hexdigest()
        assert (book.folder / kept.file).read_bytes() == data
        assert book.bench.photo(kept.digest) == (data, media)
        assert book.bench.keep_photo("L1", data, taken_on=date(2031, 10, 8), by="bo") == kept
        assert book.bench.photos("L1") == (kept,)

    @pytest.mark.parametrize("data", [b"", b"GIF89a....", b"<svg/>", PNG + bytes(12 << 20)])
    def test_what_is_no_picture_or_too_large_is_refused_and_leaves_no_file(self, book, data):
        book.weigh_in([spoons()])
        with pytest.raises(BadInput, match="photo"):
            book.bench.keep_photo("L1", data)
        assert list((book.folder / "photos").iterdir()) == []
        with pytest.raises(BadInput, match="about"):
            book.bench.keep_photo("L9", PNG)

    def test_the_audit_misses_a_picture_that_is_gone_or_changed(self, book):
        book.weigh_in([spoons()])
        kept = book.bench.keep_photo("L1", PNG)
        assert book.audit().whole
        (book.folder / kept.file).write_bytes(PNG[:-1])
        [fault] = book.audit().faults
        assert (fault.code, fault.about) == ("book.audit.photo_changed", "L1")
        (book.folder / kept.file).unlink()
        [fault] = book.audit().faults
        assert fault.code == "book.audit.photo_missing"
        with pytest.raises(BadInput, match="audit"):
            book.bench.photo(kept.digest)

    def test_a_backup_brings_the_pictures_and_an_export_does_without(self, book, tmp_path):
        from lemel.book import restore

        book.weigh_in([spoons()])
        kept = book.bench.keep_photo("L1", PNG)
        zipped, _ = book.backup()
        assert restore(zipped, tmp_path / "restored").whole
        with open_book(tmp_path / "restored") as other:
            assert other.bench.photo(kept.digest)[0] == PNG
        with open_book(tmp_path / "imported", create=True) as other:
            assert other.read_in(book.export()).whole
            assert [f.code for f in other.audit().faults] == ["book.audit.photo_missing"]


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
