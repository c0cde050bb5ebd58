"""The first page: what each open order is made from, nearest first, and what the drawer does."""

from __future__ import annotations

import pytest

from lemel.book import open_book, plans_at_work
from lemel.web.drawer import drawer, fits, from_hand
from lemel.web.makeable import makeable


@pytest.fixture
def book(folder):
    return open_book(folder)


def _of(book, order):
    return next(one for one in makeable(book) if one.order == order)


def test_every_open_line_stands_on_the_page_once(book):
    told = sorted(wanted.line.id for one in makeable(book) for wanted in one.lines)
    assert told == sorted(one.line.id for one in book.bench.orders())
    assert len(told) == len(set(told))


def test_what_needs_no_melting_comes_first_and_what_is_not_met_last(book):
    hows = [one.how for one in makeable(book)]
    assert hows[0] == "stock"
    assert hows[-1] == "unmet"
    assert hows == sorted(hows, key=["stock", "heat", "unmet"].index)


def test_six_rings_of_one_bar_are_one_line(book):
    assert len(_of(book, "O1").lines) == 6


def test_a_heat_tells_its_tubs_and_is_believed_as_its_charge_says(book):
    one = _of(book, "O8")
    plan = book.plan(plans_at_work(book)[0])
    heat = next(heat for heat in plan.heats if heat.id == one.heat)
    assert dict(one.tubs) == {line.body: line.mass_g for line in heat.charge.lines}
    assert one.promise.least == 750
    assert one.promise.mean == pytest.approx(heat.charge.composition_mean.share("Au") * 1000)
    for tub, _ in one.tubs:
        assert tub in one.said


def test_the_line_follows_the_bench(book):
    plan = plans_at_work(book)[0]
    before = _of(book, "O8").minutes
    book.charge(plan, "H3")
    assert _of(book, "O8").how == "in_pot"
    book.molten(plan, "H3")
    book.pour(plan, "H3")
    poured = _of(book, "O8")
    assert poured.how == "bar"
    assert "H3-1" in poured.said
    assert poured.minutes < before
    book.work(plan, "mill H3-1")
    assert _of(book, "O8").how == "worked"
    book.work(plan, "cut H3-1-a")
    assert "O8" not in {one.order for one in makeable(book)}


def test_a_line_that_no_plan_has_is_looked_for_in_the_drawer(book):
    book.drop_plan(plans_at_work(book)[0])
    assert {one.how for one in makeable(book)} == {"no_plan"}
    found = from_hand(book)
    assert found["O11.1"].met_by == "stock"
    assert found["O2.1"] is None


def test_the_drawer_lies_by_weight_and_holds_what_has_a_section(book):
    bars = drawer(book)
    assert [bar.mass_g for bar in bars] == sorted(bar.mass_g for bar in bars)
    assert {bar.body for bar in bars} == {"sterling wire 1.0", "yellow 750 sheet"}


def test_the_smallest_that_does_stands_first(book):
    line = next(one.line for one in book.bench.orders() if one.line.id == "O6.1")
    tried = fits(book, line)
    assert [fit.does for fit in tried] == sorted((fit.does for fit in tried), reverse=True)
    assert tried[0].bar == "sterling wire 1.0"
    assert "4 passes" in tried[0].said
    assert not tried[1].does


def test_an_empty_book_says_where_to_begin(empty):
    from django.test import Client

    page = Client().get("/").content.decode()
    assert "No order is open" in page


def test_a_row_opens_downward_by_keyboard_and_nothing_pops_over(page, shop):
    page.goto("/")
    row = page.locator("details.row").first
    row.locator("summary").focus()
    page.keyboard.press("Enter")
    assert row.locator(".inside").is_visible()
    box, top = row.locator(".inside").bounding_box(), row.locator("summary").bounding_box()
    assert box["y"] >= top["y"] + top["height"] - 1


def test_the_drawer_and_its_answer_come_into_the_page(page, shop):
    page.goto("/")
    page.locator(".line", has_text="sterling wire 1.0").wait_for()
    row = page.locator("details.row", has_text="O6")
    row.first.locator("summary").click()
    row.first.get_by_role("link", name="What in the drawer does for O6.1?").click()
    page.get_by_text("From stock sterling wire 1.0").wait_for()
    assert page.url.endswith(":" + shop.url.rsplit(":", 1)[1] + "/")


def test_without_scripts_the_same_is_a_page_of_its_own(client):
    page = client.get("/does/O6.1/").content.decode()
    assert "<h1>" in page
    assert "sterling wire 1.0" in page
    part = client.get("/does/O6.1/", headers={"HX-Request": "true"}).content.decode()
    assert "<h1>" not in part
