"""The month sheet: what each order is met by, what to buy, the days, the worth, whose metal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from itertools import groupby
from typing import Any

from lemel.cards.hand import Hand
from lemel.cards.ids import listed
from lemel.cards.piece import what_is_asked
from lemel.cards.press import Card, drawing
from lemel.plan import Plan, PlanLine, Task, Unmet
from lemel.sketch import way
from lemel.values import BillLine, OrderLine, Quantity
from lemel.worth import Comparison

__all__ = ["month_card"]


def month_card(plan: Plan, hand: Hand, foot: str) -> Card:
    """The card's data for the whole plan."""
    return {
        "kind": "month",
        "title": plan.shop or plan.id,
        "title_size": 20,
        "name": hand.say("cards.month.name"),
        "foot": foot,
        "about": hand.say(
            "cards.month.about",
            plan=plan.id,
            as_of=hand.day(date.fromisoformat(plan.made_from.as_of)),
            lines=len(plan.lines),
            heats=len(plan.heats),
            bars=sum(len(work.bars) for work in plan.stock),
        ),
        "way": drawing(way(plan, units=hand.units)),
        "lines": _lines(plan, hand),
        "unmet": [_unmet(one, plan, hand) for one in plan.unmet],
        "buy": _buy(plan, hand),
        "worth": _worth(plan.worth, hand),
        "owners": _owners(plan, hand),
        "days": _days(plan.timeline, hand),
        "questions": _questions(plan, hand),
        "stay": _stay(plan, hand),
    }


def _due(plan: Plan) -> Mapping[str, OrderLine]:
    return {line.id: line for line in plan.asked}


def _lines(plan: Plan, hand: Hand) -> list[dict[str, Any]]:
    """Lines in the order of their due dates; those of one order from one metal stand together."""
    asked = _due(plan)
    met = sorted(
        (line for line in plan.lines if line.met_by != "unmet"),
        key=lambda line: (_day_of(asked.get(line.line)), plan.lines.index(line)),
    )
    rows = []
    for _, group in groupby(met, key=lambda line: (line.order, line.met_by, line.uses)):
        same = list(group)
        orders = [asked[line.line] for line in same if line.line in asked]
        rows.append(
            {
                "due": hand.day(orders[0].due_on) if orders else "",
                "lines": listed(line.line for line in same),
                "what": what_is_asked(orders, hand),
                "by": hand.say(f"cards.met.{same[0].met_by}"),
                "how": _how(same[0], hand),
            }
        )
    return rows


def _day_of(line: OrderLine | None) -> date:
    return line.due_on if line is not None and line.due_on is not None else date.max


def _how(line: PlanLine, hand: Hand) -> str:
    """What it is made from; for a claim, how much of the metal keeps it."""
    text = ", ".join(line.uses) if line.uses else hand.told(line.how)
    if line.claim_share is not None:
        share = Quantity(100 * line.claim_share, "percent")
        text = f"{text}. {hand.say('cards.month.claim', share=share)}"
    return text


def _unmet(unmet: Unmet, plan: Plan, hand: Hand) -> dict[str, Any]:
    line = _due(plan).get(unmet.line)
    return {
        "line": unmet.line,
        "due": hand.day(line.due_on) if line else "",
        "what": what_is_asked([line], hand) if line else "",
        "reason": " ".join(hand.told(one) for one in (unmet.reason, *unmet.also)),
        "ways": [hand.told(one) for one in dict.fromkeys(unmet.ways_out)],
    }


def _buy(plan: Plan, hand: Hand) -> list[dict[str, Any]]:
    """Stock that is bought, then the clean metal that the heats take."""
    rows: list[dict[str, Any]] = [
        {"what": hand.told(line.how), "mass": None, "cost": ""}
        for line in plan.lines
        if line.met_by == "buy"
    ]
    bill = plan.worth.lines if plan.worth else ()
    metal = [line for line in bill if line.kind == "metal"]
    for about in dict.fromkeys(line.about for line in metal):
        same = [line for line in metal if line.about == about]
        grams = sum(float(line.quantity) for line in same)
        rows.append({"what": about, "mass": hand.figure(grams), "cost": _cost(same)})
    return rows


def _cost(lines: Sequence[BillLine]) -> str:
    total = sum((line.total.amount for line in lines), Decimal(0))
    return f"{total:.2f} {lines[0].unit_price.currency}"


def _worth(worth: Comparison | None, hand: Hand) -> dict[str, Any] | None:
    if worth is None:
        return None
    per_hour = (
        []
        if worth.per_hour is None
        else [{"label": hand.say("cards.worth.per_hour"), "value": _money(worth.per_hour, worth)}]
    )
    return {
        "keys": [
            {"label": hand.say("cards.worth.gain"), "value": _money(worth.gain, worth)},
            {
                "label": hand.say("cards.worth.no_labour"),
                "value": _money(worth.gain_no_labour, worth),
            },
            {"label": hand.say("cards.worth.hours"), "value": f"{worth.hours:.1f} h"},
            *per_hour,
        ],
        "said": [hand.told(one) for one in worth.explain],
    }


def _money(amount: Decimal, worth: Comparison) -> str:
    return f"{amount:.0f} {worth.currency}"


def _owners(plan: Plan, hand: Hand) -> list[list[str]]:
    """One row an owner: at first, from others, pieces, lost, at last, open."""
    rows = []
    for one in plan.balance.owners:
        places = one.places_mg
        figures = (
            one.opening_mg, one.transferred_mg, places.get("piece", 0), places.get("loss", 0),
            one.closing_mg, one.residual_mg,
        )  # fmt: skip
        shown = [hand.figure(mg / 1000)[0] for mg in figures]
        rows.append([plan.owners.get(one.owner, one.owner), *shown])
    return rows


def _days(tasks: Sequence[Task], hand: Hand) -> list[dict[str, Any]]:
    days = []
    for day, group in groupby(tasks, key=lambda task: task.day):
        own = list(group)
        days.append(
            {
                "name": hand.say("cards.month.day", day=day),
                "minutes": hand.minutes(sum(task.minutes for task in own)),
                "tasks": [_task(list(same), hand) for _, same in groupby(own, key=_subject)],
            }
        )
    return days


def _subject(task: Task) -> str:
    """Tasks on one thing, one after the other, stand in one line."""
    return task.about or task.task


def _task(tasks: Sequence[Task], hand: Hand) -> dict[str, str]:
    names = ", ".join(hand.say(f"cards.task.{task.task}") for task in tasks)
    return {
        "about": _about(tasks[0]),
        "text": names,
        "minutes": hand.minutes(sum(task.minutes for task in tasks)),
    }


def _about(task: Task) -> str:
    return listed(part.strip() for part in task.about.split(",")) if task.about else ""


def _questions(plan: Plan, hand: Hand) -> list[str]:
    """What keeps a lot in its bag only because nobody has answered."""
    return [
        hand.told(said) for _, said in sorted(plan.unused.items()) if said.code.endswith(".unknown")
    ]


def _stay(plan: Plan, hand: Hand) -> str:
    kept = [lot.id for lot in plan.lots if lot.id in plan.unused] or sorted(plan.unused)
    return hand.say("cards.month.stay", lots=", ".join(kept)) if kept else ""
