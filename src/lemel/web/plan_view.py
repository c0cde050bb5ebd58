"""A plan as its page shows it: every number with what it rests on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby
from typing import Any

from lemel import metal
from lemel.errors import NotKnown
from lemel.plan import HeatPlan, Plan, PlanLine, StockWork
from lemel.values import Caution, OrderLine, Proof
from lemel.web.reader import remedy, say

__all__ = ["COURSES", "MET_BY", "heat_rows", "shown"]

MET_BY = {
    "remnant": "from a remnant", "scrap_as_is": "from scrap, unmelted", "stock": "from stock",
    "heat": "from a heat", "buy": "buy it", "unmet": "not met",
}  # fmt: skip
COURSES = {
    "one_shot": "pour as charged", "hold_and_correct": "hold, sample, correct, pour",
    "pour_prove_remelt": "pour, prove, melt again if need be",
}  # fmt: skip
_TASKS = {
    "melt_and_pour": "melt and pour", "mill": "mill", "cut": "cut", "weigh": "weigh out",
    "pickle": "pickle", "anneal": "anneal",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class HeatRow:
    """A heat with its fineness in millesimal parts against its standard (None: not known)."""

    heat: HeatPlan
    owner: str
    mean: float
    sd: float
    least: float | None
    fills: tuple[tuple[int, tuple[tuple[str, float], ...]], ...]
    course: str
    mind: tuple[str, ...]


def heat_rows(plan: Plan) -> tuple[HeatRow, ...]:
    """The heats, tub by tub in the order of their filling."""
    found = []
    for heat in plan.heats:
        body = heat.charge.composition_mean
        fills = tuple((fill.n, fill.tubs) for fill in heat.melt.fills)
        whole = ((1, tuple((one.body, one.mass_g) for one in heat.charge.lines)),)
        found.append(
            HeatRow(
                heat, plan.owners.get(heat.owner, heat.owner), body.share(body.main()) * 1000,
                heat.charge.sd * 1000, _least(heat.standard), fills or whole,
                COURSES.get(heat.course, heat.course), _once(heat.melt.cautions),
            )
        )  # fmt: skip
    return tuple(found)


def _once(cautions: Iterable[Caution]) -> tuple[str, ...]:
    """Each caution once, in words."""
    return tuple(dict.fromkeys(say(one) for one in cautions))


def _to_clear(plan: Plan) -> list[tuple[str, list[tuple[str, str]]]]:
    """What stops or has to be asked, by what it is about, each with its way out."""
    found: dict[str, dict[str, str]] = {}
    for one in plan.objections:
        if one.grade in ("stop", "ask"):
            way = remedy(one) if one.remedy else ""
            found.setdefault(one.about, {})[say(one)] = way
    return [(about, list(said.items())) for about, said in found.items()]


def _least(standard: str) -> float | None:
    try:
        return metal.standard(standard).least * 1000
    except NotKnown:
        return None


def shown(plan: Plan) -> dict[str, Any]:
    """What the template of a plan needs."""
    lines = {one.id: one for one in plan.asked}
    return {
        "plan": plan,
        "lines": [_line(one, lines) for one in plan.lines if one.met_by != "unmet"],
        "unmet": [(one, lines.get(one.line)) for one in plan.unmet],
        "heats": heat_rows(plan),
        "works": [_work(work, lines) for work in plan.stock],
        "unused": [(lot, say(reason)) for lot, reason in plan.unused.items()],
        "days": [
            (day, [(one, _TASKS.get(one.task, one.task.replace("_", " "))) for one in tasks])
            for day, tasks in groupby(plan.timeline, key=lambda one: one.day)
        ],
        "owners": plan.owners,
        "to_clear": _to_clear(plan),
        "mind": _rest_of_cautions(plan),
        "worth": plan.worth,
        "bill": _bill(plan),
        "gap": _gap([heat.proof for heat in plan.heats]),
        "options": plan.made_from.options,
    }  # fmt: skip


def _rest_of_cautions(plan: Plan) -> list[str]:
    """Cautions that no heat of the page shows already."""
    seen = {said for heat in plan.heats for said in _once(heat.melt.cautions)}
    return [said for said in _once(plan.cautions) if said not in seen]


def _line(one: PlanLine, lines: Mapping[str, OrderLine]) -> dict[str, Any]:
    return {
        "line": one, "wanted": lines.get(one.line), "met": MET_BY[one.met_by],
        "why": [say(said) for said in one.why],
        "claim": None if one.claim_share is None else one.claim_share * 100,
    }  # fmt: skip


def _work(work: StockWork, lines: Mapping[str, OrderLine]) -> dict[str, Any]:
    layout = work.layout
    return {
        "work": work, "for": [lines[one] for one in work.lines if one in lines],
        "minutes": sum(one.route.minutes for one in work.bars),
        "drawn": sorted(layout.drawing) if layout else [],
        "use": layout.use * 100 if layout else None,
    }  # fmt: skip


def _bill(plan: Plan) -> list[dict[str, Any]]:
    """Lines of the bill, one a kind and unit, with what they come to."""
    if plan.worth is None:
        return []
    sums: dict[tuple[str, str], list[Decimal]] = {}
    for line in plan.worth.lines:
        row = sums.setdefault((line.kind, line.unit), [Decimal(0), Decimal(0)])
        row[0] += line.quantity
        row[1] += line.quantity * line.unit_price.amount
    return [
        {"kind": kind, "unit": "" if unit == "count" else unit, "many": many, "amount": amount}
        for (kind, unit), (many, amount) in sums.items()
    ]


def _gap(proofs: list[Proof]) -> float | None:
    """The largest gap of the blends, per cent; None where nothing was proven."""
    gaps = [one.gap for one in proofs]
    known = [gap for gap in gaps if gap is not None]
    return 100 * max(known) if known and len(known) == len(gaps) else None
