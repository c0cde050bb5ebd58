"""The card of one bar: its route easy on the arm, with what to measure and what to mind."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from lemel.cards.code import code_of
from lemel.cards.hand import Hand
from lemel.cards.ids import listed
from lemel.cards.press import Card, drawing
from lemel.cards.route import bench_rows
from lemel.mill import Route
from lemel.plan import BarRoute, Plan, StockWork
from lemel.sketch import hardness
from lemel.values import Bar, Objection, Saying, SayingValue, StockNeed

__all__ = ["bar_card"]

_WIDE_MM, _PLOT_MM, _LOW_PLOT_MM = 186.0, 34.0, 27.0
#: A route with more lines than this may need the low plot to stay on one page.
_MANY_ROWS = 12


def bar_card(
    plan: Plan,
    work: StockWork,
    one: BarRoute,
    hand: Hand,
    foot: str,
    cuts: Sequence[Card] = (),
) -> Card:
    """The card's data for one bar of a stock work; `cuts` are layouts that are only lists."""
    bar, route = one.bar, one.route
    stops: list[Saying | Objection] = [one for one in route.objections if one.grade != "note"]
    if route.status == "infeasible":
        stops = [*route.objections, *route.ways_out]
    rows = bench_rows(route, hand)
    top = [caution for caution in route.cautions if caution.at == "mill"]
    return {
        "kind": "bar",
        "title": bar.id,
        "title_size": 40 if len(bar.id) <= 7 else 20,
        "name": bar.id,
        "foot": foot,
        "code": code_of(plan.id, bar.id),
        "standard": work.need.standard,
        "owner": plan.owners.get(bar.owner, bar.owner),
        "start": _start(bar, hand),
        "end": _end(work, hand),
        "faults": [hand.say(f"cards.fault.{fault.kind}") for fault in bar.faults],
        "stops": [hand.told(said) for said in stops],
        "keys": _keys(route, hand),
        "fewest": _fewest(route, hand),
        "mind": list(dict.fromkeys(hand.short(caution) for caution in top)),
        "rows": rows,
        "dense": bench_rows(route, hand, dense=True),
        "cuts": cuts,
        "plot": _plot(work, route, _LOW_PLOT_MM if len(rows) > _MANY_ROWS else _PLOT_MM),
        "weigh": _weigh(route, hand),
    }


def _plot(work: StockWork, route: Route, height_mm: float) -> dict[str, Any] | None:
    return drawing(hardness(route, temper=work.need.temper, width_mm=_WIDE_MM, height_mm=height_mm))


def _start(bar: Bar, hand: Hand) -> str:
    values: dict[str, SayingValue] = {
        "section": hand.section(bar.section),
        "length": hand.length(bar.length_mm),
        "mass": hand.mass(bar.mass_g),
    }
    cast = bar.soft_section is None and (bar.kind == "ingot" or bar.cast_section is not None)
    return hand.say("cards.bar.from_cast" if cast else "cards.bar.from", **values)


def _end(work: StockWork, hand: Hand) -> str:
    return hand.say("cards.bar.to", section=_wanted(work.need, hand), lines=listed(work.lines))


def _wanted(need: StockNeed, hand: Hand) -> str:
    """The stock that is wanted: section and length, or thickness and sheet."""
    if need.area_mm is not None:
        along, across = (hand.length(size) for size in need.area_mm)
        thick = hand.size(need.section.thickness_mm)
        return hand.say("cards.bar.sheet", thickness=thick, along=along, across=across)
    length = hand.length(need.length_mm) if need.length_mm else ""
    text = f"{hand.section(need.section)}, {length}".rstrip(", ")
    return hand.say("cards.bar.lengths", one=text, count=need.count) if need.count > 1 else text


def _keys(route: Route, hand: Hand) -> list[dict[str, Any]]:
    return [
        {"label": hand.say("cards.key.passes"), "value": str(route.passes), "size": 30},
        {"label": hand.say("cards.key.anneals"), "value": str(route.anneals), "size": 30},
        {"label": hand.say("cards.key.time"), "value": hand.minutes(route.minutes), "size": 30},
    ]


def _fewest(route: Route, hand: Hand) -> str:
    """The proven least as one line beside the easy route; nothing where none was proven."""
    if route.fewest is None:
        return ""
    anneals = route.anneals if route.fewest_anneals is None else route.fewest_anneals
    if (route.fewest, anneals) == (route.passes, route.anneals):
        return hand.say("cards.bar.fewest_same")
    return hand.say("cards.bar.fewest", passes=route.fewest, anneals=anneals)


def _weigh(route: Route, hand: Hand) -> list[dict[str, str]]:
    rows = [{"what": bar.id, "planned": hand.mass(bar.mass_g)} for bar in route.stock]
    ends = sum(bar.mass_g for bar in route.offcuts)
    if ends > 0.005:
        rows.append({"what": hand.say("cards.weigh.ends"), "planned": hand.mass(ends)})
    if route.loss_g > 0.005:
        rows.append({"what": hand.say("cards.weigh.filings"), "planned": hand.mass(route.loss_g)})
    return rows
