"""How every page looks and reads: nothing serious for a reader, no sideways scroll, big targets."""

from __future__ import annotations

import pytest

from tests.web.places import PLACES

PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 900}
_SMALL = """() => [...document.querySelectorAll('nav a, button, summary, select,'
    + 'input:not([type=hidden]):not([type=checkbox]):not([type=radio])')]
    .filter(one => one.offsetParent && one.getBoundingClientRect().height < 43.5)
    .map(one => one.outerHTML.slice(0, 80))"""


def _visit(page, place):
    page.goto(place)
    page.wait_for_load_state("networkidle")
    # Opened in the page itself: which ones are closed changes with every click.
    page.evaluate(
        "[...document.querySelectorAll('details')].slice(0, 4).forEach(one => one.open = true)"
    )


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_serious(open_page, scheme):
    from axe_playwright_python.sync_playwright import Axe

    page = open_page(viewport=DESK, color_scheme=scheme, bypass_csp=True)
    found = {}
    for place in PLACES:
        _visit(page, place)
        found[place] = [
            (one["id"], [node["target"] for node in one["nodes"]][:3])
            for one in Axe().run(page).response["violations"]
            if one["impact"] in ("serious", "critical")
        ]
    assert not {place: one for place, one in found.items() if one}


@pytest.mark.parametrize("viewport", [PHONE, DESK], ids=["phone", "desk"])
def test_no_page_scrolls_sideways(open_page, viewport):
    page = open_page(viewport=viewport)
    wide = {}
    for place in PLACES:
        _visit(page, place)
        wide[place] = page.evaluate("document.documentElement.scrollWidth")
    assert not {place: one for place, one in wide.items() if one > viewport["width"]}


def test_what_a_thumb_must_hit_is_44_px_high(open_page):
    page = open_page(viewport=PHONE, has_touch=True, is_mobile=True)
    small = {}
    for place in PLACES:
        _visit(page, place)
        small[place] = page.evaluate(_SMALL)
    assert not {place: one for place, one in small.items() if one}


def test_where_the_keyboard_is_can_be_seen(page):
    page.goto("/")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    for _ in range(4):
        page.keyboard.press("Tab")
        seen = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
        assert float(seen.removesuffix("px")) >= 2


def test_the_first_load_is_light(page, shop):
    taken = []
    page.on("response", lambda answer: taken.append(len(answer.body())))
    page.goto("/")
    page.wait_for_load_state("networkidle")
    assert 0 < sum(taken) < 300_000


def test_on_paper_there_are_no_buttons_and_nothing_is_dark(open_page):
    page = open_page(viewport=DESK, color_scheme="dark")
    page.goto("/")
    page.emulate_media(media="print")
    assert not page.locator("header.head").is_visible()
    seen = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert seen == "rgb(255, 255, 255)"
