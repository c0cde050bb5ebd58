"""At the mill: each bar's way to sheet and wire, pass by pass, and on to the saw and the drawer."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.urls import path

from lemel.book import Book, PlanStep
from lemel.errors import BadInput
from lemel.mill import CRACKS, Route
from lemel.values import Quantity, Saying, StockNeed
from lemel.web import given, shell
from lemel.web.furnace_acts import Refused, faults, refused
from lemel.web.furnace_heats import accepted, kept_plan
from lemel.web.mill_bench import TAKEN_BACK, AtWork, at_work, cracked, plan_step, real_bar, replan
from lemel.web.reader import remedy, say

__all__ = ["urlpatterns"]

_WORKED = ("take", "part", "mill", "cut")
_SIZES = ("thickness_mm", "width_mm", "length_mm")
_SOFTENING = ("anneal", "age")
#: How far a step is, in the order in which the list shows it.
_DUE = ("at work", "ready", "waits", "done")
#: What a crack looks like.
CRACK_WORDS = {
    "edge": "at the edge", "cross": "right across", "fish_mouth": "the end splits like a mouth",
    "blister": "a blister", "lamination": "a layer lifts",
}  # fmt: skip


def index(request: HttpRequest) -> HttpResponse:
    """Every step at the mill and the saw: what can be done now first, then in the plan's order."""
    book = shell.book()
    rows = []
    for plan in accepted(book):
        there = {a.body for a in book.balances(place="store")}
        for step in book.steps(plan):
            if step.kind in _WORKED:
                rows.append({"plan": plan, "step": step, **_how_far(book, plan, step, there)})
    rows.sort(key=lambda row: _DUE.index(row["state"]))
    return shell.show(request, "web/mill/index.html", {"rows": rows})


def _how_far(book: Book, plan: str, step: PlanStep, there: set[str]) -> dict[str, Any]:
    if step.done:
        return {"state": "done"}
    if not all(body in there for body in step.takes_mg):
        return {"state": "waits"}
    if step.kind != "mill":
        return {"state": "ready"}
    at = at_work(book, plan, step.name)
    return {"state": "at work" if at.done else "ready", "at": at}


def work(request: HttpRequest, plan: str, name: str) -> HttpResponse:
    """One step: the instruction that is due, or the weighing at its end."""
    book = shell.book()
    step = plan_step(book, plan, name)
    if step.kind not in _WORKED:
        return redirect("furnace-heat", plan, step.about.removeprefix(f"{plan}/"))
    with faults(request):
        if request.method == "POST":
            _ACTS[given.choice(request, "do", _ACTS)](request, book, plan, step)
            if request.headers.get("X-Line"):
                return JsonResponse({"kept": name})
            return redirect("mill-work", plan, name)
    found: dict[str, str] = getattr(request, "faults", {})
    if found and request.headers.get("X-Line"):
        return JsonResponse({"refused": list(found.values())}, status=422)
    return _show(request, book, plan, plan_step(book, plan, name))


def _show(request: HttpRequest, book: Book, plan: str, step: PlanStep) -> HttpResponse:
    there = {a.body for a in book.balances(place="store")}
    context: dict[str, Any] = {
        "plan": plan, "step": step, "waits": not step.done and not set(step.takes_mg) <= there,
        "gives": [(own, mg) for own, mg in step.gives_mg.items() if own != step.name],
        "source": next(iter(step.takes_mg)), "cracks": CRACK_WORDS.items(),
        "after": _following(book, plan, step),
    }  # fmt: skip
    if step.kind == "mill":
        at = at_work(book, plan, step.name)
        real = real_bar(book, at)
        context |= {
            "at": at,
            "real": real,
            "steps": _rows(at),
            "last": at.events.get(at.done),
            "suspect": at.body in book.mishaps.suspects(),
        }
        return shell.show(request, "web/mill/work.html", context)
    if step.kind == "cut":
        context |= _layout(book, plan, step)
    if step.done:
        context["made"] = [(f"{plan}/{own}", mg) for own, mg in context["gives"]]
        context["places"] = {one.body: one.place for one in book.bench.stock()}
    return shell.show(request, "web/mill/weigh.html", context)


