"""At the desk: what is to be made, planned beside the page, laid beside another plan, accepted."""

from __future__ import annotations

import re
from typing import Any

#: A plan of the whole month on a loaded machine, ms.
PLANNING_MS = 90_000


def drop_accepted(page: Any) -> None:
    """The plan that the shop works by, put away: nothing of it was begun."""
    page.goto("/orders/")
    page.locator("ul.rows a", has_text=re.compile("^plan-")).first.click()
    page.get_by_role("button", name="Drop it").click()
    page.get_by_text("promised to nobody now").wait_for()


def ask(page: Any, *, first: str = "", out: str = "") -> None:
    """The month to be planned, with a bag to use first or to leave out."""
    page.goto("/orders/")
    page.get_by_role("link", name="Make a plan").click()
    if first or out:
        page.get_by_text("use one first, or leave it out").click()
    if first:
        page.get_by_label(f"Wish for {first}", exact=True).select_option("first")
    if out:
        page.get_by_label(f"Wish for {out}", exact=True).select_option("out")
    page.get_by_role("button", name="Plan it").click()


def seen_to_begin(page: Any) -> None:
    """The page of a plan in the making, with how far it is."""
    page.get_by_role("heading", name="A plan in the making").wait_for()
    page.locator("progress").wait_for()


def stop(page: Any) -> None:
    """A plan stopped by hand: it says so, and nothing was written."""
    page.get_by_role("button", name="Stop it").click()
    page.get_by_text("It was stopped; nothing was written").wait_for(timeout=PLANNING_MS)


def made(page: Any) -> str:
    """The name of the plan's page, once it is through."""
    page.get_by_role("button", name="Accept it").wait_for(timeout=PLANNING_MS)
    return re.search(r"/plan/([^/]+)/", page.url)[1]


def accept(page: Any) -> str:
    """The plan accepted: its id."""
    page.get_by_role("button", name="Accept it").click()
    page.get_by_text("accepted: the shop works by it").wait_for()
    return re.search(r"/plan/([^/]+)/", page.url)[1]


def compare(page: Any, other: str) -> None:
    """This plan laid beside another one."""
    page.get_by_label("Lay it beside").select_option(other)
    page.get_by_role("button", name="Compare").click()
    page.get_by_role("heading", name="Two plans side by side").wait_for()
