"""The month's job by hand in a browser, from the bag on the counter to the audit of the book."""

from __future__ import annotations

import pytest

from lemel.book import open_book, plans_at_work
from tests.web.journey import bench, counter, desk, fire, papers
from tests.web.journey.keyboard import Keys

PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 900}
#: What a browser says by itself of a connection that is gone.
CUT = ("ERR_INTERNET_DISCONNECTED", "Failed to fetch")
#: The heat with top-ups, and its plate that comes out short and cracks.
HEAT, BAR = "H1", "H1-3"


@pytest.fixture
def book(shop):
    return open_book(shop.folder)


@pytest.fixture
def phone(open_page):
    page = open_page(viewport=PHONE, has_touch=True)
    page.allowed += CUT
    page.clock.install()
    return page


def _counter(page, book):
    """Weighed in, read, answered, photographed, receipted."""
    bag = counter.weigh_in(page)
    said = counter.receipt(page, bag)
    assert bag in said
    assert "46.200" in said
    assert "Leif Tannock" in said
    counter.read(page, bag)
    counter.answer_all(page, bag)
    counter.photograph(page, bag)
    assert "Nothing stands in the way" in page.locator("#may + p").inner_text()
    assert len(book.bench.photos(bag)) >= 1
    return bag


def _desk(page, bag):
    """Planned, stopped, planned again, planned with wishes, compared, accepted."""
    desk.drop_accepted(page)
    desk.ask(page)
    desk.seen_to_begin(page)
    desk.stop(page)
    desk.ask(page)
    plain = desk.made(page)
    desk.ask(page, first=bag, out="S20")
    wished = desk.made(page)
    desk.compare(page, plain)
    assert f"used first: {bag} here, nothing there" in page.locator("main").inner_text()
    assert "left out: S20 here, nothing there" in page.locator("main").inner_text()
    page.goto(f"/orders/plan/{wished}/")
    return desk.accept(page)


def _fire(phone, book, plan):
    """From the rehearsal to the closed heat, the connection gone from the first top-up on."""
    fire.rehearse(phone, plan, HEAT)
    fire.charge(phone, off_g=2.0)
    assert book.heat_state(plan, HEAT) == "charged"
    fire.light_up(phone)
    before = fire.ticked(book, plan, HEAT)
    kept = fire.run_without_network(phone)
    assert fire.ticked(book, plan, HEAT) == before
    fire.network_is_back(phone)
    assert len(fire.ticked(book, plan, HEAT)) == len(before) + kept
    fire.pour_all(phone)
    fire.cool_down(phone)
    # Each step once, in its order, though some were sent late.
    assert fire.ticked(book, plan, HEAT) == fire.steps(book, plan, HEAT)
    fire.weigh_out(phone, BAR, short_g=4.0)
    fire.replan_from_real(phone, BAR)
    fire.sign_off(phone, plan, HEAT)
    assert book.heat_state(plan, HEAT) == "closed"


def _bench(page, book, plan):
    """Milled with a gauge, cracked, milled on, cut, a piece into the drawer."""
    bench.open_step(page, f"mill {BAR}")
    assert bench.passes(page, 4, thicker_mm=0.02) == 4
    bench.crack(page)
    assert bench.passes(page, 99) > 4
    [run] = book.bench.runs(plan, f"mill {BAR}")
    assert [one.what for one in run.events].count("crack") == 1
    bench.weigh(page, {f"{BAR}-a": "88.00", f"{BAR}-end1": "11.00"})
    page.get_by_role("link", name=f"cut {BAR}-a").click()
    page.get_by_role("heading", name="Cut, then weigh").wait_for()
    # What was cut off for the crack leaves room for eleven of the twelve.
    bench.weigh(page, {"O3.1/12": "0", f"{BAR}-a-scrap": "29.75"})
    page.get_by_role("heading", name="Into the drawer").wait_for()
    bench.into_the_drawer(page, f"{plan}/O3.1/1", "tray 4")


def _papers(page, plan, bag):
    """Cards, labels, the statement as a page and on paper."""
    assert plan in papers.cards(page, plan)
    said = papers.labels(page, [bag, f"{plan}/O3.1/1"])
    assert bag in said
    assert "4.46 g" in said
    shown, printed = papers.statement(page, "shop", "Quillmarsh Bench")
    closing = next(one for one in shown.splitlines() if one.startswith("Closing"))
    grams = closing.split("\t")[1].removesuffix(" g").replace("\u202f", "").replace(" ", "")
    assert grams in printed
    # The bag that weighed less than the book said stands as a line of its own.
    assert "-2.000" in shown


def test_the_whole_job_by_hand_and_the_book_is_whole_at_its_end(page, phone, book):
    # The browser's own viewer of papers, which is a page of its own inside the browser.
    page.allowed += ["chrome-extension://", "chrome://resources/"]
    bag = _counter(page, book)
    plan = _desk(page, bag)
    assert plans_at_work(book) == (plan,)
    _fire(phone, book, plan)
    _bench(page, book, plan)
    _papers(page, plan, bag)
    assert papers.audit(page).startswith("Whole:")
    assert book.audit().faults == ()
    assert sum(one.gross_mg for one in book.balances().values()) == 0


def test_the_keyboard_alone_weighs_in_plans_charges_and_pours(open_page, book):
    page = open_page(viewport=DESK, locale="en-GB")
    page.clock.install()
    keys = Keys(page)
    bag = keys.weigh_in()
    assert bag in {lot.id for lot in book.lots()}
    keys.plan_and_accept()
    [plan] = plans_at_work(book)
    heat = "H5"
    keys.rehearse(plan, heat)
    keys.charge()
    assert book.heat_state(plan, heat) == "charged"
    keys.run_to_the_pour()
    keys.pour()
    assert book.heat_state(plan, heat) == "molten"
    assert fire.ticked(book, plan, heat)[-1] == "pour-1"
