"""A pot that is not what it was to be: what it holds, and the ways out before it is poured."""

from __future__ import annotations

from math import inf, sqrt
from statistics import NormalDist
from typing import Any

from lemel.blend import BlendAddition, Melt, correct
from lemel.book import filing, flow, heats, ledger, lineage, records, reserved
from lemel.book.acts import Act
from lemel.book.faults import heat_behind
from lemel.book.holdings import body_of
from lemel.book.values import Account, Happened, Offer
from lemel.errors import BadInput
from lemel.metal import standard, standards
from lemel.plan import HeatPlan
from lemel.scrap import ScrapProblem, believe
from lemel.values import Addition, Composition, Lot, Quantity, Saying, SayingValue

__all__ = ["judged", "mark_real", "offers", "promise_of", "withdraw_promise"]

_KIND = "promise"
#: Where a plan does not tell with which probability it promised.
_USUAL_PROBABILITY = 0.99


def offers(alias: str, plan: str, heat: str, room_g: float | None) -> tuple[Offer, ...]:
    """Keep it, correct it in the pot, or pour it and mark it at what it is.

    `room_g` is what the crucible still takes (None: as much as is needed).
    """
    name, planned = f"{plan}/{heat}", _heat(alias, plan, heat)
    owner = heats.heat_of(alias, name).owner.code
    metal = ledger.held(alias, Account(owner, "process", name))
    if metal.gross_mg <= 0:
        raise BadInput("heat", heat, "a heat with metal in its pot", "Charge it first.")
    promised = standard(planned.standard)
    body = body_of(metal)
    lower = {
        one.id: one.least
        for one in standards()
        if one.main == promised.main
        and one.jurisdiction == promised.jurisdiction
        and one.least < promised.least
    }
    melt = Melt(
        heat, promised.main, metal.gross_mg / 1000, body.share(promised.main),
        _spread(alias, name, promised.main), promised.least, _probability(planned),
        inf if room_g is None else room_g, lower_standards=lower,
    )  # fmt: skip
    additions = _additions(alias, owner, promised.main)
    answer = correct(melt, additions)
    apart = tuple(a.id for a in additions if a.owner != owner and a.id in answer.additions)
    kappa = NormalDist().inv_cdf(melt.probability)
    found = []
    if answer.status in ("kept", "corrected"):
        way = "keep" if answer.status == "kept" else "correct"
        found.append(
            Offer(
                way, dict(answer.additions), promised.id, answer.mean, answer.sd, answer.promised,
                apart, answer.explain,
            )
        )  # fmt: skip
    if answer.status != "kept":
        found.append(
            Offer(
                "mark_real", {}, answer.lower, melt.mean, melt.sd, melt.mean - kappa * melt.sd,
                said=(_mark_at(heat, melt.mean, answer.lower),),
            )
        )  # fmt: skip
    return tuple(found)


def _mark_at(heat: str, mean: float, lower: str) -> Saying:
    values: dict[str, SayingValue] = {
        "heat": heat, "fineness": Quantity(1000 * mean, "millesimal"), "standard": lower or "-",
    }  # fmt: skip
    return Saying("book.offer.mark_real" if lower else "book.offer.no_standard", values)


def _heat(alias: str, plan: str, heat: str) -> HeatPlan:
    kept = flow.kept_plan(alias, plan)
    for one in kept.heats:
        if one.id == heat:
            return one
    raise BadInput("heat", heat, ", ".join(h.id for h in kept.heats), "Name a heat of the plan.")


def _probability(planned: HeatPlan) -> float:
    """With which the plan promised: from its mean, its spread and what it promised."""
    charge = planned.charge
    if charge.sd <= 0:
        return _USUAL_PROBABILITY
    mean = charge.composition_mean.share(standard(planned.standard).main)
    likely = NormalDist().cdf((mean - charge.promised) / charge.sd)
    return min(max(likely, 0.5), 0.9999)


