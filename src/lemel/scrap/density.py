"""Fineness from density, where the metals beside the main one are known."""

from __future__ import annotations

from collections.abc import Mapping

from lemel.errors import BadInput
from lemel.tables import Tables

__all__ = ["density_of", "fineness_from_density"]


def density_of(parts: Mapping[str, float], tables: Tables) -> float:
    """Density in g/cm3 of a mixture whose volumes add up (the reciprocal rule).

    1/rho = sum(share / rho of the element). Real alloys lie within about 1 % of it.
    """
    total = sum(parts.values())
    volume = sum(share / total / _density(element, tables) for element, share in parts.items())
    return 1 / volume


def fineness_from_density(
    density_g_cm3: float, main: str, beside: Mapping[str, float], tables: Tables
) -> float:
    """Mass fraction of `main` in an alloy with the metals `beside` it in fixed proportion.

    share = (1/rho - 1/rho_beside) / (1/rho_main - 1/rho_beside), volumes adding up.
    Clipped to 0..1. A hollow or dirty piece reads too light: use it to reject, not to
    prove. T. K. Rose, The Metallurgy of Gold, table XIV, agrees for gold-silver within
    about 6 millesimal parts (rms of 8 rows).
    """
    volume = 1 / density_g_cm3
    volume_main = 1 / _density(main, tables)
    volume_beside = 1 / density_of(beside, tables)
    if abs(volume_main - volume_beside) < 1e-9:
        raise BadInput(
            "beside", dict(beside), f"metals whose density differs from {main}",
            "Density cannot tell these apart; use another test.",
        )  # fmt: skip
    share = (volume - volume_beside) / (volume_main - volume_beside)
    return min(1.0, max(0.0, share))


def _density(element: str, tables: Tables) -> float:
    table = tables.table("metal_density")
    if element not in table:
        raise BadInput("element", element, ", ".join(table), "Density covers these metals only.")
    return table[element].number("solid_20c_g_cm3")
