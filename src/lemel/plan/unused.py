"""A reason for each lot that stays in its bag."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lemel.plan.bench import Bench
from lemel.plan.context import Context
from lemel.plan.faces import HeatPlan
from lemel.values import Lot, Quantity, Saying

__all__ = ["why_unused"]


def why_unused(
    context: Context, bench: Bench, heats: Sequence[HeatPlan], answers: Sequence[Saying]
) -> Mapping[str, Saying]:
    """Lot id to the one reason that weighs most; lots of which anything is used are not listed."""
    used = {line.body for heat in heats for line in heat.charge.lines}
    used |= {lot for lot, left in bench.lots_left_g.items() if left <= 0}
    left_out = {str(said.values["lot"]): said for said in answers if "lot" in said.values}
    return {
        lot.id: _reason(context, lot, heats, left_out)
        for lot in context.problem.lots
        if lot.id not in used
    }


def _reason(
    context: Context, lot: Lot, heats: Sequence[HeatPlan], left_out: Mapping[str, Saying]
) -> Saying:
    barred = context.evidence.barred.get(lot.id)
    if barred:
        stops = [o for o in barred if o.grade == "stop"] or list(barred)
        return Saying(stops[0].code, {"about": lot.id, "lot": lot.id, **stops[0].values})
    if lot.id in left_out:
        return left_out[lot.id]
    shares = context.evidence.answers[lot.main].share_most
    if lot.id in shares and lot.made_for == "casting":
        share = Quantity(100 * shares[lot.id], "percent")
        return Saying("plan.unused.made_for_casting", {"lot": lot.id, "share": share})
    if lot.id in shares:
        share = Quantity(100 * shares[lot.id], "percent")
        return Saying("plan.unused.test_first", {"lot": lot.id, "share": share})
    of_metal = [h for h in heats if context.standard(h.standard).main == lot.main]
    values = {"lot": lot.id, "metal": lot.main, "owner": context.shop.owners[lot.owner]}
    if not of_metal:
        return Saying("plan.unused.no_heat_of_metal", values)
    if not [h for h in of_metal if h.owner == lot.owner]:
        return Saying("plan.unused.no_heat_of_owner", values)
    if lot.no_mixing:
        return Saying("plan.unused.no_mixing", values)
    return Saying("plan.unused.not_needed", values)
