"""The door to the batch path, which loads numpy only when it is used."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from lemel.tables import Tables

if TYPE_CHECKING:
    from lemel.metal.batch import ManyMelting

__all__ = ["melting_many"]


def melting_many(
    elements: Sequence[str], mass_fractions: Any, *, tables: Tables | None = None
) -> ManyMelting:
    """Liquidus and solidus of many alloys of one system at once, degC, as numpy arrays.

    `mass_fractions` has one row for each alloy and one column for each of `elements`, which
    must be a system of the table `metal_system`. Some tens of times faster than asking
    one by one; the answers are the same to 1e-6 K.
    """
    from lemel.metal.batch import melting_many as solve_many

    return solve_many(elements, mass_fractions, tables=tables)
