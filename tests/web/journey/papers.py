"""At the printer and over the books: cards, labels, a statement, the audit."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from tests.web.journey.paper import answered, follow


def cards(page: Any, plan: str) -> str:
    """All cards of the plan in one PDF."""
    page.goto("/papers/")
    return follow(page, page.get_by_role("link", name=f"Cards of {plan}"))


def labels(page: Any, bodies: Iterable[str]) -> str:
    """Labels for some bags and pieces, in one PDF."""
    page.goto("/papers/")
    page.get_by_role("link", name="Labels", exact=True).click()
    for body in bodies:
        page.locator(f'input[name=body][value="{body}"]').check()
    form = page.locator("form", has=page.locator("input[name=skip]"))
    return answered(page, form, page.get_by_role("button", name="Set the labels").click)


def statement(page: Any, owner: str, name: str) -> tuple[str, str]:
    """An owner's statement as a page, and on paper."""
    page.goto("/books/")
    page.locator("summary", has_text=name).click()
    page.locator(f'a[href="/books/owner/{owner}/statement/"]').click()
    page.get_by_role("heading", name=f"Statement of {name}").wait_for()
    return page.locator("main").inner_text(), follow(page, page.get_by_role("link", name="PDF"))


def audit(page: Any) -> str:
    """What the audit found, as the page says it."""
    page.goto("/books/")
    page.get_by_role("link", name="Audit", exact=True).click()
    page.get_by_role("button", name="Audit", exact=True).click()
    found = page.get_by_label("What the audit found")
    found.wait_for()
    return str(found.inner_text())
