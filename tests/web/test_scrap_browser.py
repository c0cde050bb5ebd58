"""Scrap, orders and plan in Chromium: by keyboard alone, and no serious fault for any reader."""

from __future__ import annotations

import pytest

from lemel.book import plans_at_work

PAGES = ("/scrap/", "/scrap/bag/S9/", "/scrap/weigh-in/", "/scrap/file/", "/orders/",
         "/orders/new/ring/", "/orders/plan/", "/orders/plan/{plan}/",
         "/orders/plan/{plan}/quote/", "/orders/plan/compare/?one={plan}&other={plan}")  # fmt: skip


def serious(page):
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page).response["violations"]
    return [(one["id"], one["nodes"][0]["html"]) for one in found
            if one["impact"] in ("serious", "critical")]  # fmt: skip


@pytest.mark.parametrize(("scheme", "wide"), [("light", 1280), ("dark", 360)])
def test_no_page_of_scrap_and_plan_has_a_serious_fault(open_page, shop, scheme, wide):
    plan = plans_at_work(shop.book)[0]
    page = open_page(viewport={"width": wide, "height": 900}, color_scheme=scheme)
    for path in PAGES:
        page.goto(path.format(plan=plan))
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")
        assert serious(page) == [], path
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), path


def test_two_bags_are_weighed_in_by_keyboard_alone(page, shop):
    page.goto("/scrap/weigh-in/")
    for bag, grams in (("B1", "12.34"), ("B2", "5.06")):
        page.wait_for_function("document.activeElement.id === 'f-owner'")
        keys = page.keyboard
        keys.press("Tab")
        keys.press("Tab")
        keys.type("wire")
        keys.press("Tab")
        keys.press("Tab")
        keys.type("cut ends")
        keys.press("Tab")
        keys.type(grams)
        keys.press("Enter")
        page.get_by_text(f"{bag} is weighed in").wait_for()
    weighed = {lot.id: (lot.mass_g, lot.form) for lot in shop.book.lots() if lot.id[0] == "B"}
    assert weighed == {"B1": (12.34, "wire"), "B2": (5.06, "wire")}


def test_what_is_refused_is_told_first_and_what_was_typed_stays(page, shop):
    page.allowed.append("422")
    page.goto("/scrap/weigh-in/")
    page.get_by_label("In a few words").fill("cut ends")
    page.get_by_label("Weighs").fill("heavy")
    page.get_by_role("button", name="Weigh in, next bag").click()
    page.get_by_role("alert").wait_for()
    assert page.evaluate("document.activeElement.className") == "refused"
    assert page.get_by_label("In a few words").input_value() == "cut ends"
    assert page.get_by_label("Weighs").get_attribute("aria-invalid") == "true"


def test_a_plan_grows_on_the_page_and_is_accepted(page, shop):
    page.goto("/orders/new/stock/")
    page.get_by_label("Section").select_option("round")
    page.get_by_label("Across", exact=True).fill("0.9")
    page.get_by_label("Long").fill("150")
    page.get_by_role("button", name="Enter it").click()
    page.get_by_role("link", name="Make a plan").click()
    page.get_by_role("checkbox", name="O4.1").uncheck()
    page.get_by_role("button", name="Plan it").click()
    page.get_by_role("button", name="Accept it").wait_for(timeout=120_000)
    page.get_by_role("button", name="Accept it").click()
    page.get_by_text("the shop works by it").wait_for()
    assert len(plans_at_work(shop.book)) == 2
