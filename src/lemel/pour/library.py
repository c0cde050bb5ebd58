"""Moulds as they are found on benches: a start for a house that has not measured its own."""

from __future__ import annotations

from lemel.tables import Row, Tables, shipped
from lemel.values import Mould, Section

__all__ = ["mould_library"]


def mould_library(tables: Tables | None = None) -> tuple[Mould, ...]:
    """Generic moulds, common practice without source; measure your own and replace them."""
    return tuple(_mould(row) for row in (tables or shipped()).rows("pour_mould"))


def _mould(row: Row) -> Mould:
    thickness_mm, width_mm = row.number("thickness_mm"), row.number("width_mm")
    section = {
        "square": lambda: Section.square(thickness_mm),
        "round": lambda: Section.round(thickness_mm),
        "flat": lambda: Section.flat(thickness_mm, width_mm),
    }[row.text("section")]()
    return Mould(
        id=row.key,
        kind=row.text("kind"),
        cavity=section,
        length_mm=row.number("length_mm"),
        mass_g=row.number("mass_g"),
        channels=int(row.number("channels")),
    )
