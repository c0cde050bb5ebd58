"""On the phone at the fire and at the mill: the connection breaks, nothing is lost or doubled."""

from __future__ import annotations

import pytest

from lemel.book import open_book
from lemel.web.furnace_heats import accepted, heat_plan
from lemel.web.furnace_steps import run_steps

PHONE = {"width": 360, "height": 740}
CUT = ("ERR_INTERNET_DISCONNECTED", "Failed to fetch", "422")


@pytest.fixture
def book(shop):
    return open_book(shop.folder)


@pytest.fixture
def plan(book):
    return accepted(book)[0]


@pytest.fixture
def phone(open_page):
    page = open_page(viewport=PHONE, has_touch=True)
    page.allowed += CUT
    return page


def lit_and_charged(book, plan):
    """Charged in the book, and rehearsed long before the shop shuts."""
    book.charge(plan, "H1")
    facts = {"closes_min": 1439, "light_min": 1, "latest_min": 1438, "length_min": 1}
    record = {"what": "rehearsed", "step": "", "facts": facts, "at": "", "pressed_ms": 1}
    book.file(f"line {plan}/H1", "rehearsed-for-the-test", record)


def kinds(book, plan):
    return {step.key: step for step in run_steps(heat_plan(book, plan, "H1"))}


def press_now(page):
    page.locator(".step.is-now button.glove:visible").first.click()


def now(page):
    return page.locator(".step.is-now").get_attribute("data-key")


def gone_on_from(page, key):
    page.wait_for_function(
        "key => document.querySelector('.step.is-now')?.dataset.key !== key", arg=key
    )


def all_sent(page):
    page.wait_for_function("() => !window.lemelOutbox.waiting().length")


def lines(book, plan):
    return [one.record for one in book.filed(f"line {plan}/H1").values()]


def test_a_heat_runs_through_a_lost_connection_and_every_line_is_sent_once(phone, book, plan):
    lit_and_charged(book, plan)
    phone.clock.install()
    phone.goto(f"/furnace/{plan}/H1/")
    known = kinds(book, plan)
    keys = list(known)
    while known[now(phone)].kind != "light":
        here = now(phone)
        press_now(phone)
        gone_on_from(phone, here)
    press_now(phone)
    all_sent(phone)
    phone.context.set_offline(True)
    while known[now(phone)].kind != "pour":
        here = now(phone)
        press_now(phone)
        gone_on_from(phone, here)
    assert phone.locator("#outbox").is_visible()
    assert "kept here, not sent yet" in phone.locator("#outbox-said").inner_text()
    before = {one["step"] for one in lines(book, plan)}
    assert "pour-1" not in before
    assert book.heat_state(plan, "H1") == "charged"
    for n in (1, 2, 3):
        here = now(phone)
        phone.locator(".step.is-now .lift").click()
        assert phone.locator(".step.is-now .question").is_hidden()
        phone.clock.run_for(60_000)
        phone.locator(".step.is-now .question").wait_for()
        phone.locator(".step.is-now .question button").nth(1 if n == 1 else 0).click()
        gone_on_from(phone, here)
    phone.context.set_offline(False)
    phone.evaluate("() => window.dispatchEvent(new Event('online'))")
    all_sent(phone)
    steps = [one["step"] for one in sorted(lines(book, plan), key=lambda one: one["pressed_ms"])
             if one["what"] == "step"]  # fmt: skip
    assert steps == keys[: len(steps)]
    assert steps[-1] == "pour-3"
    assert len(steps) == len(set(steps))
    assert book.heat_state(plan, "H1") == "molten"
    filled = {one["step"]: one["facts"].get("filled") for one in lines(book, plan)}
    assert (filled["pour-1"], filled["pour-2"]) == ("short", "full")


def test_the_page_opened_anew_still_sends_what_was_kept(phone, book, plan):
    lit_and_charged(book, plan)
    phone.goto(f"/furnace/{plan}/H1/")
    here = now(phone)
    phone.context.set_offline(True)
    press_now(phone)
    gone_on_from(phone, here)
    phone.context.set_offline(False)
    phone.goto("/furnace/")
    all_sent(phone)
    assert here in {one["step"] for one in lines(book, plan)}


def test_lighting_up_too_late_is_refused_and_the_fire_counts_as_not_lit(phone, book, plan):
    book.charge(plan, "H1")
    facts = {"closes_min": 2, "light_min": 0, "latest_min": -300, "length_min": 302}
    record = {"what": "rehearsed", "step": "", "facts": facts, "at": "", "pressed_ms": 1}
    book.file(f"line {plan}/H1", "rehearsed-for-the-test", record)
    phone.goto(f"/furnace/{plan}/H1/")
    known = kinds(book, plan)
    while known[now(phone)].kind != "light":
        here = now(phone)
        press_now(phone)
        gone_on_from(phone, here)
    light = now(phone)
    press_now(phone)
    phone.get_by_text("the last light-up was").wait_for()
    phone.wait_for_function(
        "key => document.querySelector('.step.is-now')?.dataset.key === key", arg=light
    )
    phone.get_by_text("not lit").wait_for()


