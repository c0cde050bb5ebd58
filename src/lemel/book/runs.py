"""Working runs: what was really done to a bar, pass by pass, and where it stands now."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

from lemel.book import filing, flow, models
from lemel.book.bench_values import Run, RunEvent
from lemel.book.chain import text_digest
from lemel.errors import BadInput
from lemel.values import Bar, BarFault, Section, is_positive, not_negative

__all__ = ["WHATS", "as_worked", "begin", "end", "event", "runs", "worked"]

_RUN, _EVENT = "run", "run_event"
WHATS = ("pass", "anneal", "crack")
_SIZES = ("thickness_mm", "width_mm", "length_mm")
#: Far more passes than any bar has had.
_MOST = 9999


def begin(alias: str, now: str, plan: str, step: str, by: str) -> str:
    """The run of a step that is under way, or a new one where the last is ended; its id."""
    found = flow.planned_step(alias, plan, step)
    if found.kind in ("melt_and_pour", "top_up"):
        raise BadInput("step", step, "a step that works a bar", "Charge and pour the heat.")
    there = runs(alias, plan, step)
    if there and not there[-1].ended:
        return there[-1].id
    if found.done:
        raise BadInput("step", step, "a step that is still to be done", "It is weighed out.")
    name = f"{_stem(plan, step)}-{len(there) + 1}"
    filing.file(alias, now, _RUN, name, {"plan": plan, "step": step, "ended": ""}, by=by)
    return name


def _stem(plan: str, step: str) -> str:
    return f"run-{text_digest(f'{plan}: {step}')[:12]}"


def event(
    alias: str, now: str, run: str, n: int, what: str, facts: dict[str, Any], by: str, mend: bool
) -> RunEvent:
    """One pass, anneal or crack. The same (run, n) with the same content is the same event;
    another content is refused unless it is to mend what was written."""
    standing = filing.must_stand(alias, _RUN, run)
    if isinstance(n, bool) or not isinstance(n, int) or not 1 <= n <= _MOST:
        raise BadInput("n", n, f"1 to {_MOST}", "Count the passes from 1.")
    for name in _SIZES:
        if facts.get(name) is not None:
            is_positive(name, facts[name])
    for name in ("place_mm", "depth_mm"):
        if facts.get(name) is not None:
            not_negative(name, facts[name])
    said = {key: one for key, one in facts.items() if one not in (None, "")}
    record = {"run": run, "n": n, "what": what, **said}
    name = f"{run}/{n:04d}"
    last = filing.newest(alias, _EVENT, name)
    if last is not None and last.record == record:
        return _event(last)
    if last is not None and not mend:
        raise BadInput(
            "n", n, "a number that is free, or the same again", "Say that it is to be mended."
        )
    if standing.record["ended"] and not mend:
        raise BadInput("run", run, "a run that is not ended", "Begin the step again.")
    return _event(filing.file(alias, now, _EVENT, name, record, by=by))


def _event(filed: filing.Filing) -> RunEvent:
    said = {key: one for key, one in filed.record.items() if key != "run"}
    return RunEvent(at=filed.made_at, by=filed.by, **said)


def end(alias: str, now: str, run: str, how: str, by: str) -> None:
    """The run is over: "done", or why it stopped. The same again changes nothing."""
    if not how.strip():
        raise BadInput("how", how, "done, or why it stopped", "Say how it ended.")
    last = filing.must_stand(alias, _RUN, run)
    if last.record["ended"] not in ("", how.strip()):
        raise BadInput("run", run, "a run that is not ended", f"It ended: {last.record['ended']}.")
    filing.file(alias, now, _RUN, run, {**last.record, "ended": how.strip()}, by=last.by or by)


def runs(alias: str, plan: str, step: str | None = None) -> tuple[Run, ...]:
    """Runs of a plan's steps, or of one, each with its events by number."""
    rows = models.Filed.objects.using(alias).filter(kind=_RUN, n=1).order_by("number")
    first = {row.name: row.made_at for row in rows}
    found = []
    standing = filing.all_of(alias, _RUN)
    wanted = [
        name
        for name in first
        if standing[name].record["plan"] == plan and step in (None, standing[name].record["step"])
    ]
    events = _events(alias, wanted)
    for name in wanted:
        one = standing[name]
        ended = one.record["ended"]
        found.append(
            Run(
                name, plan, one.record["step"], first[name], one.by,
                tuple(events.get(name, ())), ended, one.made_at if ended else "",
            )
        )  # fmt: skip
    return tuple(found)


def _events(alias: str, names: list[str]) -> dict[str, list[RunEvent]]:
    found: dict[str, list[RunEvent]] = {}
    if not names:
        return found
    for one in filing.all_of(alias, _EVENT).values():
        if one.record["run"] in names:
            found.setdefault(one.record["run"], []).append(_event(one))
    for events in found.values():
        events.sort(key=lambda event: event.n)
    return found


def worked(alias: str) -> dict[str, tuple[Run, ...]]:
    """Runs by the body that they work; those of steps that are weighed out are over."""
    found: dict[str, list[Run]] = {}
    plans = {one.record["plan"] for one in filing.all_of(alias, _RUN).values()}
    for plan in sorted(plans):
        for run in runs(alias, plan):
            row = (
                models.Step.objects.using(alias)
                .filter(plan_id=plan, name=run.step)
                .values_list("entry_id", "planned")
                .first()
            )
            if row is not None and row[0] is None and run.events:
                body = json.loads(row[1])["takes"][0][1]
                found.setdefault(body, []).append(run)
    return {body: tuple(all_of) for body, all_of in found.items()}


def as_worked(bar: Bar, done: tuple[Run, ...]) -> Bar:
    """A bar as its runs have left it: size, softness, anneals and cracks.

    Only what was measured is known: thickness and width make a flat, a thickness alone keeps
    the kind of section that the bar had.
    """
    for run in done:
        for event in run.events:
            bar = _after(bar, event)
    return bar


def _after(bar: Bar, event: RunEvent) -> Bar:
    if event.what == "anneal":
        return replace(bar, soft_section=bar.section, anneals=bar.anneals + 1)
    if event.what == "crack":
        fault = BarFault("crack", event.place_mm, event.depth_mm, event.note)
        return replace(bar, faults=(*bar.faults, fault))
    section = _section(bar.section, event)
    length = event.length_mm
    if length is None:
        length = bar.length_mm * bar.section.area_mm2 / section.area_mm2
    kind = bar.kind if section == bar.section else "working"
    cast = bar.cast_section or (bar.section if bar.soft_section is None else None)
    return replace(bar, section=section, length_mm=length, kind=kind, cast_section=cast)


def _section(old: Section, event: RunEvent) -> Section:
    thick, wide = event.thickness_mm, event.width_mm
    if thick is not None and wide is not None:
        if old.kind in ("half_round", "oval"):
            return Section.of(old.kind, {"height": thick, "width": wide}, old.corner)
        square = abs(thick - wide) < 1e-9 and old.kind in ("square", "round")
        return (
            _side(old, thick)
            if square
            else Section.of("flat", {"thickness": thick, "width": wide}, old.corner)
        )
    if thick is None:
        return old
    if old.kind in ("square", "round"):
        return _side(old, thick)
    other = "thickness" if old.kind == "flat" else "height"
    return Section.of(old.kind, {**dict(old.dims_mm), other: thick}, old.corner)


def _side(old: Section, size: float) -> Section:
    name = "side" if old.kind == "square" else "diameter"
    return Section.of(old.kind, {name: size}, old.corner)
