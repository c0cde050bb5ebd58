"""The plan: asked for with its wishes, made beside the page, looked through, accepted."""

from __future__ import annotations

import secrets
from dataclasses import replace
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import path

from lemel.book import Book, Job, plans_at_work
from lemel.cards import month_pdf
from lemel.errors import BadInput
from lemel.plan import PlanOptions, PlanProblem
from lemel.values import to_plain
from lemel.web import given, shell
from lemel.web.plan_compare import compared
from lemel.web.plan_jobs import ABOUT, Made, made, preview, recent
from lemel.web.plan_quote import quote, quote_pdf
from lemel.web.plan_view import COURSES, shown

__all__ = ["urlpatterns"]

_ONCE = "plan_once"
_WISHES = {"": "as it comes", "first": "use first", "out": "leave out"}
#: Bags that can be wished for one by one; of more, none is listed.
_BAGS_MOST = 150


def ask(request: HttpRequest) -> HttpResponse:
    """What is to be planned, and what is wished."""
    book = shell.book()
    with shell.faults(request):
        if request.method == "POST":
            return redirect("plan", _start(request, book))
    problem = book.bench.problem()
    rules = problem.workshop.rules
    context = {
        "lines": problem.orders, "lots": problem.lots[:_BAGS_MOST],
        "more_lots": len(problem.lots) > _BAGS_MOST, "moulds": problem.workshop.moulds,
        "wishes": _WISHES.items(), "courses": COURSES.items(), "course": rules.course,
        "promise": f"{rules.probability * 100:g}", "owners": book.owners(),
        "once": secrets.token_hex(8), "jobs": recent(book),
        "chosen": request.POST.getlist("line"), "chosen_moulds": request.POST.getlist("mould"),
        "again": request.method == "POST",
        "wished": [(lot, str(request.POST.get(f"lot-{lot.id}", "")))
                   for lot in problem.lots[:_BAGS_MOST]],
    }  # fmt: skip
    return shell.show(request, "web/plan/ask.html", context)


def _start(request: HttpRequest, book: Book) -> str:
    """The job's id; the same form sent twice is one job."""
    once = given.text(request, "once", longest=32)
    asked: dict[str, str] = request.session.get(_ONCE, {})
    if once in asked:
        return asked[once]
    question = {
        "problem": to_plain(_problem(request, book)),
        "finer": bool(given.text(request, "finer", need=False)),
    }
    job = book.jobs.start("plan", question, about=ABOUT)
    request.session[_ONCE] = dict([*asked.items(), (once, job)][-6:])
    return job


def _problem(request: HttpRequest, book: Book) -> PlanProblem:
    lines = request.POST.getlist("line")
    if not lines:
        raise BadInput("line", "", "one order line or more", "Tick what is to be made.")
    promise = given.number(request, "promise", "%", least=50, most=99.999) / 100
    course = given.choice(request, "course", COURSES)
    whole = book.bench.problem()
    wishes = {lot.id: str(request.POST.get(f"lot-{lot.id}", "")) for lot in whole.lots}
    moulds = tuple(request.POST.getlist("mould"))
    known = {mould.id for mould in whole.workshop.moulds}
    for mould in moulds:
        if mould not in known:
            raise BadInput("mould", mould, ", ".join(sorted(known)), "Choose among the moulds.")
    options = PlanOptions(
        use_first=tuple(lot for lot, wish in wishes.items() if wish == "first"),
        leave_out=tuple(lot for lot, wish in wishes.items() if wish == "out"),
        moulds=() if set(moulds) == known else moulds,
    )
    problem = book.bench.problem(lines=lines, options=options)
    rules = replace(problem.workshop.rules, probability=promise, course=course)
    return replace(problem, workshop=replace(problem.workshop, rules=rules))


def one(request: HttpRequest, name: str) -> HttpResponse:
    """A plan: in the making, made, or accepted."""
    book = shell.book()
    job = next((x for x in book.jobs.recent(ABOUT) if x.id == name), None)
    if job is not None and job.state != "done":
        return _in_the_making(request, book, job)
    found = made(book, name)
    with shell.faults(request):
        if request.method == "POST":
            return _act(request, book, found)
    context = {
        **shown(found.plan), "name": name, "accepted": found.accepted,
        "dropped": found.accepted and found.plan.id not in plans_at_work(book),
        "others": _others(book, name), "orders": list(dict.fromkeys(
            line.order for line in found.plan.lines if line.met_by != "unmet")),
    }  # fmt: skip
    return shell.show(request, "web/plan/plan.html", context)


