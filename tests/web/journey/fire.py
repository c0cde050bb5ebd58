"""At the furnace with a phone: rehearsed, charged by the tub, lit, poured, what came out."""

from __future__ import annotations

from typing import Any

from lemel.book import Book
from lemel.web.furnace_heats import heat_plan
from lemel.web.furnace_steps import run_steps

#: Longer than any count of a pour and its freezing, ms.
COUNT_MS = 60_000


def rehearse(phone: Any, plan: str, heat: str) -> None:
    """From the list of heats into the room, everything gone through cold.

    The hours are a whole day apart, so that the test may run at any time of the day.
    """
    phone.goto("/furnace/")
    row = phone.locator("details", has=phone.locator(f'a[href*="/{plan}/{heat}/"]'))
    row.locator("summary").click()
    row.get_by_role("link", name="Rehearse and charge").click()
    phone.get_by_label("Who is in the room").fill("Maribeth pours, Leif stands by")
    for seen in phone.locator("input[value=seen]").all():
        seen.check()
    phone.get_by_label("The shop is shut at").fill("23:59")
    phone.get_by_label("Light up at").fill("00:30")
    phone.get_by_role("button", name="All seen: rehearsed").click()
    phone.get_by_role("heading", name=f"Charge {heat} by the tub").wait_for()


def charge(phone: Any, off_g: float = 0.0) -> None:
    """Every bag on the balance and into its tub; the first of which enough is left weighs
    `off_g` less than the book says, is asked about, and answered."""
    bags, asked = phone.locator(".bag"), not off_g
    for n in range(bags.count()):
        bag = bags.nth(n)
        form = bag.locator("form")
        says = float(form.get_attribute("data-says"))
        planned = bag.locator(".row-figure").inner_text().split()[0]
        light = off_g if not asked and says - float(planned) > off_g else 0.0
        bag.get_by_label("Whole bag on the balance").fill(f"{says - light:.3f}")
        bag.get_by_label("Into the tub").fill(planned)
        form.get_by_role("button").click()
        if light:
            asked = True
            bag.locator(".ask").wait_for()
            assert not phone.evaluate("() => window.lemelOutbox.waiting().length")
            bag.get_by_label("It is the right bag and the balance is right").check()
            form.get_by_role("button").click()
        bag.locator(".weighed-said").wait_for()
    assert asked
    all_sent(phone)
    phone.get_by_role("button", name="All tubs weighed: charge").click()
    phone.get_by_role("heading", name="at the fire").wait_for()


def now(phone: Any) -> str:
    """The step that fills the screen."""
    found = phone.locator(".step.is-now")
    return str(found.get_attribute("data-key")) if found.count() else ""


def press(phone: Any) -> None:
    """The big button of the instruction that is due; on to the next."""
    here = now(phone)
    phone.locator(".step.is-now button.glove:visible").first.click()
    gone_on(phone, here)


def gone_on(phone: Any, key: str) -> None:
    """Until another instruction is due than this one."""
    phone.wait_for_function(
        "key => document.querySelector('.step.is-now')?.dataset.key !== key", arg=key
    )


def all_sent(phone: Any) -> None:
    """Until no line waits on the phone."""
    phone.wait_for_function("() => !window.lemelOutbox.waiting().length")


def light_up(phone: Any) -> None:
    """What comes before the fire, then the fire, told a little later than it was."""
    while phone.locator(".step.is-now").get_attribute("data-kind") != "light":
        press(phone)
    step = phone.locator(".step.is-now")
    step.get_by_text("It was earlier").click()
    step.get_by_label("About when").fill("00:40")
    press(phone)
    all_sent(phone)


def run_without_network(phone: Any) -> int:
    """The top-ups and the stir with the connection gone: how many lines are kept."""
    phone.context.set_offline(True)
    kept = 0
    while phone.locator(".step.is-now").get_attribute("data-kind") != "pour":
        press(phone)
        kept += 1
    assert f"{kept} lines kept here, not sent yet" in phone.locator("#outbox").inner_text()
    return kept


def pour_all(phone: Any, told: str = "It filled") -> None:
    """Each mould by one touch, then no touch until the one question."""
    while phone.locator(".step.is-now").get_attribute("data-kind") == "pour":
        here = now(phone)
        step = phone.locator(f'.step[data-key="{here}"]')
        step.get_by_role("button", name="Lift out and pour").click()
        assert step.locator(".question").is_hidden()
        phone.clock.run_for(COUNT_MS)
        step.locator(".question").wait_for()
        step.get_by_role("button", name=told).click()
        gone_on(phone, here)


def network_is_back(phone: Any) -> None:
    """The lines that were kept go out, in order."""
    phone.context.set_offline(False)
    phone.evaluate("() => window.dispatchEvent(new Event('online'))")
    all_sent(phone)


def cool_down(phone: Any) -> None:
    """Off, the fire watch, the cold pot; then to the weighing."""
    while now(phone):
        press(phone)
    all_sent(phone)
    phone.get_by_role("link", name="Weigh out what came of it").click()
    phone.get_by_role("heading", name="What came out of").wait_for()


def ticked(book: Book, plan: str, heat: str) -> list[str]:
    """The steps that the book has, in the order in which they were touched."""
    lines = [one.record for one in book.filed(f"line {plan}/{heat}").values()]
    return [one["step"] for one in sorted(lines, key=lambda one: one["pressed_ms"])
            if one["what"] == "step"]  # fmt: skip


def steps(book: Book, plan: str, heat: str) -> list[str]:
    """The steps that the heat has."""
    return [one.key for one in run_steps(heat_plan(book, plan, heat))]


def weigh_out(phone: Any, short: str, short_g: float) -> None:
    """Each bar weighed and looked at; one is short, and what it lacks is in its feeder."""
    for came in phone.locator(".came").all():
        name = came.locator(".row-name").inner_text()
        grams = float(came.locator(".row-figure").inner_text().split()[1])
        if name == short:
            grams -= short_g
            came.get_by_label("short", exact=True).check()
        elif name == f"{short}-feeder":
            grams += short_g
        came.get_by_label("On the balance").fill(f"{grams:.3f}")
    phone.get_by_role("button", name="Weigh out").click()
    phone.get_by_text("lighter than planned by").wait_for()


def replan_from_real(phone: Any, bar: str) -> None:
    """The mill planned anew from the bar that came out, with one touch."""
    row = phone.locator("details", has=phone.locator("summary", has_text=bar)).filter(
        has_text="lighter than planned")  # fmt: skip
    if not row.evaluate("one => one.open"):
        row.locator("summary").click()
    row.get_by_role("button", name="Plan the mill again from this bar").click()
    phone.get_by_text("A new way, since the bar was short").wait_for()


def sign_off(phone: Any, plan: str, heat: str) -> None:
    """The heat is closed."""
    phone.goto(f"/furnace/{plan}/{heat}/out/")
    phone.get_by_role("button", name="Sign off: close the heat").click()
    phone.get_by_text(f"{heat} is closed.", exact=True).wait_for()
