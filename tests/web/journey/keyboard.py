"""The main job with the keyboard alone: Tab to it, type it, Space to tick, Enter to do it."""

from __future__ import annotations

from typing import Any

from tests.web.journey import desk
from tests.web.journey.fire import COUNT_MS, all_sent, gone_on, now

#: No page needs more Tabs than this to get to anything.
TABS_MOST = 150
_IS_HERE = "one => one === document.activeElement"


class Keys:
    """A hand at the keyboard of one page; it never clicks and never fills by itself."""

    def __init__(self, page: Any) -> None:
        self.page = page

    def to(self, there: Any) -> None:
        """Tab until it has the focus."""
        there.wait_for()
        for _ in range(TABS_MOST):
            if there.evaluate(_IS_HERE):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"no Tab leads to {there}")

    def type(self, there: Any, words: str) -> None:
        """Into a field, over what stands in it."""
        self.to(there)
        self.page.keyboard.press("Control+A")
        self.page.keyboard.type(words)

    def enter(self, there: Any) -> None:
        """Enter on a link, a button or a row."""
        self.to(there)
        self.page.keyboard.press("Enter")

    def link(self, name: str) -> None:
        """Enter on a link of this name."""
        self.enter(self.page.get_by_role("link", name=name, exact=True).first)

    def button(self, name: str) -> None:
        """Enter on a button of this name."""
        self.enter(self.page.get_by_role("button", name=name, exact=True))

    def weigh_in(self) -> str:
        """A bag of wire; its number."""
        page = self.page
        page.goto("/")
        self.link("Scrap")
        self.link("Weigh in")
        bag: str = page.get_by_label("Bag", exact=True).input_value()
        for label, word in (("Whose", "Quill"), ("What it is", "wire"), ("Metal", "silver")):
            self.to(page.get_by_label(label, exact=True))
            page.keyboard.type(word)
        self.type(page.get_by_label("Weighs", exact=True), "12.40")
        self.button("Weigh in, next bag")
        page.get_by_text(f"{bag} is weighed in: 12.40 g").wait_for()
        return bag

    def plan_and_accept(self) -> None:
        """The plan of now dropped, the month planned anew and accepted."""
        page = self.page
        self.link("Orders")
        self.enter(page.locator("ul.rows a").first)
        self.button("Drop it")
        page.get_by_text("promised to nobody now").wait_for()
        self.link("Make a plan")
        self.button("Plan it")
        desk.made(page)
        self.button("Accept it")
        page.get_by_text("accepted: the shop works by it").wait_for()

    def rehearse(self, plan: str, heat: str) -> None:
        """Gone through cold, ticked by Space."""
        page = self.page
        self.link("Furnace")
        row = page.locator("details", has=page.locator(f'a[href*="/{plan}/{heat}/"]'))
        self.enter(row.locator("summary"))
        self.enter(row.get_by_role("link", name="Rehearse and charge"))
        self.type(page.get_by_label("Who is in the room"), "Maribeth pours, Leif stands by")
        for seen in page.locator("input[value=seen]").all():
            self.to(seen)
            page.keyboard.press("Space")
        for label, hour in (("The shop is shut at", "2359"), ("Light up at", "0030")):
            self.to(page.get_by_label(label))
            page.keyboard.type(hour)
        self.button("All seen: rehearsed")
        page.get_by_role("heading", name=f"Charge {heat} by the tub").wait_for()

    def charge(self) -> None:
        """Each bag's two weights, Enter from the second."""
        page = self.page
        bags = page.locator(".bag")
        for n in range(bags.count()):
            bag = bags.nth(n)
            says = bag.locator("form").get_attribute("data-says")
            planned = bag.locator(".row-figure").inner_text().split()[0]
            self.type(bag.get_by_label("Whole bag on the balance"), str(says))
            self.type(bag.get_by_label("Into the tub"), planned)
            page.keyboard.press("Enter")
            bag.locator(".weighed-said").wait_for()
        all_sent(page)
        self.button("All tubs weighed: charge")
        page.get_by_role("heading", name="at the fire").wait_for()

    def run_to_the_pour(self) -> None:
        """Instruction after instruction; the fire was lit a little earlier."""
        page = self.page
        while (step := page.locator(".step.is-now")).get_attribute("data-kind") != "pour":
            here = now(page)
            if step.get_attribute("data-kind") == "light":
                self.enter(step.get_by_text("It was earlier"))
                self.type(step.get_by_label("About when"), "00:40")
                page.keyboard.press("Enter")
            else:
                self.enter(step.locator("button.glove"))
            gone_on(page, here)
        all_sent(page)

    def pour(self) -> None:
        """One key starts it, one answers the question."""
        page = self.page
        here = now(page)
        step = page.locator(f'.step[data-key="{here}"]')
        self.enter(step.get_by_role("button", name="Lift out and pour"))
        page.clock.run_for(COUNT_MS)
        self.enter(step.get_by_role("button", name="It filled"))
        gone_on(page, here)
        all_sent(page)
