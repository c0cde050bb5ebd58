"""What can hurt at the fire, each at its step. Local codes and the makers' manuals come first."""

from __future__ import annotations

from lemel.melt.figures import figure
from lemel.tables import Tables, shipped
from lemel.values import Caution, Charge, Quantity

__all__ = ["cautions"]

DIRTY_FORMS = frozenset({"filings", "jewellery", "hollowware", "chain", "residue", "solder"})


def cautions(
    charge: Charge, method: str, material: str, fills: int, tables: Tables | None = None
) -> tuple[Caution, ...]:
    """The cautions of this melt, in the order in which they are needed."""
    tables = tables or shipped()
    zinc = figure("zinc_limit", tables)
    holds = {
        "always": True,
        "torch": method == "torch",
        "furnace": method == "furnace",
        "graphite": "graphite" in material,
        "top_up": fills > 1,
        "dirty": any(line.form in DIRTY_FORMS for line in charge.lines),
        "zinc": any(line.composition.share("Zn") > zinc for line in charge.lines),
    }
    warm = {"warm": Quantity(figure("preheat_c", tables), "degC")}
    return tuple(
        Caution(
            row.text("code"),
            row.text("at"),
            row.trust,
            row.source,
            warm if row.text("when") == "top_up" else {},
        )
        for row in tables.rows("melt_caution")
        if holds[row.text("when")]
    )
