"""It went wrong at the pot: the wrong bag, a spill, a charge that is emptied; and the ways on."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from lemel.book import Book
from lemel.plan import HeatPlan
from lemel.web import given, shell
from lemel.web.furnace_acts import Refused, faults, refused
from lemel.web.furnace_heats import heat_plan
from lemel.web.furnace_lines import Entry, keep, log_of, new_id
from lemel.web.furnace_steps import run_steps
from lemel.web.reader import say

__all__ = ["wrong"]


def wrong(request: HttpRequest, plan: str, name: str) -> HttpResponse:
    """Tell what happened, then take one of the ways that are open."""
    book = shell.book()
    heat = heat_plan(book, plan, name)
    with faults(request):
        if request.method == "POST":
            _ACTS[given.choice(request, "do", _ACTS)](request, book, plan, heat)
            return redirect("furnace-wrong", plan, name)
    state = book.heat_state(plan, name)
    open_pot = state in ("charged", "molten")
    context = {
        "plan": plan, "heat": heat, "state": state, "open": open_pot,
        "charged": [(line.body, line.body) for line in heat.charge.lines],
        "lots": [(lot.id, f"{lot.id}, {lot.mass_g:.2f} g") for lot in book.lots()],
        "offers": book.mishaps.offers(plan, name) if open_pot else (),
        "asked": state != "planned",
    }  # fmt: skip
    return shell.show(request, "web/furnace/wrong.html", context)


def _tell(request: HttpRequest, book: Book, plan: str, heat: HeatPlan) -> None:
    done = book.mishaps.wrong_lot(
        plan, heat.id,
        given.choice(request, "charged", [line.body for line in heat.charge.lines]),
        given.choice(request, "really", [lot.id for lot in book.lots()]),
        grams=given.optional_number(request, "grams", "g", least=0.001, most=50_000),
        consent=given.text(request, "consent", need=False),
        at=given.text(request, "at", need=False, longest=20),
    )  # fmt: skip
    if done.stopped:
        raise refused(done.objections, "really")
    for said in done.next:
        shell.tell(request, say(said))


def _correct(request: HttpRequest, book: Book, plan: str, heat: HeatPlan) -> None:
    """Weigh the additions of the offer in, as they really went in."""
    offer = next((o for o in book.mishaps.offers(plan, heat.id) if o.way == "correct"), None)
    names = list(offer.additions_g) if offer else []
    taken = {}
    for body in names:
        grams = given.optional_number(request, f"add_g-{body}", "g", least=0.001, most=50_000)
        if grams is not None:
            taken[body] = grams
    done = book.mishaps.charge_more(
        plan, heat.id, taken, consent=given.text(request, "correct_consent", need=False),
        key=given.text(request, "id", longest=64),
    )  # fmt: skip
    if done.stopped:
        raise refused(done.objections, "do")
    shell.tell(request, f"{', '.join(taken)} is weighed into {heat.id}. Stir before the pour.")


def _mark(request: HttpRequest, book: Book, plan: str, heat: HeatPlan) -> None:
    done = book.mishaps.mark_real(
        plan, heat.id, given.text(request, "standard", need=False), given.text(request, "why")
    )
    if done.stopped:
        raise refused(done.objections, "standard")
    for said in done.next:
        shell.tell(request, say(said))


def _spill(request: HttpRequest, book: Book, plan: str, heat: HeatPlan) -> None:
    done = book.mishaps.spill(
        plan, heat.id,
        recovered_g=given.number(request, "recovered_g", "g", most=50_000),
        lost_g=given.optional_number(request, "lost_g", "g", most=50_000) or 0.0,
    )  # fmt: skip
    if done.stopped:
        raise refused(done.objections, "recovered_g")
    for said in done.next:
        shell.tell(request, say(said))


def _empty(request: HttpRequest, book: Book, plan: str, heat: HeatPlan) -> None:
    """The charge and its ticks are taken back, so that the heat can be begun anew."""
    log = log_of(book, plan, heat.id)
    if any(one.kind not in ("see", "warm") and one.key in log.done() for one in run_steps(heat)):
        raise Refused("do", "The fire is lit: take the ticks back first if it never was.")
    for said in book.mishaps.uncharge(plan, heat.id).next:
        shell.tell(request, say(said))
    for one in log.entries:
        if one.what in ("bag", "charged", "step"):
            undone = Entry(new_id(), "undo", "", {"of": one.id}, "", one.pressed_ms)
            keep(book, plan, heat.id, undone)


_ACTS = {
    "wrong": _tell, "correct": _correct, "mark_real": _mark, "spill": _spill, "empty": _empty,
}  # fmt: skip
