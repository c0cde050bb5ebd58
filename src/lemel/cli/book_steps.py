"""`lemel book`, the steps of a plan at the bench: charge, melt, pour, work, prove, and undo."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import isfinite
from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import INFEASIBLE, Told, plain
from lemel.cli.book_parts import BOOK, BY, amount, open_at, told
from lemel.cli.run import verb
from lemel.errors import BadInput

if TYPE_CHECKING:
    from lemel.book import Done, Happened

__all__ = ["AT", "CONSENT", "HEAT", "PLAN", "STEPS", "amounts", "grams_of", "show_happened"]

AT = click.option("--at", default="", metavar="HOUR", help="When it really was: 15:20. [now]")
CONSENT = click.option("--consent", default="", metavar="ID", help="The consent it goes by.")
PLAN = click.argument("plan", metavar="PLAN")
HEAT = click.argument("heat", metavar="HEAT")
_BEFORE = click.option(
    "--before", multiple=True, metavar="ID=G", help="A whole bag or bar on the balance."
)
_AFTER = click.option("--after", multiple=True, metavar="ID=G", help="What came out, by weight.")
_ANSWER = click.option(
    "--answer", multiple=True, metavar="ID=book_difference", help="The balance is right."
)


def grams_of(option: str, written: str) -> float:
    """An amount of metal in g: plain is g, another unit is named (1.2ozt)."""
    from lemel.quantities import parse_amount

    try:
        bare = float(written)
    except ValueError:
        return float(parse_amount(written).to("g"))
    if not isfinite(bare):
        raise BadInput(option, written, "a finite number", "Write grams, as in 12.3.")
    return bare


def amounts(option: str, pairs: tuple[str, ...]) -> dict[str, float]:
    """S1=12.3 S2=0.4ozt ... as grams by id; an id is named once."""
    return {
        body: grams_of(f"{option} {body}", text) for body, text in _pairs(option, pairs).items()
    }


def _pairs(option: str, pairs: tuple[str, ...]) -> dict[str, str]:
    found: dict[str, str] = {}
    for pair in pairs:
        body, equals, text = pair.rpartition("=")
        if not equals or not body or not text or body in found:
            raise BadInput(option, pair, "an id, =, a value; each id once", "Write S1=12.3.")
        found[body] = text
    return found


def _done(done: Done) -> Told:
    """A step that was written, or that stopped and asks (exit code 3)."""
    payload = plain(done)

    def show(paper: Any) -> None:
        if done.entry is None:
            paper.sayings("Nothing is written yet", done.objections)
            return
        if done.entry.again:
            paper.line(f"This was written before, as entry {done.entry.number}.")
            return
        paper.line(f"Entry {done.entry.number}. Missing after it: {amount(done.loss_mg, 'g')} g.")
        paper.sayings("Noted", done.objections)
        paper.sayings("Next", done.next)

    return told(payload, show, INFEASIBLE if done.entry is None else 0)


def show_happened(happened: Happened) -> Told:
    """What was written of a mishap, with the ways that are open; 3 where it asks first."""
    payload = {**plain(happened), "stopped": happened.stopped}

    def show(paper: Any) -> None:
        if happened.stopped:
            paper.sayings("Nothing is written yet", happened.objections)
            return
        for entry in happened.entries:
            paper.line(f"Entry {entry.number}.")
        if happened.bodies:
            paper.line(f"It concerns {', '.join(happened.bodies)}.")
        if happened.suspect:
            paper.line(f"Suspicion: {', '.join(happened.suspect)}.")
        if happened.loss_mg:
            word = "Missing" if happened.loss_mg > 0 else "More than before"
            paper.line(f"{word}: {amount(abs(happened.loss_mg), 'g')} g.")
        for offer in happened.offers:
            paper.sayings(offer.way.replace("_", " "), offer.said)
        paper.sayings("Noted", happened.objections)
        paper.sayings("Next", happened.next)

    return told(payload, show, INFEASIBLE if happened.stopped else 0)


@verb("steps", help="The steps of PLAN in order, with what each takes and gives.")
@PLAN
@click.option("--all", "every", is_flag=True, help="Those that are done too.")
@BOOK
def steps(plan: str, every: bool, place: str | None) -> Told:
    """PLAN is its id, or `last` for the one that was accepted last."""
    with open_at(place) as opened:
        plan = opened.mishaps.plan_named(plan)
        found = opened.steps(plan)
    shown = [one for one in found if every or not one.done]
    rows = [
        (
            one.name,
            "done" if one.done else "",
            _masses(plan, one.takes_mg),
            _masses(plan, one.gives_mg),
        )
        for one in shown
    ]
    columns = ("step", "", "takes g", "gives g")
    return told({"steps": plain(shown)}, lambda paper: paper.table(columns, rows, left=4))


def _masses(plan: str, mg_by_body: Mapping[str, int]) -> str:
    """Short names, since all are of one plan."""
    return ", ".join(
        f"{body.removeprefix(f'{plan}/')} {amount(mg, 'g')}" for body, mg in mg_by_body.items()
    )


@verb("charge", help="From the bags into the pot of HEAT; what is not told is as planned.")
@PLAN
@HEAT
@click.option("--taken", multiple=True, metavar="ID=G", help="What was weighed into the pot.")
@_BEFORE
@_ANSWER
@click.option("--only", is_flag=True, help="Nothing else goes in yet; the rest by `add`.")
@BY
@AT
@BOOK
def charge(
    plan: str, heat: str, taken: tuple[str, ...], before: tuple[str, ...],
    answer: tuple[str, ...], only: bool, by: str, at: str, place: str | None,
) -> Told:  # fmt: skip
    """Ends with 3 where a weight is off and must be answered for."""
    with open_at(place) as opened:
        done = opened.charge(
            opened.mishaps.plan_named(plan), heat, taken=amounts("--taken", taken),
            before=amounts("--before", before), answers=_pairs("--answer", answer), only=only,
            by=by, at=at,
        )  # fmt: skip
    return _done(done)


@verb("add", help="More into the pot of HEAT: the next top-up, or a correction.")
@PLAN
@HEAT
@click.option("--taken", multiple=True, metavar="ID=G", help="What was weighed into the pot.")
@_BEFORE
@_ANSWER
@CONSENT
@BY
@AT
@BOOK
def add(
    plan: str, heat: str, taken: tuple[str, ...], before: tuple[str, ...],
    answer: tuple[str, ...], consent: str, by: str, at: str, place: str | None,
) -> Told:  # fmt: skip
    """Another owner's metal only by a consent."""
    with open_at(place) as opened:
        happened = opened.mishaps.charge_more(
            opened.mishaps.plan_named(plan), heat, amounts("--taken", taken),
            before=amounts("--before", before), answers=_pairs("--answer", answer),
            consent=consent, by=by, at=at,
        )  # fmt: skip
    return show_happened(happened)


