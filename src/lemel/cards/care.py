"""The page to be read once before the first heat: every caution in the rooms' whole words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from lemel.cards.hand import Hand
from lemel.cards.ids import listed
from lemel.cards.press import Card
from lemel.plan import Plan
from lemel.values import Caution, Quantity, SayingValue

__all__ = ["care_card"]

#: The order of the work, fire first.
_ORDER = (
    "weigh", "light", "charge", "melt", "pour", "cool", "mill", "anneal", "pickle", "cut"
)  # fmt: skip


def care_card(plan: Plan, hand: Hand, foot: str) -> Card | None:
    """All cautions of the plan by the step at which they hold; None where there are none."""
    by_place: dict[str, list[str]] = {}
    for caution in _of_many(_all(plan)):
        lines = by_place.setdefault(caution.at, [])
        text = hand.told(caution)
        if text not in lines:
            lines.append(text)
    if not by_place:
        return None
    return {
        "kind": "care",
        "title": hand.say("cards.care.title"),
        "title_size": 24,
        "name": hand.say("cards.care.name"),
        "foot": foot,
        "about": hand.say("cards.care.about"),
        "places": [
            {"name": hand.say(f"cards.place.{place}"), "lines": by_place[place]}
            for place in _ORDER
            if place in by_place
        ],
    }


def _of_many(cautions: Iterable[Caution]) -> Iterable[Caution]:
    """What is said of many things in the same words is said once: with all their names, and
    with the strictest of their figures."""
    kinds: dict[tuple[str, str], list[Caution]] = {}
    for one in dict.fromkeys(cautions):
        kinds.setdefault((one.code, one.at), []).append(one)
    for alike in kinds.values():
        yield replace(alike[0], values={name: _strictest(name, alike) for name in alike[0].values})


def _strictest(name: str, alike: list[Caution]) -> SayingValue:
    """Names are listed; of limits the lowest counts, of shares and amounts the highest."""
    values = [one.values[name] for one in alike if name in one.values]
    figures = [value for value in values if isinstance(value, Quantity)]
    if not figures:
        return listed(str(value) for value in values)
    pick = min if figures[0].unit == "degC" else max
    return pick(figures, key=lambda figure: figure.value)


def _all(plan: Plan) -> Iterable[Caution]:
    for heat in plan.heats:
        yield from heat.melt.cautions
        for pour in heat.pours:
            yield from pour.cautions
    for work in plan.stock:
        for one in work.bars:
            yield from one.route.cautions
        if work.layout is not None:
            yield from work.layout.cautions
    yield from plan.cautions
