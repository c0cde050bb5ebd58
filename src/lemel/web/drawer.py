"""The drawer of remnants and stock, and which of it does for an order line, the smallest first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from lemel.book import Book, Shelved
from lemel.plan import PlanLine, at_hand
from lemel.values import OrderLine
from lemel.web.reader import say

__all__ = ["Fit", "drawer", "fits", "from_hand"]


@dataclass(frozen=True, slots=True)
class Fit:
    """One bar of the drawer tried alone for one line: whether it does, and how."""

    bar: str
    free_g: float
    does: bool
    said: str


def drawer(book: Book) -> tuple[Shelved, ...]:
    """Everything of which the house knows the section, the lightest first."""
    return tuple(sorted(book.bench.stock(shaped=True), key=lambda one: (one.mass_g, one.body)))


def from_hand(book: Book) -> Mapping[str, PlanLine | None]:
    """What meets each line that no plan has yet, without melting; None: nothing here does."""
    return at_hand(book.bench.problem())


def fits(book: Book, line: OrderLine) -> tuple[Fit, ...]:
    """Each bar with metal that nobody is promised, tried alone for a line: those that do, the
    smallest first, then those that do not."""
    problem = book.bench.problem()
    # No bag is tried here: what only certain bags may make, only a bar that came of them does.
    anyhow = replace(line, use_lots=())
    found = []
    for bar in sorted(problem.workshop.stock, key=lambda one: (one.mass_g, one.id)):
        shop = replace(problem.workshop, stock=(bar,))
        alone = replace(problem, workshop=shop, lots=(), readings=(), orders=(anyhow,))
        may = not line.use_lots or bool(set(line.use_lots) & {bar.id, *bar.parents})
        met = at_hand(alone)[line.id] if may else None
        found.append(Fit(bar.id, bar.mass_g, met is not None, say(met.how) if met else ""))
    return tuple(sorted(found, key=lambda fit: not fit.does))
