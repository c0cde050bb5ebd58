"""What came out of a heat: each bar weighed, measured and looked at; what is wrong with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import path

from lemel.book import Book, PlanStep
from lemel.errors import BadInput
from lemel.plan import HeatPlan
from lemel.values import FAULT_KINDS, Bar, Saying
from lemel.web import given, shell
from lemel.web.furnace_acts import faults, refused
from lemel.web.furnace_heats import heat_plan
from lemel.web.furnace_lines import log_of
from lemel.web.furnace_steps import FILLED
from lemel.web.mill_bench import measure, measured
from lemel.web.reader import say

__all__ = ["FAULT_WORDS", "urlpatterns"]

#: What may be wrong with a bar, in the words of the trade; "" is sound.
FAULT_WORDS: Mapping[str, str] = {
    "": "sound", "short": "short", "cold_shut": "cold shut", "pipe": "pipe", "flash": "flash",
    "pits": "pits", "streaks": "streaks", "crack": "crack",
}  # fmt: skip
_SIZES = ("thickness_mm", "width_mm", "length_mm")
_DOES = ("weigh", "fault", "measure", "close", "undo")


@dataclass(frozen=True, slots=True)
class Came:
    """One thing that comes out: its id in the plan and in the book, planned and held mg.

    `bar` None: a feeder, or what stays in the pot. `held_mg` None: not weighed out yet.
    """

    own: str
    body: str
    planned_mg: int
    held_mg: int | None
    bar: Bar | None
    sizes: Mapping[str, float]
    faults: tuple[tuple[str, str], ...] = ()
    in_pot: bool = False
    chosen: str = ""

    @property
    def short_mg(self) -> int:
        """How much lighter than planned."""
        return 0 if self.held_mg is None else self.planned_mg - self.held_mg


def poured(request: HttpRequest, plan: str, name: str) -> HttpResponse:
    """Weigh out, tell faults, measure, close."""
    book = shell.book()
    heat = heat_plan(book, plan, name)
    with faults(request):
        if request.method == "POST":
            _ACTS[given.choice(request, "do", _DOES)](request, book, plan, heat)
            return redirect("poured", plan, name)
    state = book.heat_state(plan, name)
    filled = {
        one.step: str(one.facts["filled"]) for one in log_of(book, plan, name).all("step")
        if one.facts.get("filled") in FILLED
    }  # fmt: skip
    came = _came(book, plan, heat, request.POST.dict())
    context = {
        "plan": plan, "heat": heat, "state": state, "came": came,
        "out": state in ("poured", "proven", "closed"), "fault_words": FAULT_WORDS.items(),
        "told_short": [key for key, how in filled.items() if how != "full"],
        "kinds": [one for one in FAULT_WORDS.items() if one[0]],
    }  # fmt: skip
    return shell.show(request, "web/furnace/poured.html", context)


def _pour_step(book: Book, plan: str, heat: HeatPlan) -> PlanStep:
    return next(one for one in book.steps(plan) if one.name == f"{heat.id} melt and pour")


def _came(
    book: Book, plan: str, heat: HeatPlan, asked: Mapping[str, str] | None = None
) -> list[Came]:
    asked = asked or {}
    step = _pour_step(book, plan, heat)
    bars = {casting.bar.id: casting.bar for pour in heat.pours for casting in pour.castings}
    held = {a.body: m.gross_mg for a, m in book.balances(heat.owner, "store").items()}
    pots = {a.body: m.gross_mg for a, m in book.balances(heat.owner, "hold_up").items()}
    found = []
    for own, mg in step.gives_mg.items():
        if own == step.name:
            continue
        body, in_pot = f"{plan}/{own}", own in (heat.pot, heat.fire)
        lies = pots.get(own, 0) if in_pot else held.get(body, 0)
        said = tuple(
            (str(one["kind"]), say(Saying(f"book.fault.{one['kind']}", {"body": own})))
            for one in (book.mishaps.faults(body) if own in bars else ())
        )
        found.append(
            Came(
                own, body, mg, lies if step.done else None, bars.get(own), measured(book, body),
                said, in_pot, asked.get(f"fault-{own}", ""),
            )
        )  # fmt: skip
    return sorted(found, key=lambda one: (one.bar is None, one.own))


def _weigh(request: HttpRequest, book: Book, plan: str, heat: HeatPlan) -> None:
    after, wrong = {}, {}
    came = _came(book, plan, heat)
    for one in came:
        grams = given.optional_number(request, f"after_g-{one.own}", "g", most=50_000)
        if grams is not None:
            after[one.own] = grams
        if one.bar is not None:
            wrong[one.own] = given.choice(request, f"fault-{one.own}", FAULT_WORDS)
    lacking = [one.own for one in came if one.bar is not None and one.own not in after]
    if lacking:
        raise BadInput(f"after_g-{lacking[0]}", "", "the weight of each bar", "Weigh the bar.")
    sure = given.text(request, "sure", need=False)
    if book.heat_state(plan, heat.id) == "charged":
        book.molten(plan, heat.id)
    done = book.pour(
        plan, heat.id, after=after, at=given.text(request, "at", need=False, longest=20),
        answers={f"{plan}/{heat.id}": "book_difference"} if sure else {},
    )  # fmt: skip
    if done.entry is None:
        raise refused(done.objections, "sure")
    if done.entry.again:
        return
    for said in done.next:
        shell.tell(request, say(said))
    for own, kind in wrong.items():
        if kind:
            _put_down(request, book, f"{plan}/{own}", kind)


def _put_down(request: HttpRequest, book: Book, body: str, kind: str, **facts: Any) -> None:
    done = book.mishaps.fault(body, kind, **facts)
    if done.stopped:
        raise refused(done.objections, "left_g")
    for said in done.next:
        shell.tell(request, say(said))
    if done.suspect:
        shell.tell(request, f"Under suspicion now: {', '.join(done.suspect)}.")


def _fault(request: HttpRequest, book: Book, plan: str, heat: HeatPlan) -> None:
    """A fault that is seen later, and what was cropped for it."""
    body = given.choice(request, "body", [one.body for one in _came(book, plan, heat) if one.bar])
    number = given.optional_number
    _put_down(
        request, book, body, given.choice(request, "kind", FAULT_KINDS),
        place_mm=number(request, "place_mm", "mm", most=100_000),
        depth_mm=number(request, "depth_mm", "mm", most=1000),
        cropped_g=number(request, "cropped_g", "g", least=0.001, most=50_000),
        left_g=number(request, "left_g", "g", least=0.001, most=50_000),
        answered=bool(given.text(request, "sure", need=False)),
    )  # fmt: skip


def _measure(request: HttpRequest, book: Book, plan: str, heat: HeatPlan) -> None:
    body = given.choice(request, "body", [one.body for one in _came(book, plan, heat) if one.bar])
    sizes = {
        name: value
        for name in _SIZES
        if (value := given.optional_number(request, name, "mm", least=0.05, most=100_000))
    }
    if not sizes:
        raise BadInput("thickness_mm", "", "a size that was measured", "Measure the bar.")
    measure(book, body, sizes)


def _close(request: HttpRequest, book: Book, plan: str, heat: HeatPlan) -> None:
    if book.heat_state(plan, heat.id) != "closed":
        book.close_heat(plan, heat.id)
    shell.tell(request, f"{heat.id} is closed. From here a mistake is mended by an act of its own.")


def _undo(request: HttpRequest, book: Book, plan: str, heat: HeatPlan) -> None:
    if book.heat_state(plan, heat.id) not in ("poured", "proven"):
        raise BadInput("do", "undo", "a heat that is weighed out", "There is nothing to take back.")
    for said in book.mishaps.undo_step(plan, heat.id).next:
        shell.tell(request, say(said))


_ACTS = {"weigh": _weigh, "fault": _fault, "measure": _measure, "close": _close, "undo": _undo}
urlpatterns = [path("<str:plan>/<str:name>/out/", poured, name="poured")]
