"""A line from the fire and what it does to the book: a tick, a reading, a bag, the charge."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest

from lemel.book import Account, Book
from lemel.errors import BadInput
from lemel.plan import HeatPlan
from lemel.tables import shipped
from lemel.values import Objection, Quantity, SayingValue
from lemel.web import given, shell
from lemel.web.furnace_day import clock, clock_min, here_and_now_min
from lemel.web.furnace_lines import Entry, Log, entry_of, is_kept, keep, log_of
from lemel.web.furnace_steps import FILLED, run_steps
from lemel.web.reader import remedy, say

__all__ = [
    "WHATS", "Here", "Refused", "bag_limit_g", "faults", "held_g", "lit", "refused", "write",
]  # fmt: skip

_BOOKED = "book_difference"
#: Coldest and hottest that a display at the fire may show, degC.
_SHOWN_C = (-50.0, 1700.0)


class Refused(Exception):
    """What may not be written as it is: a sentence at a field, already in words."""

    def __init__(self, field: str, said: str) -> None:
        super().__init__(said)
        self.field, self.said = field, said


@contextmanager
def faults(request: HttpRequest) -> Iterator[None]:
    """As the shell's, and what a step of the book objected to at its field."""
    with shell.faults(request):
        try:
            yield
        except Refused as stop:
            request.faults = {stop.field: stop.said}


def refused(objections: tuple[Objection, ...], field: str) -> Refused:
    """What stopped a step of the book, at a field of the form."""
    stops = [one for one in objections if one.grade == "stop"] or list(objections)
    return Refused(field, " ".join(f"{say(one)} {remedy(one)}".strip() for one in stops))


@dataclass(frozen=True, slots=True)
class Here:
    """A request at one heat."""

    request: HttpRequest
    book: Book
    plan: str
    heat: HeatPlan

    def log(self) -> Log:
        """What was written at this heat up to now."""
        return log_of(self.book, self.plan, self.heat.id)

    def state(self) -> str:
        """How the heat stands in the book."""
        return self.book.heat_state(self.plan, self.heat.id)


def write(here: Here) -> Entry:
    """The line of a form, written once. What it does to the book is done before it is kept, and
    not done again, so that a line lost half way is whole when it is sent again."""
    what = given.choice(here.request, "what", WHATS)
    entry = WHATS[what](here)
    if not is_kept(here.book, here.plan, here.heat.id, entry):
        act = _ACTS.get(entry.what)
        if act is not None:
            act(here, entry)
        keep(here.book, here.plan, here.heat.id, entry)
    return entry


def held_g(book: Book, heat: HeatPlan, body: str) -> float:
    """What the book says a bag weighs, whole; its owner's first, then anybody's."""
    own = book.held(Account(heat.owner, "store", body)).gross_mg
    if own:
        return own / 1000
    others = book.balances(place="store").items()
    return sum(metal.gross_mg for account, metal in others if account.body == body) / 1000


def bag_limit_g(book_g: float) -> float:
    """How far the balance may be off the book before it is asked whether it is the right bag."""
    rules = shipped().table("book_rules")
    share = rules["identity_share"].number("value")
    return max(rules["identity_g"].number("value"), book_g * share)


def lit(log: Log, heat: HeatPlan) -> Entry | None:
    """The line that says that the fire was lit."""
    done = log.done()
    return next((done[s.key] for s in run_steps(heat) if s.kind == "light" and s.key in done), None)


def _step(here: Here) -> Entry:
    steps = {one.key: one for one in run_steps(here.heat)}
    key = given.choice(here.request, "step", steps)
    facts: dict[str, Any] = {}
    if steps[key].kind == "light" and given.text(here.request, "happened", need=False):
        facts["happened"] = "yes"
    if steps[key].kind == "pour":
        facts["filled"] = given.choice(here.request, "filled", FILLED)
    return entry_of(here.request, "step", key, facts)


def _reading(here: Here) -> Entry:
    if not lit(here.log(), here.heat):
        raise BadInput("celsius", "", "a heat that burns", "Light up first.")
    least, most = _SHOWN_C
    shown = given.number(here.request, "celsius", "°C", least=least, most=most)
    return entry_of(here.request, "reading", "", {"celsius": shown})


def _bag(here: Here) -> Entry:
    body = given.choice(here.request, "step", [line.body for line in here.heat.charge.lines])
    before = given.optional_number(here.request, f"before_g-{body}", "g", least=0.001, most=50_000)
    taken = given.number(here.request, f"taken_g-{body}", "g", least=0.001, most=50_000)
    answer = given.text(here.request, "answer", need=False)
    facts = {"before_g": before, "taken_g": taken, "answer": answer}
    entry = entry_of(here.request, "bag", body, facts)
    if not is_kept(here.book, here.plan, here.heat.id, entry):
        _is_the_bag(here, body, before, answer)
    return entry


