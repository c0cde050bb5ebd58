"""At the furnace: the heats of the plan, each from light-up to the cold bar."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.urls import path

from lemel.book import Book
from lemel.plan import HeatPlan
from lemel.web import given, poured, shell
from lemel.web.furnace_acts import Here, Refused, bag_limit_g, faults, held_g, lit, write
from lemel.web.furnace_curve import curve
from lemel.web.furnace_day import (
    clock,
    clock_min,
    fire_of,
    here_and_now_min,
    looks,
    times,
    workshop_of,
)
from lemel.web.furnace_heats import heat_plan, heat_rows
from lemel.web.furnace_lines import Entry, Log, entry_of, is_kept, keep, log_of, new_id
from lemel.web.furnace_steps import RunStep, run_steps
from lemel.web.furnace_wrong import wrong

__all__ = ["urlpatterns"]

_SEEN = ("seen", "not_yet")


def index(request: HttpRequest) -> HttpResponse:
    """Every heat of the accepted plans, and how it stands."""
    return shell.show(request, "web/furnace/index.html", {"heats": heat_rows(shell.book())})


def heat(request: HttpRequest, plan: str, name: str) -> HttpResponse:
    """One heat: on to whatever is next for it."""
    book = shell.book()
    one = heat_plan(book, plan, name)
    state, log = book.heat_state(plan, name), log_of(book, plan, name)
    if log.last("rehearsed") is None and state == "planned":
        return redirect("furnace-rehearse", plan, name)
    if state == "planned":
        return redirect("furnace-charge", plan, name)
    if state in ("poured", "proven", "closed"):
        return redirect("poured", plan, name)
    steps = run_steps(one)
    context = {
        **_about(book, plan, one, log), "log": log, "lit": lit(log, one),
        "steps": _standing(steps, log), "finished": all(s.key in log.done() for s in steps),
        "id": new_id(), "lots": book.lots(), "undo": log.entries[-1] if log.entries else None,
    }  # fmt: skip
    return shell.show(request, "web/furnace/run.html", context)


def _about(book: Book, plan: str, one: HeatPlan, log: Log) -> dict[str, Any]:
    rehearsed = log.last("rehearsed")
    return {
        "plan": plan, "heat": one, "owner": book.owners().get(one.owner, one.owner),
        "state": book.heat_state(plan, one.id), "rehearsed": rehearsed,
        "latest": clock(rehearsed.facts["latest_min"]) if rehearsed else "",
        "closes": clock(rehearsed.facts["closes_min"]) if rehearsed else "",
    }  # fmt: skip


def _standing(steps: tuple[RunStep, ...], log: Log) -> list[tuple[str, RunStep, Entry | None]]:
    """done, now, next, later for each step, with the line that says that it is done."""
    done = log.done()
    left = [one.key for one in steps if one.key not in done]
    names = dict(zip(left, ("now", "next"), strict=False))
    return [
        ("done" if one.key in done else names.get(one.key, "later"), one, done.get(one.key))
        for one in steps
    ]


def rehearse(request: HttpRequest, plan: str, name: str) -> HttpResponse:
    """Who is in the room, what is seen and gone through cold, when to light up at the latest."""
    book = shell.book()
    one = heat_plan(book, plan, name)
    log = log_of(book, plan, name)
    with faults(request):
        if request.method == "POST":
            _rehearsed(request, book, plan, one)
            return redirect("furnace-heat", plan, name)
    shown = [(look, str(request.POST.get(f"seen-{look.key}", ""))) for look in looks(one)]
    shop = workshop_of(book)
    closes = shop.rules.closing_time if shop else ""
    context = {
        **_about(book, plan, one, log), "looks": shown, "id": new_id(), "closing": closes,
        "now": clock(here_and_now_min()), "people": log.people,
    }  # fmt: skip
    return shell.show(request, "web/furnace/rehearse.html", context)


def _rehearsed(request: HttpRequest, book: Book, plan: str, one: HeatPlan) -> None:
    people = given.text(request, "people")
    missing = {}
    for look in looks(one):
        seen = given.choice(request, f"seen-{look.key}", _SEEN)
        if seen != "seen":
            missing[f"seen-{look.key}"] = look.cannot
    if missing:
        request.faults = missing
        first = next(iter(missing.items()))
        raise Refused(*first)
    closes = clock_min(given.text(request, "closes", longest=5), "closes")
    light = clock_min(given.text(request, "light_at", longest=5), "light_at")
    found = times(one, fire_of(book, one), closes, light)
    if found.late:
        raise Refused("light_at", " ".join(found.late))
    facts = {"closes_min": closes, "light_min": light, "latest_min": found.latest_min,
             "length_min": found.length_min}  # fmt: skip
    entry = entry_of(request, "rehearsed", "", facts)
    if not is_kept(book, plan, one.id, entry):
        keep(book, plan, one.id, entry, private={"people": people})


def charge(request: HttpRequest, plan: str, name: str) -> HttpResponse:
    """Each bag on the balance, then from the bag into its tub."""
    book = shell.book()
    one = heat_plan(book, plan, name)
    if book.heat_state(plan, name) != "planned":
        return redirect("furnace-heat", plan, name)
    return _show_charge(request, book, plan, one)


def _show_charge(request: HttpRequest, book: Book, plan: str, one: HeatPlan) -> HttpResponse:
    log = log_of(book, plan, one.id)
    bags = {entry.step: entry for entry in log.all("bag")}
    rows = []
    for line in one.charge.lines:
        says = held_g(book, one, line.body)
        tubs = [(fill.n, grams) for fill in one.melt.fills for body, grams in fill.tubs
                if body == line.body]  # fmt: skip
        rows.append({
            "line": line, "says": says, "limit": bag_limit_g(says), "tubs": tubs,
            "bag": bags.get(line.body), "id": new_id(),
        })  # fmt: skip
    asked = str(request.POST.get("step", "")) if request.method == "POST" else ""
    context = {
        **_about(book, plan, one, log), "rows": rows, "id": new_id(), "asked": asked,
        "whole": all(row["bag"] for row in rows),
        "cautions": [c for c in one.melt.cautions if c.at == "charge"],
    }  # fmt: skip
    return shell.show(request, "web/furnace/charge.html", context)


def line(request: HttpRequest, plan: str, name: str) -> HttpResponse:
    """One line from the fire: by the phone's script, or as a plain form."""
    book = shell.book()
    one = heat_plan(book, plan, name)
    if request.method != "POST":
        return redirect("furnace-heat", plan, name)
    by_script = bool(request.headers.get("X-Line"))
    with faults(request):
        write(Here(request, book, plan, one))
    found: dict[str, str] = getattr(request, "faults", {})
    if by_script:
        said = {"refused": list(found.values())} if found else {"kept": True}
        return JsonResponse(said, status=422 if found else 200)
    if not found:
        return redirect("furnace-heat", plan, name)
    if book.heat_state(plan, name) == "planned":
        return _show_charge(request, book, plan, one)
    return heat(request, plan, name)


def state(_request: HttpRequest, plan: str, name: str) -> HttpResponse:
    """How the heat stands, for the phone's script."""
    book = shell.book()
    one = heat_plan(book, plan, name)
    log = log_of(book, plan, name)
    began, last = lit(log, one), log.entries[-1] if log.entries else None
    return JsonResponse({
        "state": book.heat_state(plan, name),
        "done": {key: [one.pressed_ms, one.id] for key, one in log.done().items()},
        "bags": sorted({entry.step for entry in log.all("bag")}),
        "lit_ms": began.pressed_ms if began else None,
        "undo": last.id if last else "",
        "curve": curve(book, one, log),
    })  # fmt: skip


urlpatterns = [
    path("", index, name="furnace"),
    path("<str:plan>/<str:name>/", heat, name="furnace-heat"),
    path("<str:plan>/<str:name>/rehearse/", rehearse, name="furnace-rehearse"),
    path("<str:plan>/<str:name>/charge/", charge, name="furnace-charge"),
    path("<str:plan>/<str:name>/line/", line, name="furnace-line"),
    path("<str:plan>/<str:name>/state/", state, name="furnace-state"),
    path("<str:plan>/<str:name>/wrong/", wrong, name="furnace-wrong"),
    *poured.urlpatterns,
]
