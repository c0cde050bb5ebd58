"""What the furnace was to do, what its display did, and what is believed of the bath now."""

from __future__ import annotations

from typing import Any

from lemel.book import Book
from lemel.errors import BadInput
from lemel.melt import AddMetal, LiveAnswer, PowerOff, furnace_model, start_live
from lemel.plan import HeatPlan
from lemel.web.furnace_acts import lit
from lemel.web.furnace_day import Fire, fire_of
from lemel.web.furnace_lines import Log
from lemel.web.furnace_steps import run_steps
from lemel.web.heat import glow
from lemel.web.reader import say

__all__ = ["curve", "readings"]

#: Points of the plan's curve that are drawn; more cannot be told apart on a phone.
_MOST_POINTS = 120


def curve(book: Book, heat: HeatPlan, log: Log) -> dict[str, Any]:
    """The plan's curve, the readings, and (furnace and pot on record) where the bath is now."""
    planned = heat.melt.curve
    every = max(1, len(planned.t_s) // _MOST_POINTS)
    shown = readings(heat, log)
    return {
        "t_s": planned.t_s[::every], "bath_c": planned.bath_c[::every],
        "furnace_c": planned.furnace_c[::every], "torch": heat.melt.method == "torch",
        "readings": [{"t_s": t, "c": c, **_seen(c)} for t, c in shown],
        "liquidus_c": heat.melt.liquidus_c, "setpoint_c": heat.melt.setpoint_c,
        "glow": [{"c": c, **_seen(c)} for c in (550, 640, 780, 920, 1060)],
        "live": _live(fire_of(book, heat), heat, log, shown) if shown else None,
    }  # fmt: skip


def readings(heat: HeatPlan, log: Log) -> list[tuple[float, float]]:
    """Seconds since light-up and degC of each reading after it."""
    began = lit(log, heat)
    if began is None:
        return []
    since = [(one.pressed_ms - began.pressed_ms) / 1000 for one in log.all("reading")]
    shown = [float(one.facts["celsius"]) for one in log.all("reading")]
    return [(t, c) for t, c in zip(since, shown, strict=True) if t >= 0]


def _seen(celsius: float) -> dict[str, str]:
    one = glow(celsius)
    return {"word": one.word, "colour": one.colour}


def _live(
    fire: Fire, heat: HeatPlan, log: Log, shown: list[tuple[float, float]]
) -> dict[str, Any] | None:
    """The estimate after the last reading; None without a furnace, or where it makes no sense."""
    if fire.furnace is None or heat.melt.method != "furnace" or not heat.melt.fills:
        return None
    happened = sorted([(t, "read", c) for t, c in shown] + _events(heat, log))
    key = repr((fire.furnace, fire.pot, fire.tables.digest, heat.id, heat.charge, happened))
    if key not in _estimated:
        while len(_estimated) >= _MOST_KEPT:
            _estimated.pop(next(iter(_estimated)), None)
        _estimated[key] = _estimate(fire, heat, happened)
    return _estimated[key]


#: The last estimates by what they rest on: a phone asks every few seconds, a reading comes rarely.
_estimated: dict[str, dict[str, Any] | None] = {}
_MOST_KEPT = 16


def _estimate(
    fire: Fire, heat: HeatPlan, happened: list[tuple[float, str, float]]
) -> dict[str, Any] | None:
    assert fire.furnace is not None
    pour = next((one for one in heat.melt.steps if one.action == "melt.step.pour"), None)
    live = start_live(
        furnace_model(fire.furnace, fire.pot, tables=fire.tables), heat.charge.composition_mean,
        heat.melt.fills[0].mass_g, setpoint_c=heat.melt.setpoint_c,
        pour_at_c=(pour.bath_c_before if pour else None) or heat.melt.liquidus_c,
        tables=fire.tables,
    )  # fmt: skip
    try:
        for at_s, what, value in happened:
            if what == "read":
                live = live.read(at_s, value)
            elif what == "add":
                live = live.happened(AddMetal(at_s, value))
            else:
                live = live.happened(PowerOff(at_s))
        return _said(live.answer())
    except BadInput:
        return None


def _events(heat: HeatPlan, log: Log) -> list[tuple[float, str, float]]:
    """Top-ups and the switching off, as they were ticked."""
    began = lit(log, heat)
    if began is None:
        return []
    done, found = log.done(), []
    by_key = {f"s{n}": one for n, one in enumerate(heat.melt.steps, 1)}
    for step in run_steps(heat):
        if step.key not in done:
            continue
        at_s = (done[step.key].pressed_ms - began.pressed_ms) / 1000
        melt = by_key.get(step.key)
        if melt is not None and melt.fill is not None and melt.fill > 1 and at_s >= 0:
            found.append((at_s, "add", melt.mass_g))
        elif step.kind == "off" and at_s >= 0:
            found.append((at_s, "off", 0.0))
    return found


def _said(now: LiveAnswer) -> dict[str, Any]:
    ready = now.ready_in_s
    return {
        "t_s": now.t_s,
        "bath_c": [now.bath_c.low, now.bath_c.middle, now.bath_c.high],
        "liquid": now.liquid.middle,
        "ready_s": None if ready is None else [ready.low, ready.middle, ready.high],
        "said": [say(one) for one in now.advice],
        **_seen(now.bath_c.middle),
    }
