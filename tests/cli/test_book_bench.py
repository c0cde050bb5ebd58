"""`lemel book` speaks of the bench's records, and plans from the book."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys

import pytest

from lemel.book import open_book
from lemel.demo import quillmarsh
from lemel.files import read_plan

DAY = ("--on", "2026-10-02")


@pytest.fixture(scope="module")
def begun(tmp_path_factory):
    folder = tmp_path_factory.mktemp("bench") / "book"
    with open_book(folder, create=True) as book:
        book.bench.take_in(read_plan(quillmarsh()))
    return folder


@pytest.fixture(scope="module")
def accepted(tmp_path_factory, begun):
    """The same with its plan accepted by the command itself, in a process of its own."""
    folder = tmp_path_factory.mktemp("accepted") / "book"
    shutil.copytree(begun, folder)
    words = [sys.executable, "-c", "from lemel.cli import main; main()", "book", "accept", *DAY]
    done = subprocess.run([*words, "--book", folder, "--json"], capture_output=True, check=True)
    return folder, json.loads(done.stdout)


def _speaking(lemel, folder):
    return lambda *words: lemel("book", *words, "--book", folder, "--json")


@pytest.fixture
def shop(tmp_path, begun, lemel):
    """`shop(...)` is `lemel book ... --json` on a copy of the month's book."""
    shutil.copytree(begun, tmp_path / "book")
    return _speaking(lemel, tmp_path / "book")


@pytest.fixture
def planned(tmp_path, accepted, lemel):
    """The same on a copy of the book in which the plan is accepted."""
    shutil.copytree(accepted[0], tmp_path / "planned")
    return _speaking(lemel, tmp_path / "planned")


def test_init_takes_in_the_whole_month_and_again_nothing(tmp_path, lemel):
    folder = ("--book", tmp_path / "new", "--json")
    first = lemel("book", "begin", quillmarsh(), *folder)
    again = lemel("book", "begin", quillmarsh(), *folder)
    assert (first.code, first.data["differs"]) == (0, {})
    assert again.data == first.data
    assert len(lemel("book", "orders", *folder).data["orders"]) == 18


def test_what_is_accepted_is_the_plan_that_was_shown(shop, accepted):
    shown = shop("plan", *DAY)
    folder, told = accepted
    with open_book(folder) as book:
        kept = book.plan(told["plan"])
    assert (shown.code, shown.data["verb"]) == (0, "book plan")
    assert shown.data["provenance"]["inputs"] == kept.made_from.inputs
    assert {one["line"]: one["met_by"] for one in shown.data["lines"]} == {
        one.line: one.met_by for one in kept.lines
    }


def test_an_accepted_plan_leaves_only_what_it_does_not_meet(planned):
    shop = planned
    states = {one["line"]["id"]: one["state"] for one in shop("orders").data["orders"]}
    assert states.pop("O4.1") == "open"
    assert set(states.values()) == {"planned"}
    closed = shop("close", "O4.1", "dropped", "--by", "bo")
    assert (closed.code, closed.data["state"]) == (0, "dropped")
    assert "O4.1" not in {one["line"]["id"] for one in shop("orders").data["orders"]}
    assert "O4.1" in {one["line"]["id"] for one in shop("orders", "--all").data["orders"]}


def test_a_file_and_a_wish_do_not_go_together(shop):
    both = shop("accept", quillmarsh(), *DAY)
    assert (both.code, both.data["error"]["field"]) == (2, "FILE")


def test_a_gate_ends_with_3_until_it_is_answered(shop):
    asked = shop("look", "S3", *DAY)
    assert (asked.code, asked.data["may_melt"]) == (3, False)
    assert any("germanium" in one["text"] for one in asked.data["open"])
    answered = shop("look", "S3", "germanium", "no", "--seen", "certificate", *DAY)
    assert (answered.code, answered.data["may_melt"]) == (0, True)
    assert answered.data["answers"][0]["seen"] == "certificate"
    wrong = shop("look", "S3", "germanium", "maybe", "--seen", "x")
    assert (wrong.code, wrong.data["error"]["field"]) == (2, "answer")


