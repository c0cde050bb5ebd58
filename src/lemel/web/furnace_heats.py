"""The heats of accepted plans: which there are, how each stands, and its plan without decoding
the whole of it again at every touch."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from lemel.book import Book, plans_at_work
from lemel.errors import BadInput
from lemel.plan import HeatPlan, Plan

__all__ = ["HeatRow", "accepted", "heat_plan", "heat_rows", "kept_plan"]


@dataclass(frozen=True, slots=True)
class HeatRow:
    """One heat as the list shows it."""

    plan: str
    heat: HeatPlan
    owner: str
    state: str

    @property
    def mass_g(self) -> float:
        """What goes into the pot."""
        return self.heat.charge.mass_g


def accepted(book: Book) -> tuple[str, ...]:
    """Plans that the shop works by, the one accepted last first."""
    return plans_at_work(book)


def kept_plan(book: Book, plan: str) -> Plan:
    """A plan as it was accepted. It never changes, but the names in it may be erased."""
    names = tuple(sorted(book.owners().items()))
    return _plan(_Door(book), book.folder, plan, names)


class _Door:
    """A book that all books are equal to, so that it does not count in a cache's key."""

    def __init__(self, book: Book) -> None:
        self.book = book

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Door)

    def __hash__(self) -> int:
        return 0


@lru_cache(maxsize=8)
def _plan(door: _Door, folder: Path, plan: str, names: tuple[tuple[str, str], ...]) -> Plan:  # noqa: ARG001
    return door.book.plan(plan)


def heat_plan(book: Book, plan: str, heat: str) -> HeatPlan:
    """One heat of a plan; BadInput that names the known ones."""
    heats: Mapping[str, HeatPlan] = {one.id: one for one in kept_plan(book, plan).heats}
    if heat not in heats:
        known = ", ".join(heats) or "none in this plan"
        raise BadInput("heat", heat, known, "Choose a heat of the plan.")
    return heats[heat]


def heat_rows(book: Book) -> tuple[HeatRow, ...]:
    """Every heat of every accepted plan, in the plan's order."""
    names = book.owners()
    return tuple(
        HeatRow(plan, heat, names.get(heat.owner, heat.owner), book.heat_state(plan, heat.id))
        for plan in accepted(book)
        for heat in kept_plan(book, plan).heats
    )
