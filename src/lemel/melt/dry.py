"""Proving a charge dry: warmed, and weighed until its weight stays."""

from __future__ import annotations

from lemel.errors import BadInput
from lemel.melt.figures import figure
from lemel.tables import Tables
from lemel.values import Objection, Quantity, Saying

__all__ = ["proved_dry"]


def proved_dry(
    body: str,
    weighings: tuple[tuple[float, float], ...],
    warm_c: float,
    balance_step_g: float,
    tables: Tables | None = None,
) -> tuple[Objection, ...]:
    """Whether (minutes, grams) weighings of a warmed lot prove it dry; empty if they do.

    Needed: at least the preheat of the table, and two last weighings, ten minutes or more
    apart, that differ by no more than two steps of the balance. Common practice, no source;
    a closed hollow piece is not proved dry by any weighing.
    """
    if not balance_step_g > 0:
        raise BadInput("balance_step_g", balance_step_g, "more than 0", "Name the balance's step.")
    least_c = figure("preheat_c", tables)
    if warm_c < least_c:
        values = {"warm": Quantity(warm_c, "degC"), "least": Quantity(least_c, "degC")}
        way = Saying("melt.way.dry_it", {"warm": Quantity(least_c, "degC")})
        return (Objection("melt.dry.too_cold", body, "stop", values, way),)
    wait = Quantity(figure("dry_least_min", tables), "min")
    way = Saying("melt.way.weigh_on", {"wait": wait})
    if len(weighings) >= 2:
        (t0, before_g), (t1, after_g) = sorted(weighings)[-2:]
        apart = t1 - t0 >= wait.value - 1e-9
        if apart and abs(after_g - before_g) <= figure("dry_steps", tables) * balance_step_g + 1e-9:
            return ()
        lost = Quantity(before_g - after_g, "g")
        way = Saying(
            "melt.way.weigh_on", {"wait": Quantity(figure("dry_least_min", tables), "min")}
        )
        return (Objection("melt.dry.still_losing", body, "stop", {"lost": lost}, way),)
    return (Objection("melt.dry.unproved", body, "stop", {}, way),)