def _is_the_bag(here: Here, body: str, before: float | None, answer: str) -> None:
    says = held_g(here.book, here.heat, body)
    if before is None:
        raise BadInput(f"before_g-{body}", "", "the whole bag", "Put the bag on the balance.")
    if answer == _BOOKED or abs(before - says) <= bag_limit_g(says):
        return
    values: dict[str, SayingValue] = {
        "body": body, "weighed": Quantity(before, "g"), "book": Quantity(says, "g"),
    }  # fmt: skip
    off = Objection("book.identity.off", body, "stop", values)
    raise refused((off,), f"before_g-{body}")


def _charged(here: Here) -> Entry:
    return entry_of(here.request, "charged", "charged", {})


def _charge(here: Here, entry: Entry) -> None:
    """From the bags into the tubs, all of them, in the book."""
    if here.state() != "planned":
        return
    bags = {one.step: one.facts for one in here.log().all("bag")}
    missing = [line.body for line in here.heat.charge.lines if line.body not in bags]
    if missing:
        raise BadInput("charged", ", ".join(missing), "every bag weighed", "Weigh the rest first.")
    done = here.book.charge(
        here.plan, here.heat.id,
        before={body: one["before_g"] for body, one in bags.items()},
        taken={body: one["taken_g"] for body, one in bags.items()},
        answers={body: _BOOKED for body, one in bags.items() if one["answer"] == _BOOKED},
        at=entry.at,
    )  # fmt: skip
    if done.entry is None:
        raise refused(done.objections, "charged")
    for said in done.next:
        if said.code == "book.next.step_lacks":
            shell.tell(here.request, say(said))


def _tick(here: Here, entry: Entry) -> None:
    """What a step does to the heat in the book: all liquid. Too late is no hour to light up."""
    kind = next(one.kind for one in run_steps(here.heat) if one.key == entry.step)
    if kind in ("see", "warm"):
        return
    state = here.state()
    if state == "planned":
        raise BadInput("step", entry.step, "a heat that is charged", "Weigh the tubs in first.")
    if kind == "light":
        _not_too_late(here, entry)
    if state == "charged" and kind in ("molten", "pour"):
        here.book.molten(here.plan, here.heat.id, at=entry.at)


def _not_too_late(here: Here, entry: Entry) -> None:
    """A fire that burns already is written down all the same."""
    rehearsed = here.log().last("rehearsed")
    if rehearsed is None:
        raise Refused("step", "Rehearse first: who is there, the way, the mould, the hour.")
    now_min = clock_min(entry.at[-5:], "at") if entry.at else here_and_now_min()
    latest_min = float(rehearsed.facts["latest_min"])
    if now_min > latest_min + 1 and entry.facts.get("happened") != "yes":
        closes = clock(float(rehearsed.facts["closes_min"]))
        raise Refused(
            "step",
            f"It is {clock(now_min)}; to close at {closes} the last light-up was "
            f"{clock(latest_min)}. Leave it for another day, or rehearse again with whoever "
            "stays longer.",
        )


def _undo(here: Here) -> Entry:
    return entry_of(here.request, "undo", "", {"of": given.text(here.request, "of", longest=64)})


def _take_back(here: Here, entry: Entry) -> None:
    """A reversal, until the heat is closed: the last line first."""
    if here.state() == "closed":
        raise BadInput("of", "", "a heat that is open", "Write what really happened instead.")
    log = here.log()
    found = next((one for one in log.entries if one.id == entry.facts["of"]), None)
    if found is None:
        raise BadInput("of", str(entry.facts["of"]), "a line that stands", "It is gone already.")
    if found.what == "step":
        _untick(here, log, found)
    elif found.what == "charged":
        if log.done():
            raise BadInput("of", "", "the last line first", "Take back what came after it first.")
        if here.state() == "charged":
            here.book.mishaps.undo_step(here.plan, here.heat.id, at=entry.at)


def _untick(here: Here, log: Log, found: Entry) -> None:
    ticked = log.all("step")
    if ticked[-1].id != found.id:
        raise BadInput("of", found.step, "the last line first", "Take back what came after it.")
    liquid = ("molten", "pour")
    kinds = {one.key: one.kind for one in run_steps(here.heat)}
    before = [kinds[one.step] for one in ticked[:-1]]
    made_it_molten = kinds[found.step] in liquid and not set(liquid) & set(before)
    if made_it_molten and here.state() == "molten":
        here.book.mishaps.undo_step(here.plan, here.heat.id)


#: What a line may be, and who reads its form.
WHATS: Mapping[str, Callable[[Here], Entry]] = {
    "step": _step, "reading": _reading, "bag": _bag, "charged": _charged, "undo": _undo,
}  # fmt: skip
_ACTS: Mapping[str, Callable[[Here, Entry], None]] = {
    "step": _tick, "charged": _charge, "undo": _take_back,
}  # fmt: skip
