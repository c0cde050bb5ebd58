"""At the counter: a bag on the balance, what was read off it, what was looked at, its marks."""

from __future__ import annotations

from typing import Any

from tests.web.journey.paper import submitted

#: A picture of one grey point.
PICTURE = {
    "name": "marks.png",
    "mimeType": "image/png",
    "buffer": bytes.fromhex(
        "89504e470d0a1a0a0000000d49484452000000010000000108060000001f15c4890000000d49444154"
        "78da63e4f8cf500f00038601805a347d6a0000000049454e44ae426082"
    ),
}


def weigh_in(page: Any, grams: str = "46.20") -> str:
    """A bag of the house's own wire ends weighed in with their paper; its number."""
    page.goto("/")
    page.get_by_role("link", name="Scrap", exact=True).first.click()
    page.get_by_role("link", name="Weigh in", exact=True).click()
    bag: str = page.get_by_label("Bag", exact=True).input_value()
    page.get_by_label("Whose", exact=True).select_option("shop")
    page.get_by_label("What it is").select_option("wire")
    page.get_by_label("In a few words").fill("cut ends of one coil")
    page.get_by_label("Weighs", exact=True).fill(grams)
    page.get_by_label("Stamp", exact=True).select_option("sheet-cert")
    page.get_by_label("It says").fill("925")
    page.get_by_label("Magnet to it").select_option("no")
    page.get_by_label("May it be melted?").select_option("signed")
    page.get_by_label("Photograph of the marks").set_input_files(PICTURE)
    page.get_by_text("Rarely asked").click()
    page.locator("[name=scrap_class]").select_option("own_offcut")
    page.get_by_role("button", name="Weigh in, next bag").click()
    page.get_by_text(f"{bag} is weighed in: {grams} g").wait_for()
    return bag


def receipt(page: Any, bag: str) -> str:
    """The receipt for what was weighed in just now, as it is printed."""
    page.get_by_role("link", name="Write the receipt").click()
    assert page.get_by_label(bag + ", silver wire").is_checked()
    page.get_by_label("Taken in by").fill("Leif Tannock")
    return submitted(page, page.get_by_role("button", name="Write the receipt").click)


def read(page: Any, bag: str) -> None:
    """An instrument's reading, and how far it moved the belief."""
    page.goto(f"/scrap/bag/{bag}/")
    page.get_by_text("Write a reading").click()
    page.get_by_label("By", exact=True).select_option("xrf-hand-abraded")
    page.get_by_label("Reads", exact=True).fill("927")
    page.get_by_label("Instrument and day").fill("college gun, 4 October")
    page.locator("form", has=page.get_by_label("Instrument and day")).get_by_role("button").click()
    page.get_by_text("927 is on record").wait_for()


def answer_all(page: Any, bag: str) -> int:
    """Each open question answered by what was seen, until nothing stands in the way."""
    page.goto(f"/scrap/bag/{bag}/")
    answered = 0
    # What the book answers by itself has no form.
    waiting = page.locator("#questions + .rows > details").filter(
        has=page.locator("form")).filter(has_text="not looked yet")  # fmt: skip
    while waiting.count():
        before = waiting.count()
        one = waiting.first
        one.locator("summary").click()
        one.locator("input[value=no]").check()
        one.get_by_label("What was seen or weighed").fill("looked at under the lamp")
        one.get_by_role("button").click()
        page.get_by_text("what was seen is on record").wait_for()
        assert waiting.count() < before
        answered += 1
    return answered


def photograph(page: Any, bag: str) -> None:
    """A picture of the marks, which is then to be seen."""
    page.goto(f"/scrap/bag/{bag}/")
    shown = page.locator(".photos img").count()
    page.get_by_label("Photograph", exact=True).set_input_files(PICTURE)
    page.get_by_role("button", name="Keep the picture").click()
    page.get_by_text(f"The picture of {bag} is kept").wait_for()
    assert page.locator(".photos img").count() >= shown
    seen = page.locator(".photos img").first
    assert seen.evaluate("one => one.decode().then(() => one.naturalWidth)") == 1
