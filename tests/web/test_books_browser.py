"""The books, tools, class and papers in Chromium: by keyboard alone, for a screen reader, on a
phone, on paper."""

from __future__ import annotations

import pytest

from lemel.book import plans_at_work

PLACES = (
    "/books/", "/books/owner/corvalho/", "/books/owner/corvalho/statement/", "/books/owners/",
    "/books/entries/", "/books/entries/1/", "/books/audit/", "/books/body/S1/",
    "/books/parcels/", "/books/parcels/terms/", "/books/parcels/assay/", "/books/count/",
    "/books/loss/", "/books/register/", "/books/backups/", "/papers/", "/papers/labels/",
    "/class/", "/tools/", "/tools/rules/", "/tools/prices/", "/tools/figures/",
    "/tools/figures/?table=melt_pot", "/tools/crucible/", "/tools/crucible/graphite S/",
)  # fmt: skip
PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 900}
_OPEN = "() => document.querySelectorAll('details').forEach(one => { one.open = true; })"
_SMALL = """() => [...document.querySelectorAll('nav a, button, summary, select,'
    + 'input:not([type=hidden]):not([type=checkbox]):not([type=radio])')]
    .filter(one => one.offsetParent && one.getBoundingClientRect().height < 43.5)
    .map(one => one.outerHTML.slice(0, 80))"""


def places(shop):
    """Every page of these areas, with a poured heat's bar and an open stock-take among them."""
    book = shop.book
    plan = plans_at_work(book)[0]
    book.charge(plan, "H1")
    book.molten(plan, "H1")
    book.pour(plan, "H1")
    book.papers.stock_take(["piece", "store"], owner="ostervelt")
    bar = f"{plan}/H1-1"
    return (*PLACES, f"/books/body/{bar}/", f"/books/origin/{bar}/", "/books/count/T-0001/",
            f"/papers/cards/{plan}/")  # fmt: skip


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_serious_in_the_books(open_page, shop, scheme):
    from axe_playwright_python.sync_playwright import Axe

    page = open_page(viewport=DESK, color_scheme=scheme, bypass_csp=True)
    found = {}
    for place in places(shop):
        page.goto(place)
        page.evaluate(_OPEN)
        found[place] = [
            (one["id"], [node["target"] for node in one["nodes"]][:3])
            for one in Axe().run(page).response["violations"]
            if one["impact"] in ("serious", "critical")
        ]
    assert not {place: one for place, one in found.items() if one}


def test_on_a_phone_nothing_scrolls_sideways_and_a_thumb_hits_everything(open_page, shop):
    page = open_page(viewport=PHONE, has_touch=True, is_mobile=True)
    wide, small = {}, {}
    for place in places(shop):
        page.goto(place)
        page.evaluate(_OPEN)
        wide[place] = page.evaluate("document.documentElement.scrollWidth")
        small[place] = page.evaluate(_SMALL)
    broad = {place: one for place, one in wide.items() if one > PHONE["width"]}
    assert not broad
    assert not {place: one for place, one in small.items() if one}


def test_a_stock_take_is_counted_and_signed_by_keyboard_alone(page, shop):
    taken = shop.book.papers.stock_take(["store"], owner="haldorsen")
    row = taken.rows[0]
    page.goto(f"/books/count/{taken.number}/")
    page.get_by_label(row.body).focus()
    page.keyboard.type(f"{row.book_mg / 1000:.3f}")
    page.keyboard.press("Tab")
    while page.evaluate("document.activeElement.name") != "signed_by":
        page.keyboard.press("Tab")
    page.keyboard.type("bo")
    page.keyboard.press("Enter")
    page.get_by_text("Signed off").wait_for()
    assert shop.book.papers.read_stock_take(taken.number).state == "signed"


def test_an_id_is_found_by_keyboard_alone(page):
    page.goto("/papers/")
    page.get_by_label("Find a bag, bar or piece").focus()
    page.keyboard.type("lemel id S1")
    page.keyboard.press("Enter")
    page.wait_for_url("**/books/body/S1/")


def test_on_paper_the_list_to_count_is_there_without_buttons(page, shop):
    taken = shop.book.papers.stock_take(["store"], owner="haldorsen")
    page.goto(f"/books/count/{taken.number}/")
    page.emulate_media(media="print")
    assert page.get_by_text(taken.rows[0].body, exact=True).is_visible()
    assert not page.get_by_role("button", name="Sign off").is_visible()