def _following(book: Book, plan: str, step: PlanStep) -> PlanStep | None:
    """The step that takes what this one gives."""
    own = {f"{plan}/{one}" for one in step.gives_mg}
    for one in book.steps(plan):
        if one.name != step.name and not one.done and own & set(one.takes_mg):
            return one
    return None


def _rows(at: AtWork) -> list[dict[str, Any]]:
    words = {at.done: "now", at.done + 1: "next"}
    return [
        {"step": one, "event": at.events.get(n + 1),
         "state": "done" if n < at.done else words.get(n, "later")}
        for n, one in enumerate(at.route.steps)
    ]  # fmt: skip


def _layout(book: Book, plan: str, step: PlanStep) -> dict[str, Any]:
    bar = step.name.removeprefix("cut ")
    for one in kept_plan(book, plan).stock:
        if one.layout is not None and bar in one.layout.drawing:
            sheet = next((s for s in one.layout.sheets if s.bar == bar), None)
            return {"layout": one.layout, "sheet": sheet, "bar": bar}
    return {}


def drawing(request: HttpRequest, plan: str) -> HttpResponse:
    """How the stock is marked out, full size, as the plan drew it."""
    book = shell.book()
    bar = str(request.GET.get("bar", ""))
    for one in kept_plan(book, plan).stock:
        if one.layout is not None and bar in one.layout.drawing:
            return HttpResponse(one.layout.drawing[bar], "image/svg+xml")
    raise BadInput("bar", bar, "a bar that is marked out", "Choose a bar of the plan.")


def _tick(request: HttpRequest, book: Book, plan: str, step: PlanStep) -> None:
    """One instruction is done, with what was measured after it."""
    at = at_work(book, plan, step.name)
    n = given.whole(request, "n", least=1, most=len(at.route.steps))
    sizes = {
        name: value
        for name in _SIZES
        if (value := given.optional_number(request, name, "mm", least=0.05, most=100_000))
        is not None
    }
    if n > at.done + 1:
        raise BadInput("n", n, f"step {at.done + 1}", "One after the other, as they come.")
    run, number = book.bench.begin_run(plan, step.name), at.after + n
    there = {one.n: one for one in _events(book, plan, step.name)}
    mend = number in there and there[number].note == TAKEN_BACK
    if at.route.steps[n - 1].tool in _SOFTENING:
        book.bench.tick_anneal(run, number, mend=mend)
    else:
        book.bench.tick_pass(run, number, sizes, mend=mend)


def _events(book: Book, plan: str, step: str) -> tuple[Any, ...]:
    runs = book.bench.runs(plan, step)
    return tuple(runs[-1].events) if runs else ()


def _undo(request: HttpRequest, book: Book, plan: str, step: PlanStep) -> None:
    """The last tick was a mistake; a step that was weighed out goes back on the bench."""
    if step.done:
        for said in book.mishaps.undo_step(plan, step.name).next:
            shell.tell(request, say(said))
        return
    if step.kind != "mill":
        raise BadInput("do", "undo", "a step that was done", "There is nothing to take back.")
    at = at_work(book, plan, step.name)
    if not at.done:
        raise BadInput("do", "undo", "a pass that was ticked", "There is nothing to take back.")
    book.bench.tick_pass(at.run, at.after + at.done, note=TAKEN_BACK, mend=True)


def _replan(request: HttpRequest, book: Book, plan: str, step: PlanStep) -> None:
    """A new way from the bar as it is."""
    at = at_work(book, plan, step.name)
    route, need = replan(book, at, given.choice(request, "why", ("measured", "short")))
    if route.status == "infeasible":
        raise Refused("why", " ".join(_no_way(route)))
    shell.tell(request, f"A new way from the bar as it is: {route.passes} passes, "
               f"{route.anneals} anneals.")  # fmt: skip
    _tell_shorter(request, at, need)


