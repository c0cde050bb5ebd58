"""Plans that the book keeps, read once: a kept plan never changes, but the names in it may."""

from __future__ import annotations

from functools import lru_cache

from lemel.book import Book
from lemel.errors import BadInput
from lemel.plan import HeatPlan, Plan

__all__ = ["heat_of", "kept_plan"]


def kept_plan(shop: Book, name: str) -> Plan:
    """A plan as it was accepted; BadInput for one that the book does not know."""
    return _plan(shop, name, tuple(sorted(shop.owners().items())))


@lru_cache(maxsize=8)
def _plan(shop: Book, name: str, owners: tuple[tuple[str, str], ...]) -> Plan:  # noqa: ARG001
    return shop.plan(name)


def heat_of(shop: Book, plan: str, heat: str) -> HeatPlan:
    """One heat of a plan."""
    heats = {one.id: one for one in kept_plan(shop, plan).heats}
    if heat not in heats:
        known = ", ".join(heats) or "none in this plan"
        raise BadInput("heat", heat, known, "Name a heat of the plan.")
    return heats[heat]
