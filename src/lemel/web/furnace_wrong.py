"""The wrong bag went into the pot: what is in it now, and the ways on."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from lemel.book import Book
from lemel.plan import HeatPlan
from lemel.web import given, shell
from lemel.web.furnace_acts import faults, refused
from lemel.web.furnace_heats import heat_plan
from lemel.words import say

__all__ = ["wrong"]

_DOES = ("wrong", "correct", "mark_real")


def wrong(request: HttpRequest, plan: str, name: str) -> HttpResponse:
    """Tell which bag it really was, then take one of the ways that are open."""
    book = shell.book()
    heat = heat_plan(book, plan, name)
    with faults(request):
        if request.method == "POST":
            {"wrong": _tell, "correct": _correct, "mark_real": _mark}[
                given.choice(request, "do", _DOES)
            ](request, book, plan, heat)
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
        plan, heat.id, taken, consent=given.text(request, "consent", need=False),
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
