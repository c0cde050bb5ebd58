"""The melt room's own figures, by name, from its tables."""

from __future__ import annotations

from lemel.tables import Row, Tables, shipped

__all__ = ["figure", "form_row", "gas_row", "pot_row", "torch_figure"]


def figure(name: str, tables: Tables | None = None) -> float:
    """One number of the table `melt_figure`."""
    return (tables or shipped()).row("melt_figure", name).number("value")


def torch_figure(name: str, tables: Tables | None = None) -> float:
    """One number of the table `melt_torch`."""
    return (tables or shipped()).row("melt_torch", name).number("value")


def form_row(form: str, tables: Tables | None = None) -> Row:
    """Packing, order of charging and loss of a form of scrap."""
    return (tables or shipped()).row("melt_form", form)


def gas_row(gas: str, tables: Tables | None = None) -> Row:
    """How hot a flame gets a bath and what its gas holds; an unlisted one like its nearest."""
    rows = (tables or shipped()).table("melt_gas")
    return rows.get(gas) or rows["oxy-propane" if gas.startswith("oxy") else "air-propane"]


def pot_row(material: str, tables: Tables | None = None) -> Row:
    """Heat capacity, limits, flux and life of a pot, by material."""
    return (tables or shipped()).row("melt_pot", material)
