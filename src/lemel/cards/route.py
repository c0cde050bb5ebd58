"""A route as it is said at the bench: groove 3.5, two passes; flats, one gap after the other."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Any

from lemel.cards.hand import Hand
from lemel.mill import Route, Step
from lemel.quantities import hand_temperature, to_step
from lemel.tables import Tables, shipped
from lemel.values import Caution, Quantity, SayingValue

__all__ = ["bench_rows"]

#: Tools whose steps are told as one run of sizes while the effort stays the same.
_RUNS = ("flats", "hole")
#: More passes than this get one tick box for all.
_TICKS_MOST = 4
_TURN_STEP = 0.05


def bench_rows(
    route: Route, hand: Hand, *, dense: bool = False, tables: Tables | None = None
) -> list[dict[str, Any]]:
    """The lines of a bar's card: what to do, how hard it is, how long the metal is after it.

    Kinds: "row" (one tool at one size), "run" (one tool, size after size), "anneal" with its
    sign, and "mind" with the cautions of a part before the part's first step. `dense` tells
    the grooves as runs too, for a route that would not go on one page.
    """
    facts = tables or shipped()
    rows: list[dict[str, Any]] = []
    warned = False
    told: set[str] = set()
    runs = (*_RUNS, "groove") if dense else _RUNS
    for (tool, _, _), group in groupby(route.steps, key=lambda step: _alike(step, runs)):
        steps = list(group)
        if tool == "anneal":
            if not warned:
                rows += _minds(route.cautions, ("anneal", "pickle"), hand)
                warned = True
            rows.append(_anneal(steps[0], hand, facts))
            if dense and rows[-1]["then"] in told:
                rows[-1]["then"] = hand.say("cards.anneal.as_before")
            told.add(rows[-1]["then"])
        elif tool in runs and len(steps) > 1:
            rows.append(_run(tool, steps, hand))
        else:
            rows += [_row(step, hand) for step in steps]
    return _legend_once(rows, hand)


def _legend_once(rows: list[dict[str, Any]], hand: Hand) -> list[dict[str, Any]]:
    """What holds for every run, and what stands under its sizes, is said at the first."""
    told: set[str] = set()
    for row in rows:
        if row["kind"] != "run":
            continue
        under = row.pop("under")
        said = [row["note"], hand.say(under) if under else ""]
        row["note"] = " ".join(one for one in said if one and one not in told)
        told.update(said)
    return rows


def _alike(step: Step, runs: Sequence[str]) -> tuple[str, str, str]:
    """Steps that may stand in one line; a turned bar or another section begins a new one."""
    if step.tool not in runs:
        return step.tool, str(step.n), ""
    note = step.note.code if step.note and step.tool == "flats" else ""
    return step.tool, step.effort, note


def _minds(cautions: Sequence[Caution], places: Sequence[str], hand: Hand) -> list[dict[str, Any]]:
    lines = list(dict.fromkeys(hand.short(one) for one in cautions if one.at in places))
    return [{"kind": "mind", "lines": lines}] if lines else []


def _row(step: Step, hand: Hand) -> dict[str, Any]:
    return {
        "kind": "row",
        "ticks": step.passes if 1 < step.passes <= _TICKS_MOST else 1,
        "text": _said(step, hand),
        "note": _note(step, hand),
        "effort": hand.say(f"cards.effort.{step.effort}") if step.passes else "",
        "hard": step.effort == "two_hands",
        "length": hand.length(step.length_mm),
    }


def _run(tool: str, steps: Sequence[Step], hand: Hand) -> dict[str, Any]:
    passes = sum(max(1, step.passes) for step in steps)
    values: dict[str, SayingValue] = {"passes": hand.count(passes)}
    first = steps[0]
    note = hand.short(first.note) if first.note and tool == "flats" else ""
    if tool == "groove":
        note = hand.say("cards.do.quarter")
    pulls = max((_pulls(step) for step in steps), default=0)
    if pulls > 1:
        note = hand.say("cards.do.pulls", pulls=pulls)
    cells = [_cell(step, hand) for step in steps]
    if any(cell["under"] for cell in cells):
        cells = [{**cell, "under": cell["under"] or "\N{NO-BREAK SPACE}"} for cell in cells]
    return {
        "kind": "run",
        "text": hand.say(f"cards.do.{tool}.run", **values),
        "note": note,
        "under": f"cards.under.{tool}" if any(cell["under"] for cell in cells) else "",
        "cells": cells,
        "effort": hand.say(f"cards.effort.{first.effort}"),
        "hard": first.effort == "two_hands",
        "length": hand.length(steps[-1].length_mm),
    }


def _cell(step: Step, hand: Hand) -> dict[str, Any]:
    """One size with a tick box a pass; under it the screw's turns, or the gap left open."""
    under = "" if step.screw_turn is None else _turn(step.screw_turn)
    if step.tool == "groove" and step.note:
        gaps = [step.note.values.get(name) for name in ("first", "gap")]
        shown = [hand.bare_size(gap.value) for gap in gaps if isinstance(gap, Quantity)]
        under = "\N{RIGHTWARDS ARROW}".join(shown)
    return {
        "ticks": step.passes if 1 < step.passes <= _TICKS_MOST else 1,
        "size": hand.bare_size(step.size_mm),
        "under": under,
    }