def _in_the_making(request: HttpRequest, book: Book, job: Job) -> HttpResponse:
    if request.method == "POST":
        book.jobs.stop(job.id)
        shell.tell(request, "It stops at its next look up.")
        return redirect("plan", job.id)
    context: dict[str, Any] = {"job": job, "name": job.id, **_told(job)}
    so_far = preview(job)
    if so_far is not None:
        context |= shown(so_far)
    return shell.show(request, "web/plan/making.html", context)


def _told(job: Job) -> dict[str, Any]:
    """How far a job is, in per cent, and what its best answer can still gain at most."""
    gap = None
    if job.best is not None and job.bound is not None:
        gap = 100 * max(0.0, job.best - job.bound) / max(abs(job.best), 1e-9)
    return {
        "percent": round(100 * job.done),
        "job_gap": gap,
        "has_preview": job.preview is not None,
    }


def progress(request: HttpRequest, name: str) -> HttpResponse:
    """How far it is; the page is fetched anew once there is more to see than that."""
    job = shell.book().jobs.job(name)
    seen = str(request.GET.get("seen", ""))
    answer = shell.part(
        request, "web/plan/progress.html", {"job": job, "name": name, **_told(job)}
    )  # fmt: skip
    if job.state != "running" or (job.preview is not None and seen != "1"):
        answer["HX-Refresh"] = "true"
    return answer


def _act(request: HttpRequest, book: Book, found: Made) -> HttpResponse:
    do = given.choice(request, "do", ("accept", "drop"))
    if do == "drop":
        freed = book.drop_plan(found.plan.id)
        shell.tell(
            request, f"The plan is dropped; {freed / 1000:.2f} g are promised to nobody now."
        )
        return redirect("orders")
    try:
        kept = book.accept(found.plan)
    except BadInput as fault:
        do_now = f"{fault.do} Or make the plan again from what is there now."
        raise BadInput("accept", fault.value, fault.allowed, do_now) from None
    shell.tell(request, f"Accepted: its bags and bars are promised to {found.plan.id} now.")
    return redirect("plan", kept.plan)


def _others(book: Book, name: str) -> list[tuple[str, str]]:
    """Plans that this one can be laid beside."""
    jobs = [(job.id, f"asked for {job.made_at[:16].replace('T', ' ')}")
            for job in recent(book) if job.state == "done"]  # fmt: skip
    kept = [(plan, f"accepted: {plan}") for plan in plans_at_work(book)]
    return [pair for pair in (*jobs, *kept) if pair[0] != name]


def compare(request: HttpRequest) -> HttpResponse:
    """Two plans side by side."""
    book = shell.book()
    names = [str(request.GET.get(key, "")) for key in ("one", "other")]
    mine, theirs = (made(book, name) for name in names)
    context = {
        "one": names[0], "other": names[1], "found": compared(mine.plan, theirs.plan),
        "mine": mine, "theirs": theirs,
    }  # fmt: skip
    return shell.show(request, "web/plan/compare.html", context)


def cards(request: HttpRequest, name: str) -> HttpResponse:  # noqa: ARG001
    """The bench cards of a plan."""
    answer = HttpResponse(month_pdf(made(shell.book(), name).plan), "application/pdf")
    answer["Content-Disposition"] = 'inline; filename="cards.pdf"'
    return answer


def drawing(request: HttpRequest, name: str) -> HttpResponse:
    """How one bar is marked out."""
    bar = str(request.GET.get("bar", ""))
    for work in made(shell.book(), name).plan.stock:
        if work.layout is not None and bar in work.layout.drawing:
            return HttpResponse(work.layout.drawing[bar], "image/svg+xml")
    raise BadInput("bar", bar[:60], "a bar that is marked out", "Choose a bar of the plan.")


urlpatterns = [
    path("", ask, name="plan-ask"),
    path("compare/", compare, name="plan-compare"),
    path("quote/<str:number>.pdf", quote_pdf, name="quote-pdf"),
    path("<str:name>/", one, name="plan"),
    path("<str:name>/progress/", progress, name="plan-progress"),
    path("<str:name>/cards.pdf", cards, name="plan-cards"),
    path("<str:name>/drawing/", drawing, name="plan-drawing"),
    path("<str:name>/quote/", quote, name="plan-quote"),
]
