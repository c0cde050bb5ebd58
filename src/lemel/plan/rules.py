"""Figures that only the plan uses, by name, from the table `plan_rules`, and nominal alloys."""

from __future__ import annotations

from lemel.errors import NotKnown
from lemel.tables import Tables
from lemel.values import Composition, Standard

__all__ = ["nominal", "rule"]

ELEMENTS = ("Ag", "Au", "Cu", "Pd", "Pt", "Zn")


def rule(name: str, tables: Tables) -> float:
    """One figure of the plan's own rules."""
    return tables.row("plan_rules", name).number("value")


def nominal(standard: Standard, colour: str, tables: Tables) -> Composition:
    """What the trade usually makes to a standard and colour; only to size moulds and passes.

    The blend computes the real composition. Where the table has no such alloy, copper
    takes the balance.
    """
    name = f"{standard.main} {standard.least * 1000:.0f}"
    for wanted in (colour, "none", "yellow"):
        try:
            row = tables.row("plan_nominal", f"{name} {wanted}")
        except NotKnown:
            continue
        return Composition.of({e: row.number(e) for e in ELEMENTS})
    return Composition.of({standard.main: standard.least, "Cu": 1 - standard.least})
