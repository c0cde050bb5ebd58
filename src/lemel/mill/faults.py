"""Faults that a bar brings along: what must be scraped or sawn off before it is worked."""

from __future__ import annotations

from dataclasses import dataclass

from lemel.tables import Tables, shipped
from lemel.values import Bar, BarFault, Objection, Quantity, Saying, SayingValue

__all__ = ["Mended", "mend"]

#: However bad a bar is, no more than this is taken off it before it is sent back.
_MOST = 0.6


@dataclass(frozen=True, slots=True)
class Mended:
    """Shares of the bar that are scraped off its face and sawn off its ends."""

    scraped_share: float
    cropped_share: float
    objections: tuple[Objection, ...]


def mend(bar: Bar, tables: Tables | None = None) -> Mended:
    """What the faults of a bar cost, and what to ask about them."""
    facts = tables or shipped()
    scraped, cropped = 0.0, 0.0
    objections: list[Objection] = []
    for fault in bar.faults:
        row = facts.row("mill_faults", fault.kind)
        depth = fault.depth_mm if fault.depth_mm is not None else row.number("usual_mm")
        if row.text("removes") == "face":
            scraped = max(scraped, depth / bar.section.thickness_mm)
        elif row.text("removes") == "end":
            usual = row.number("usual_share")
            share = usual if fault.depth_mm is None and usual > 0 else depth / bar.length_mm
            cropped += share
        objections.append(_told(bar, fault, row.text("grade"), depth))
    return Mended(min(scraped, _MOST), min(cropped, _MOST), tuple(objections))


def _told(bar: Bar, fault: BarFault, grade: str, depth_mm: float) -> Objection:
    values: dict[str, SayingValue] = {"bar": bar.id, "depth": Quantity(depth_mm, "mm")}
    return Objection(
        f"mill.fault.{fault.kind}", bar.id, grade, values,
        Saying(f"mill.fault.do.{fault.kind}", values),
    )  # fmt: skip
