"""The pour room's own figures, by name, from its tables."""

from __future__ import annotations

from lemel.tables import Row, Tables, shipped
from lemel.values import Mould

__all__ = ["figure", "kind_row", "pot_row"]


def figure(name: str, tables: Tables | None = None) -> float:
    """One number of the table `pour_figure`."""
    return (tables or shipped()).row("pour_figure", name).number("value")


def kind_row(kind: str, tables: Tables | None = None) -> Row:
    """What the bench knows of a kind of mould: superheat, feeder, least bar."""
    return (tables or shipped()).row("pour_kind", kind)


def pot_row(material: str, tables: Tables | None = None) -> Row:
    """Heat capacity of a hot pot and what stays in it, by material."""
    return (tables or shipped()).row("pour_pot", material)


def is_plate(mould: Mould) -> bool:
    """Upright plates fill from below against a wide cold wall; wire bars do not."""
    return mould.kind in ("plate", "adjustable")
