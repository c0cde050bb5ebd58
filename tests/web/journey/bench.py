"""At the mill, the saw and the drawer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tests.web.journey.fire import now


def open_step(page: Any, name: str) -> None:
    """From the list at the mill to one step."""
    page.goto("/mill/")
    page.get_by_role("link", name=name, exact=True).click()
    page.get_by_role("heading", name=name, exact=True).wait_for()


def passes(page: Any, most: int, thicker_mm: float = 0.0) -> int:
    """Instructions done one after the other, sizes measured where they are asked; how many."""
    done = 0
    while done < most and (here := now(page)):
        step = page.locator(f'.step[data-key="{here}"]')
        gauge = step.get_by_label("Thickness measured")
        if gauge.count():
            said = step.locator(".when").inner_text()
            size = float(said.partition("then ")[2].split("mm")[0].split("×")[0].split()[-1])
            gauge.fill(f"{size + thicker_mm:.2f}")
        # A tick that is written brings the page anew.
        page.evaluate("() => { window.stale = true; }")
        step.locator("button.glove").click()
        page.wait_for_function("() => !window.stale && document.readyState === 'complete'")
        done += 1
    return done


def crack(page: Any, depth_mm: str = "0.8") -> None:
    """A crack from the end: what to cut, and a new way from there."""
    page.get_by_text("It cracked", exact=True).click()
    page.get_by_label("It looks so").select_option("fish_mouth")
    page.get_by_label("Place from the leading end").fill("0")
    page.get_by_label("How far it goes in").fill(depth_mm)
    page.get_by_role("button", name="Tell me how to go on").click()
    page.get_by_text("A new way, since the bar was cracked").wait_for()


def weigh(page: Any, found: Mapping[str, str]) -> None:
    """What came of the step: as the balance says, the rest as planned."""
    for came in page.locator(".came").all():
        own = came.locator("label").inner_text()
        planned = came.locator(".aside").inner_text().split()[1]
        came.locator("input").fill(found.get(own, planned))
    page.get_by_role("button", name="Weigh out").click()


def into_the_drawer(page: Any, body: str, place: str) -> None:
    """A finished piece put by, and where it lies to be read."""
    row = page.locator("li", has=page.locator(".row-name", has_text=body)).first
    row.get_by_label("Drawer or bag").fill(place)
    row.get_by_role("button", name="Put it there").click()
    page.get_by_text(f"{body} lies in {place}").wait_for()