def _turn(turns: float) -> str:
    """A turn of the screw in twentieths: down closes the rolls; nothing where it stays."""
    rounded = to_step(abs(turns), _TURN_STEP)
    if not rounded:
        return ""
    arrow = "\N{DOWNWARDS ARROW}" if turns >= 0 else "\N{UPWARDS ARROW}"
    return f"{arrow}{rounded:.2f}"


def _pulls(step: Step) -> int:
    if step.note is None or step.note.code != "mill.note.grip_again":
        return 0
    pulls = step.note.values.get("pulls", 0)
    return int(pulls) if isinstance(pulls, int | float) else 0


def _said(step: Step, hand: Hand) -> str:
    """What to do in the bench's words."""
    values: dict[str, SayingValue] = {
        "size": hand.bare_size(step.size_mm),
        "passes": hand.count(max(1, step.passes)),
        "section": hand.section(step.section),
    }
    many = ".many" if step.passes > 1 else ""
    if step.tool in ("groove", "flats", "hole"):
        return hand.say(f"cards.do.{step.tool}{many}", **values)
    if step.tool == "hammer":
        return hand.say("cards.do.hammer", **values)
    return hand.short(step.note) if step.note else hand.say(f"cards.do.{step.tool}", **values)


def _note(step: Step, hand: Hand) -> str:
    if step.note is None or step.tool not in ("groove", "flats", "hole", "hammer"):
        return ""
    return hand.short(step.note)


def _anneal(step: Step, hand: Hand, facts: Tables) -> dict[str, Any]:
    values = dict(step.note.values) if step.note else {}
    if step.note and "sign" not in values:
        whole = {"kind": "anneal", "text": "", "then": hand.short(step.note)}
        return {**whole, "length": hand.length(step.length_mm)}
    most = _never_over(values, facts)
    sign, cooling = (values.get(name, "") for name in ("sign", "cooling"))
    said = {
        "sign": sign,
        "cooling": cooling,
        "most": hand.heat(most) if most else "",
    }
    code = "cards.anneal.signed" if most and sign else "cards.anneal.bare"
    return {
        "kind": "anneal",
        "text": hand.say(code, **said),
        "then": hand.say("cards.anneal.then", **said) if cooling else "",
        "length": hand.length(step.length_mm),
    }


def _never_over(values: dict[str, SayingValue], facts: Tables) -> float | None:
    """The temperature that a card names as never to be passed: a little over the band, and
    well under the first melting."""
    hi, never = values.get("hi"), values.get("never")
    if not isinstance(hi, Quantity):
        return None
    rules = facts.table("cards_rules")
    most = hi.value + rules["anneal_above_k"].number("value")
    if isinstance(never, Quantity):
        most = min(most, never.value - rules["anneal_below_solidus_k"].number("value"))
    return hand_temperature(most, "down")