def test_a_picture_is_kept_and_another_file_is_not(shop, tmp_path):
    picture, words = tmp_path / "mark.png", tmp_path / "mark.txt"
    picture.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(32))
    words.write_text("a lion")
    kept = shop("photo", "S7", picture, "--taken", "2026-10-01")
    assert [one["taken_on"] for one in kept.data["photos"]] == ["2026-10-01"]
    assert shop("photo", "S7", words).code == 2
    assert shop("photo", "S7", tmp_path / "none.png").data["error"]["field"] == "FILE"
    assert len(shop("photo", "S7").data["photos"]) == 1


def test_prices_and_rules_are_shown_and_set(shop):
    dearer = shop("price", "fine/Ag", "1.10", "--on", "2026-10-09", "--source", "dealer")
    assert {"what": "fine/Ag", "amount": "1.10", "on": "2026-10-09", "source": "dealer"} in (
        dearer.data["prices"]
    )
    before = {one["what"]: one["amount"] for one in shop("price", *DAY).data["prices"]}
    assert before["fine/Ag"] == "1.02"
    assert shop("rule", "probability", "0.95").data["rules"]["probability"] == 0.95
    assert shop("rule", "hold_days", "21").data["figures"]["scrap_figures"]["hold_days"] == {
        "value": 21
    }
    assert shop("rule", "luck", "1").code == 2


def test_tools_have_a_life_and_an_end(shop):
    pots = {one["id"]: one["tool"]["melts_done"] for one in shop("tools", "crucible").data["tools"]}
    assert pots["graphite S"] == 31
    assert shop("retire", "crucible", "graphite S", "--why", "cracked").code == 0
    assert "graphite S" not in {one["id"] for one in shop("tools", "crucible").data["tools"]}
    assert shop("retire", "crucible", "graphite S", "--why", "cracked").code == 2
    assert shop("tools", "spoon").data["error"]["field"] == "kind"


def test_a_pass_may_be_sent_twice(planned, accepted):
    shop, plan = planned, accepted[1]["plan"]
    words = ("run", plan, "mill H1-1", "1", "--thickness", "5.4", "--by", "bo")
    first = shop(*words)
    assert shop(*words).data == first.data
    [run] = first.data["runs"]
    assert [(one["n"], one["thickness_mm"]) for one in run["events"]] == [(1, 5.4)]
    assert shop("run", plan, "mill H1-1", "1", "--thickness", "5.3").code == 2
    done = shop("run", plan, "mill H1-1", "2", "--anneal", "--end", "done")
    assert done.data["runs"][0]["ended"] == "done"
    assert shop("run", plan, "mill H1-1", "1.5").data["error"]["field"] == "N"


def test_stock_lies_where_it_was_put(shop):
    assert shop("place", "sterling wire 1.0", "drawer 3", "--melt").code == 0
    rows = {one["body"]: one for one in shop("stock").data["stock"]}
    assert rows["sterling wire 1.0"]["place"] == "drawer 3"
    assert rows["sterling wire 1.0"]["melt"] is True


@pytest.mark.parametrize(
    "words",
    [("orders",), ("tools",), ("look", "S3"), ("price",), ("rule",), ("stock",), ("photo", "S3")],
)
def test_each_word_prints_for_people_too(tmp_path, begun, lemel, words):
    heard = lemel("book", *words, "--book", begun)
    assert heard.code in (0, 3)
    assert heard.out.strip()
    assert heard.err == ""


def test_a_day_that_is_none_is_bad_input(shop):
    wrong = shop("look", "S3", "--on", "2026-13-01")
    assert (wrong.code, wrong.data["error"]["field"]) == (2, "--on")
