"""Density, expansion and conduction by mixing rules, with the pure metals' figures.

Densities by additive specific volumes: 1/rho = sum of w_i / rho_i. For liquid Ag-Cu and
Ag-Au the rule is measured (J. Brillo, I. Egry, I. Ho, Int. J. Thermophys. 27 (2006)
494-506); for solids it holds to about 0.5 percent in Ag-Cu and 1 percent in Au-Cu.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import combinations

from lemel.metal.kelvin import to_k
from lemel.metal.model import sheet_for
from lemel.metal.ranges import range_of
from lemel.tables import Tables, shipped
from lemel.values import REST, Composition

__all__ = ["conductivity_w_mk", "density_g_cm3", "expansion_per_k", "liquid_density_g_cm3"]


def density_g_cm3(body: Composition, *, tables: Tables | None = None) -> float:
    """Sound solid metal at 20 degC, g/cm3; 0.5 to 1 percent.

    >>> round(density_g_cm3(Composition.from_millesimal({"Ag": 925, "Cu": 75})), 3)
    10.355
    """
    return _density(body, tables or shipped())


@lru_cache(maxsize=4096)
def _density(body: Composition, tables: Tables) -> float:
    sheet = sheet_for(body, tables)
    if sheet and sheet.own and sheet.density_g_cm3:
        return sheet.density_g_cm3
    rows = tables.table("metal_density")
    return 1 / sum(
        share / rows[element].number("solid_20c_g_cm3") for element, share in _parts(body)
    )


def liquid_density_g_cm3(
    body: Composition, temp_c: float, *, tables: Tables | None = None
) -> float:
    """Liquid at `temp_c`, g/cm3; 1 to 2 percent. Below the liquidus: the supercooled liquid."""
    tables = tables or shipped()
    rows = tables.table("metal_density")
    melts = tables.table("metal_element")
    volume = 0.0
    for element, share in _parts(body):
        row = rows[element]
        symbol = "Cu" if element == REST else element
        above = temp_c - melts[symbol].number("melts_c")
        density = row.number("liquid_g_cm3") + row.number("liquid_slope_g_cm3k") * above
        volume += share / density
    return 1 / volume


def expansion_per_k(body: Composition, *, tables: Tables | None = None) -> float:
    """Mean linear expansion from 20 degC to the melting point, 1/K, averaged by volume."""
    tables = tables or shipped()
    rows = tables.table("metal_density")
    volumes = {e: share / rows[e].number("solid_20c_g_cm3") for e, share in _parts(body)}
    total = sum(volumes.values())
    return sum(v * rows[e].number("expansion_per_k") for e, v in volumes.items()) / total


def conductivity_w_mk(body: Composition, *, tables: Tables | None = None) -> float:
    """Thermal conductivity at 20 degC, W/mK; an estimate, 20 percent.

    1/k = sum x_i/k_i + sum C_ij x_i x_j: resistivities of the metals plus what mixing adds
    (L. Nordheim, Ann. Phys. 401 (1931) 607), by the law of Wiedemann and Franz.
    """
    tables = tables or shipped()
    rows, extra = tables.table("metal_density"), tables.table("metal_conduction")
    masses = tables.table("metal_element")
    moles = {
        e: share / masses["Cu" if e == REST else e].number("molar_mass_g")
        for e, share in _parts(body)
    }
    total = sum(moles.values())
    resistance = sum(n / total / rows[e].number("conductivity_w_mk") for e, n in moles.items())
    for (a, one), (b, two) in combinations(sorted(moles.items()), 2):
        row = extra.get(f"{a}-{b}", extra["other"])
        resistance += row.number("excess_mk_w") * one * two / total**2
    return 1 / resistance


def shrinkage(body: Composition, *, tables: Tables | None = None) -> float:
    """Volume lost on freezing as a fraction of the liquid's, at the liquidus."""
    tables = tables or shipped()
    top_c = range_of(body, tables).real_top_k - to_k(0)
    hot_solid = (
        density_g_cm3(body, tables=tables)
        / (1 + expansion_per_k(body, tables=tables) * (top_c - 20)) ** 3
    )
    return 1 - liquid_density_g_cm3(body, top_c, tables=tables) / hot_solid


def _parts(body: Composition) -> list[tuple[str, float]]:
    parts = list(body.parts)
    if body.rest > 0:
        parts.append((REST, body.rest))
    return parts
