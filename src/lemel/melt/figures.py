"""The melt room's own figures, by name, from its tables."""

from __future__ import annotations

from lemel.tables import Row, Tables, shipped

__all__ = ["figure", "form_row", "pot_row", "torch_figure"]


def figure(name: str, tables: Tables | None = None) -> float:
    """One number of the table `melt_figure`."""
    return (tables or shipped()).row("melt_figure", name).number("value")


def torch_figure(name: str, tables: Tables | None = None) -> float:
    """One number of the table `melt_torch`."""
    return (tables or shipped()).row("melt_torch", name).number("value")


def form_row(form: str, tables: Tables | None = None) -> Row:
    """Packing, order of charging and loss of a form of scrap."""
    return (tables or shipped()).row("melt_form", form)


def pot_row(material: str, tables: Tables | None = None) -> Row:
    """Heat capacity, limits, flux and life of a pot, by material."""
    return (tables or shipped()).row("melt_pot", material)