def test_the_last_line_is_taken_back_without_a_connection(phone, book, plan):
    lit_and_charged(book, plan)
    phone.goto(f"/furnace/{plan}/H1/")
    here = now(phone)
    phone.context.set_offline(True)
    press_now(phone)
    gone_on_from(phone, here)
    phone.get_by_role("button", name="Take back the last line").click()
    phone.wait_for_function(
        "key => document.querySelector('.step.is-now')?.dataset.key === key", arg=here
    )
    phone.context.set_offline(False)
    phone.evaluate("() => window.dispatchEvent(new Event('online'))")
    all_sent(phone)
    assert [one["what"] for one in lines(book, plan)].count("undo") == 1
    phone.goto(f"/furnace/{plan}/H1/")
    assert now(phone) == here


def test_the_bell_calls_when_the_top_up_is_due(phone, book, plan):
    lit_and_charged(book, plan)
    phone.clock.install()
    phone.goto(f"/furnace/{plan}/H1/")
    known = kinds(book, plan)
    while now(phone) is None or known[now(phone)].at_min in (None, 0.0):
        here = now(phone)
        press_now(phone)
        gone_on_from(phone, here)
    assert phone.locator(".step.ringing").count() == 0
    phone.clock.run_for(int(known[now(phone)].at_min * 60_000) + 2000)
    phone.locator(".step.ringing").wait_for()
    assert "now" in phone.locator(".step.is-now .due").inner_text()


def test_the_wrong_bag_is_asked_about_before_it_is_written(phone, book, plan):
    lit = {"what": "rehearsed", "step": "", "at": "", "pressed_ms": 1,
           "facts": {"closes_min": 1439, "light_min": 1, "latest_min": 1438}}  # fmt: skip
    book.file(f"line {plan}/H1", "rehearsed-for-the-test", lit)
    phone.goto(f"/furnace/{plan}/H1/charge/")
    bag = phone.locator('.bag[data-bag="S1"]')
    bag.get_by_label("Whole bag on the balance").fill("12.5")
    bag.get_by_label("Into the tub").fill("12")
    bag.get_by_role("button").click()
    bag.locator(".ask").wait_for()
    assert phone.evaluate("() => window.lemelOutbox.waiting().length") == 0
    assert "bag" not in {one["what"] for one in lines(book, plan)}


def test_a_reading_grows_the_log(phone, book, plan):
    lit_and_charged(book, plan)
    phone.goto(f"/furnace/{plan}/H1/")
    known = kinds(book, plan)
    while known[now(phone)].kind != "light":
        here = now(phone)
        press_now(phone)
        gone_on_from(phone, here)
    press_now(phone)
    all_sent(phone)
    phone.get_by_label("The display shows").fill("212")
    phone.get_by_role("button", name="Write it down").click()
    phone.locator("#curve circle.read").wait_for()
    assert "212" in phone.locator("#curve").inner_text()
    phone.get_by_text("The bath is at about").wait_for()


def test_the_keyboard_alone_runs_the_heat(page, book, plan):
    lit_and_charged(book, plan)
    page.goto(f"/furnace/{plan}/H1/")
    here = now(page)
    page.locator(".step.is-now button.glove").first.focus()
    page.keyboard.press("Enter")
    gone_on_from(page, here)
    second = now(page)
    page.keyboard.press("Enter")
    gone_on_from(page, second)
    all_sent(page)
    assert {here, second} <= {one["step"] for one in lines(book, plan)}


def test_a_bar_cracks_at_the_mill_and_goes_on_by_a_new_way(phone, book, plan):
    book.charge(plan, "H1")
    book.molten(plan, "H1")
    book.pour(plan, "H1")
    phone.goto(f"/mill/{plan}/mill H1-3/")
    here = now(phone)
    phone.context.set_offline(True)
    press_now(phone)
    gone_on_from(phone, here)
    phone.context.set_offline(False)
    phone.evaluate("() => window.dispatchEvent(new Event('online'))")
    phone.wait_for_function("() => document.querySelector('.step.is-now')?.dataset.key === '2'")
    all_sent(phone)
    phone.get_by_text("It cracked").click()
    phone.get_by_label("Place from the leading end").fill("0")
    phone.get_by_label("How far it goes in").fill("1.2")
    phone.get_by_role("button", name="Tell me how to go on").click()
    phone.get_by_text("A new way, since the bar was cracked").wait_for()
    [run] = book.bench.runs(plan, "mill H1-3")
    assert [one.what for one in run.events] == ["pass", "crack"]


PLACES = (
    "furnace/", "furnace/{plan}/H1/rehearse/", "furnace/{plan}/H1/charge/", "furnace/{plan}/H2/",
    "furnace/{plan}/H2/wrong/", "furnace/{plan}/H2/out/", "furnace/{plan}/H3/out/", "mill/",
    "mill/{plan}/mill H3-1/", "mill/{plan}/cut H3-1-a/",
)  # fmt: skip


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_no_serious_fault(open_page, book, plan, scheme):
    from axe_playwright_python.sync_playwright import Axe

    book.charge(plan, "H2")
    for heat in ("H3",):
        book.charge(plan, heat)
        book.molten(plan, heat)
        book.pour(plan, heat)
    page = open_page(viewport=PHONE, color_scheme=scheme)
    found = {}
    for place in PLACES:
        page.goto("/" + place.format(plan=plan))
        page.wait_for_load_state("networkidle")
        serious = [
            (one["id"], [node["html"][:120] for node in one["nodes"]])
            for one in Axe().run(page).response["violations"]
            if one["impact"] in ("serious", "critical")
        ]
        if serious:
            found[place] = serious
    assert not found, found
