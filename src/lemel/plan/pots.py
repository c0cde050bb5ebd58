"""How much one heat of a family can be in this workshop."""

from __future__ import annotations

from lemel import melt, metal
from lemel.plan.context import Context
from lemel.values import Composition

__all__ = ["pot_limit_g"]


def pot_limit_g(context: Context, family: str, body: Composition) -> float:
    """The most metal, g, that a pot or dish of this family may hold molten; 0: there is none."""
    shop, tables = context.shop, context.tables
    liquidus_c = metal.melting(body, tables=tables).liquidus_c
    density = metal.liquid_density_g_cm3(body, liquidus_c, tables=tables)
    limits = [
        torch.most_g for torch in shop.torches if not torch.families or family in torch.families
    ]
    if shop.furnaces:
        limits += [
            melt.pot_holds_g(pot, density, tables)
            for pot in shop.crucibles
            if pot.material != "clay_dish"
            and not any(f.grade == "stop" for f in melt.crucible_faults(pot, family, tables))
        ]
    return max(limits, default=0.0)