def _state(name: str, help: str, act: Callable[..., None], becomes: str) -> click.Command:
    """A word that only moves a heat into its next state."""

    @verb(name, help=help)
    @PLAN
    @HEAT
    @BY
    @AT
    @BOOK
    def moved(plan: str, heat: str, by: str, at: str, place: str | None) -> Told:
        with open_at(place) as opened:
            named = opened.mishaps.plan_named(plan)
            act(opened, named, heat, by=by, at=at)
        payload = {"plan": named, "heat": heat, "state": becomes}
        return told(payload, lambda paper: paper.line(f"{heat} is {becomes}."))

    return moved


molten = _state(
    "molten", "The charge of HEAT is down.", lambda book, *a, **k: book.molten(*a, **k), "molten"
)
finished = _state(
    "finished", "Nothing more is to come of HEAT.",
    lambda book, *a, **k: book.close_heat(*a, **k), "closed",
)  # fmt: skip


@verb("pour", help="Out of the pot of HEAT: bars, feeders, what stays in the pot, by weight.")
@PLAN
@HEAT
@_AFTER
@_ANSWER
@BY
@AT
@BOOK
def pour(
    plan: str, heat: str, after: tuple[str, ...], answer: tuple[str, ...], by: str, at: str,
    place: str | None,
) -> Told:  # fmt: skip
    """IDs are the plan's own (H1-3); what is not weighed counts as planned."""
    with open_at(place) as opened:
        done = opened.pour(
            opened.mishaps.plan_named(plan), heat, after=amounts("--after", after),
            answers=_pairs("--answer", answer), by=by, at=at,
        )  # fmt: skip
    return _done(done)


