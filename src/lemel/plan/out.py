"""The plan as the JSON document of the command line and the API: the contract's keys."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from lemel.plan.faces import HeatPlan, Plan, StockWork
from lemel.values import Caution, Objection, Saying, to_plain

__all__ = ["Say", "to_document"]

Say = Callable[[Saying | Objection | Caution], str]


def to_document(plan: Plan, say: Say | None = None) -> dict[str, Any]:
    """One JSON object with lines, heats, routes, layouts, unused, unmet, balance, worth,
    timeline, provenance, objections and cautions.

    `say` turns codes into sentences (`text` beside each code); without it the codes stand
    alone. The plan kept whole is `to_plain(plan)`; this is the view of it for readers.
    """
    word = _Words(say)
    return {
        "id": plan.id,
        "lines": [
            {
                "order": line.order,
                "line": line.line,
                "met_by": line.met_by,
                "how": word(line.how),
                "why": [word(why) for why in line.why],
                "uses": list(line.uses),
                "claim_share": line.claim_share,
            }
            for line in plan.lines
        ],
        "heats": [_heat(heat, word) for heat in plan.heats],
        "routes": [route for work in plan.stock for route in _routes(work, word)],
        "layouts": [_layout(work, word) for work in plan.stock if work.layout is not None],
        "unused": {lot: word(reason) for lot, reason in sorted(plan.unused.items())},
        "unmet": {
            unmet.line: {
                "order": unmet.order,
                "reason": word(unmet.reason),
                "also": [word(one) for one in unmet.also],
                "ways_out": [word(way) for way in unmet.ways_out],
            }
            for unmet in plan.unmet
        },
        "balance": _balance(plan),
        "worth": to_plain(plan.worth),
        "timeline": to_plain(plan.timeline),
        "drawer": to_plain(plan.drawer),
        "provenance": to_plain(plan.made_from),
        "objections": [word(o) for o in plan.objections],
        "cautions": [word(c) for c in plan.cautions],
    }


class _Words:
    """Codes to plain data, with their sentence where there is a catalogue."""

    def __init__(self, say: Say | None) -> None:
        self._say = say

    def __call__(self, said: Saying | Objection | Caution) -> dict[str, Any]:
        plain: dict[str, Any] = to_plain(said)
        if self._say is not None:
            plain["text"] = self._say(said)
            remedy = getattr(said, "remedy", None)
            if remedy is not None:
                plain["remedy"]["text"] = self._say(remedy)
        return plain


def _heat(heat: HeatPlan, word: _Words) -> dict[str, Any]:
    blend = heat.blend
    return {
        "id": heat.id,
        "owner": heat.owner,
        "standard": heat.standard,
        "family": heat.family,
        "needs": list(heat.needs),
        "formed": blend.formed,
        "mass_g": blend.mass_g,
        "lots": dict(blend.lots),
        "additions": dict(blend.additions),
        "composition": to_plain(heat.charge.composition_mean),
        "mean_fineness": 1000 * blend.mean,
        "sd_fineness": 1000 * blend.sd,
        "promised_fineness": 1000 * blend.promised,
        "probability": blend.probability,
        "origin": dict(heat.origin.shares),
        "course": heat.course,
        "consents": list(heat.consents),
        "pot": heat.pot,
        "fire": heat.fire,
        "melt": _said(heat.melt, word),
        "pours": [
            {"mould": mould, **_said(pour, word)}
            for mould, pour in zip(heat.moulds, heat.pours, strict=True)
        ],
        "bars": list(heat.bars),
        "proof": to_plain(heat.proof),
        "explain": [word(said) for said in heat.explain],
    }


def _said(answer: Any, word: _Words) -> dict[str, Any]:
    """A room's answer as plain data, its codes turned into words."""
    plain: dict[str, Any] = to_plain(answer)
    for name in ("cautions", "objections", "explain"):
        if name in plain:
            plain[name] = [word(said) for said in getattr(answer, name)]
    return plain


def _routes(work: StockWork, word: _Words) -> list[dict[str, Any]]:
    return [
        {
            "bar": one.bar.id,
            "need": work.need.id,
            "lines": list(work.lines),
            "source": work.source,
            "heat": work.heat,
            "start": to_plain(one.bar),
            **_said(one.route, word),
        }
        for one in work.bars
    ]


def _layout(work: StockWork, word: _Words) -> dict[str, Any]:
    return {
        "need": work.need.id,
        "lines": list(work.lines),
        "blanks": to_plain(work.blanks),
        **_said(work.layout, word),
    }


def _balance(plan: Plan) -> dict[str, Any]:
    balance: Mapping[str, Any] = to_plain(plan.balance)
    return {**balance, "owners": {row["owner"]: row for row in balance["owners"]}}