def _no_way(route: Route) -> list[str]:
    """Why there is none, and each way out once."""
    said = [say(one) for one in route.objections]
    said += [remedy(one) for one in route.objections if one.remedy]
    return list(dict.fromkeys((*said, *(say(one) for one in route.ways_out))))


def _tell_shorter(request: HttpRequest, at: AtWork, need: StockNeed) -> None:
    """A sheet that comes out shorter than the plan wanted it."""
    if need.area_mm is None or need == at.work.need:
        return
    wanted, comes = (Quantity(max(one.area_mm or (0.0,)), "mm") for one in (at.work.need, need))
    shell.tell(request, say(Saying("web.mill.shorter", {"comes": comes, "wanted": wanted})))


def _crack(request: HttpRequest, book: Book, plan: str, step: PlanStep) -> None:
    """Cut past the root, anneal, go on lighter; or the heat itself is in doubt."""
    at = at_work(book, plan, step.name)
    kind = given.choice(request, "kind", CRACKS)
    place = given.number(request, "place_mm", "mm", most=100_000)
    depth = given.number(request, "depth_mm", "mm", least=0.01, most=1000)
    advice, need = cracked(book, at, kind, place, depth)
    for said in (*advice.do, *advice.says):
        shell.tell(request, say(said))
    if advice.route is not None and advice.route.status == "infeasible":
        shell.tell(request, " ".join(_no_way(advice.route)))
    else:
        _tell_shorter(request, at, need)
    if advice.suspect:
        _suspect_now(request, book, at.body, place, depth)


def _suspect_now(
    request: HttpRequest, book: Book, body: str, place: float | None, depth: float | None
) -> None:
    done = book.mishaps.fault(body, "crack", place_mm=place, depth_mm=depth)
    shell.tell(request, f"Under suspicion now: {', '.join(done.suspect)}.")


def _suspect(request: HttpRequest, book: Book, plan: str, step: PlanStep) -> None:  # noqa: ARG001
    _suspect_now(request, book, next(iter(step.takes_mg)), None, None)


def _weigh(request: HttpRequest, book: Book, plan: str, step: PlanStep) -> None:
    """The step is over: what came of it, by weight."""
    after = {
        own: grams
        for own in step.gives_mg
        if own != step.name
        and (grams := given.optional_number(request, f"after_g-{own}", "g", most=50_000))
        is not None
    }
    source = next(iter(step.takes_mg))
    before = given.optional_number(request, "before_g", "g", least=0.001, most=50_000)
    sure = bool(given.text(request, "sure", need=False))
    if not after and not step.done:
        first = next(own for own in step.gives_mg if own != step.name)
        raise BadInput(f"after_g-{first}", "", "what came of it", "Weigh it.")
    done = book.work(
        plan, step.name, before={source: before} if before else None, after=after,
        answers={source: "book_difference", step.about: "book_difference"} if sure else None,
        at=given.text(request, "at", need=False, longest=20),
    )  # fmt: skip
    if done.entry is None:
        raise refused(done.objections, "sure")
    runs = book.bench.runs(plan, step.name)
    if runs and not runs[-1].ended:
        book.bench.end_run(runs[-1].id)
    for said in done.next:
        shell.tell(request, say(said))


def _shelve(request: HttpRequest, book: Book, plan: str, step: PlanStep) -> None:
    """Into which drawer or bag a finished thing goes."""
    body = given.choice(request, "body", [f"{plan}/{own}" for own in step.gives_mg])
    book.bench.set_place(body, given.text(request, "place", longest=80))
    shell.tell(request, f"{body} lies in {given.text(request, 'place')}.")


_ACTS = {
    "tick": _tick, "undo": _undo, "replan": _replan, "crack": _crack, "suspect": _suspect,
    "weigh": _weigh, "shelve": _shelve,
}  # fmt: skip
urlpatterns = [
    path("", index, name="mill"),
    path("drawing/<str:plan>/", drawing, name="mill-drawing"),
    path("<str:plan>/<path:name>/", work, name="mill-work"),
]