@verb("work", help="A STEP that takes, parts, mills or cuts, by weight of what comes of it.")
@PLAN
@click.argument("step", metavar="STEP", nargs=-1, required=True)
@_BEFORE
@_AFTER
@_ANSWER
@BY
@AT
@BOOK
def work(
    plan: str, step: tuple[str, ...], before: tuple[str, ...], after: tuple[str, ...],
    answer: tuple[str, ...], by: str, at: str, place: str | None,
) -> Told:  # fmt: skip
    """STEP as `steps` tells it: mill H1-3."""
    with open_at(place) as opened:
        name = opened.mishaps.body_named
        done = opened.work(
            opened.mishaps.plan_named(plan), " ".join(step),
            before={name(b): g for b, g in amounts("--before", before).items()},
            after=amounts("--after", after),
            answers={name(b): a for b, a in _pairs("--answer", answer).items()}, by=by, at=at,
        )  # fmt: skip
    return _done(done)


@verb("prove", help="An assay of HEAT: READING is its name, PARTS are Ag=925.4 ...")
@PLAN
@HEAT
@click.argument("reading", metavar="READING")
@click.argument("parts", metavar="PARTS", nargs=-1, required=True)
@click.option("--method", required=True, metavar="CODE", help="How: silver-volhard, cupellation.")
@click.option("--source", default="", metavar="NAME", help="The instrument and day, or office.")
@BY
@AT
@BOOK
def prove(
    plan: str, heat: str, reading: str, parts: tuple[str, ...], method: str, source: str, by: str,
    at: str, place: str | None,
) -> Told:  # fmt: skip
    """Its difference is booked on everything of the heat that is still in the house."""
    from lemel.scrap import method_codes
    from lemel.values import Reading

    if method not in method_codes():
        raise BadInput("--method", method, ", ".join(method_codes()), "Name a method.")
    values = {e: grams_of(e, text) / 1000 for e, text in _pairs("PARTS", parts).items()}
    with open_at(place) as opened:
        named = opened.mishaps.plan_named(plan)
        taken = Reading(reading, f"{named}/{heat}", method, values, source=source, by=by)
        sealed = opened.prove(named, heat, taken, by=by, at=at)
    payload = {"plan": named, "heat": heat, "entry": plain(sealed) if sealed else None}
    line = f"Entry {sealed.number} books the difference." if sealed else "It is as believed."
    return told(payload, lambda paper: paper.line(line))


@verb("undo", help="Take back a STEP, or with a heat's name the last thing it went through.")
@PLAN
@click.argument("step", metavar="STEP|HEAT", nargs=-1, required=True)
@BY
@AT
@BOOK
def undo(plan: str, step: tuple[str, ...], by: str, at: str, place: str | None) -> Told:
    """Until the heat is closed, and only what nothing stands on."""
    with open_at(place) as opened:
        happened = opened.mishaps.undo_step(
            opened.mishaps.plan_named(plan), " ".join(step), by=by, at=at
        )
    return show_happened(happened)


STEPS = (steps, charge, add, molten, pour, work, prove, finished, undo)
