"""The order of hands at the fire, beside what the simulator says of each moment."""

from __future__ import annotations

from lemel.melt.charging import ADDED, HEAVY, ZINC, Heap
from lemel.melt.faces import ChargeFill, MeltStep
from lemel.melt.figures import figure, pot_row
from lemel.tables import Tables

__all__ = ["fill_action", "opening_steps"]


def opening_steps(material: str, method: str, tables: Tables | None = None) -> tuple[MeltStep, ...]:
    """What is done before the fire is lit."""
    flux = pot_row(material, tables).text("flux")
    inspect = "melt.step.inspect_dish" if method == "torch" else "melt.step.inspect_pot"
    return (
        MeltStep(0.0, "melt.step.dry_and_open"),
        MeltStep(0.0, inspect),
        MeltStep(0.0, flux),
        MeltStep(0.0, "melt.step.light"),
    )


def fill_action(heap: Heap, fill: ChargeFill, cut_from: int, cut_to: int) -> str:
    """How a filling goes in: the first, with zinc, with additions, filings, or plainly."""
    orders = {heap.orders[heap.places[i].line] for i in range(cut_from + 1, cut_to + 1)}
    if fill.n == 1:
        return "melt.step.first_fill"
    if ZINC in orders:
        return "melt.step.zinc_last"
    if ADDED in orders:
        return "melt.step.addition" if orders == {ADDED} else "melt.step.with_addition"
    if 3 in orders:
        return "melt.step.filings"
    return "melt.step.heavy" if orders == {HEAVY} else "melt.step.top_up"


def stand_s(heap: Heap, tables: Tables | None = None) -> float:
    """How long the full bath stands at heat: longer where an addition has to dissolve."""
    if ADDED in heap.orders:
        return figure("dissolve_s", tables)
    return figure("settle_s", tables)