def _spread(alias: str, heat: str, main: str) -> float:
    """sd of the main metal's share in the pot, with every error that its lots share."""
    parents = lineage.parents_of(alias, heat)
    things = {body: records.record_of(alias, body) for body in parents}
    lots = tuple(one for one in things.values() if isinstance(one, Lot) and one.main == main)
    total = sum(parents.values())
    variance = sum(
        (parents[body] / total * one.sd) ** 2
        for body, one in things.items()
        if isinstance(one, Addition)
    )
    if lots:
        ids = {lot.id for lot in lots}
        readings = tuple(one for one in records.readings(alias) if one.on in ids)
        beliefs = believe(ScrapProblem(lots, readings)).beliefs
        weights = [parents[body] / total for body in beliefs.bodies]
        own = zip(weights, beliefs.own_sd, strict=True)
        variance += sum((weight * sd) ** 2 for weight, sd in own)
        for k in range(len(beliefs.factors)):
            rows = zip(weights, beliefs.loading, strict=True)
            variance += sum(weight * row[k] for weight, row in rows) ** 2
    return sqrt(variance)


def _additions(alias: str, owner: str, main: str) -> list[BlendAddition]:
    """What is at hand and promised to nobody: the metal itself, or copper to thin it."""
    found = []
    for one in records.at_hand(alias, "addition"):
        free = reserved.free_mg(alias, Account(one.owner, "store", one.id))
        if free > 0 and one.composition.main() in (main, "Cu"):
            found.append(
                BlendAddition(
                    one.id, one.composition, one.sd, float(one.price_per_g), free / 1000, one.owner
                )
            )
    return sorted(found, key=lambda one: (one.owner != owner, one.id))


def judged(act: Act, plan: str, heat: str, room_g: float | None) -> Happened:
    """What the pot is worth now, where a wrong bag had put it in doubt; else nothing."""
    what = {what for _, what, _ in heats.events(act.alias, f"{plan}/{heat}")}
    if "wrong_lot" not in what:
        state = heats.state_of(act.alias, f"{plan}/{heat}")
        case = "charged" if state == "charged" else "stir"
        return Happened(next=(Saying(f"book.next.{case}", {"heat": heat}),))
    found = offers(act.alias, plan, heat, room_g)
    kept = any(one.way == "keep" for one in found)
    case = "pot_holds" if kept else "wrong_lot"
    return Happened(offers=found, next=(Saying(f"book.next.{case}", {"heat": heat}),))


def mark_real(act: Act, plan: str, heat: str, marked: str, why: str) -> Happened:
    """The heat's bars are no longer promised as planned: marked at what they are, or not at all.

    `marked` "" is no standard. Raises BadInput where the metal does not reach it.
    """
    alias, name = act.alias, f"{plan}/{heat}"
    owner = heats.heat_of(alias, name).owner.code
    pot = ledger.held(alias, Account(owner, "process", name))
    heaps = lineage.heaps_of(alias, name)
    metal = pot if pot.gross_mg else next(iter(heaps.values()), None)
    if metal is None or metal.gross_mg <= 0:
        raise BadInput("heat", heat, "a heat with metal in the house", "Nothing is left to mark.")
    body = body_of(metal)
    if marked:
        known = standard(marked)
        if body.share(known.main) < known.least:
            raise BadInput(
                "standard", marked, f"at most {body.fineness(known.main):.1f}",
                "Mark it lower, or have it assayed.",
            )  # fmt: skip
    withdraw_promise(act, plan, name, body, why or "told", marked)
    heats.note(act, name, "marked_real", {"standard": marked, "why": why})
    return Happened(bodies=(name,), next=(_mark_at(heat, body.share(body.main()), marked),))


def withdraw_promise(
    act: Act, plan: str, heat: str, body: Composition, why: str, marked: str = ""
) -> None:
    """What was promised of a heat's bars no longer holds."""
    planned = _heat(act.alias, plan, heat.removeprefix(f"{plan}/"))
    said = {
        "standard": marked, "was": planned.standard, "why": why,
        "millesimal": round(body.fineness(body.main()), 4), **act.facts(),
    }  # fmt: skip
    filing.file(act.alias, act.now, _KIND, heat, said, by=act.by)


def promise_of(alias: str, body: str) -> str:
    """The standard that a bar, remnant or piece may be marked with; "" for none.

    That of its heat's plan, unless it was withdrawn since.
    """
    heat = heat_behind(alias, body)
    if not heat:
        return ""
    filed = filing.newest(alias, _KIND, heat)
    if filed is not None:
        said: Any = filed.record["standard"]
        return str(said)
    plan = str(heats.heat_of(alias, heat).plan_id)
    return _heat(alias, plan, heat.removeprefix(f"{plan}/")).standard
