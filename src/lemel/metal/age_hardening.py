"""Hardening by heat instead of rolling, and golds that stiffen when they cool slowly."""

from __future__ import annotations

from dataclasses import dataclass

from lemel.metal.families import family
from lemel.tables import Tables, shipped
from lemel.values import Composition, Saying

__all__ = ["Ageing", "ageing", "orders_when_slow"]

#: Gold-copper orders into AuCu and AuCu3 below this temperature.
_ORDERING_COPPER = 0.35


@dataclass(frozen=True, slots=True)
class Ageing:
    """A heat treatment that hardens: solution anneal (None: none needed), quench, then age.

    Temperatures (lo, hi) degC, minutes, and the hardness to expect (lo, hi) HV.
    """

    key: str
    solution_c: tuple[float, float] | None
    solution_min: float
    age_c: tuple[float, float]
    age_min: float
    hv: tuple[float, float]
    note: Saying
    source: str
    trust: str


def ageing(
    body: Composition, colour: str = "none", *, tables: Tables | None = None
) -> Ageing | None:
    """The ageing treatment known for an alloy; None if none is."""
    kind, fineness = family(body, colour), 1000 * body.share(body.main())
    for row in (tables or shipped()).rows("metal_ageing"):
        low, high = row.number("least_millesimal"), row.number("most_millesimal")
        if row.text("family") != kind or not low <= fineness <= high:
            continue
        minutes = row.number("solution_min")
        window = (row.number("solution_lo_c"), row.number("solution_hi_c"))
        return Ageing(
            key=row.key,
            solution_c=window if minutes else None,
            solution_min=minutes,
            age_c=(row.number("age_lo_c"), row.number("age_hi_c")),
            age_min=row.number("age_min"),
            hv=(row.number("hv_lo"), row.number("hv_hi")),
            note=Saying(f"metal.ageing.{row.text('note')}"),
            source=row.source,
            trust=row.trust,
        )
    return None


def orders_when_slow(body: Composition) -> bool:
    """Whether slow cooling orders gold and copper, so that the metal stiffens and may crack.

    Gold with much copper beside it (copper at least 0.35 of silver and copper together, 9 to
    20 carat): quench from above 430 degC. Common practice; the ordered phases AuCu and
    AuCu3 form below about 410 degC (H. Okamoto et al., Bull. Alloy Phase Diagrams 8 (1987) 454).
    """
    gold = body.share("Au")
    beside = body.share("Cu") + body.share("Ag")
    return 0.3 <= gold <= 0.85 and beside > 0 and body.share("Cu") / beside >= _ORDERING_COPPER
