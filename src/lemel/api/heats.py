"""A heat from the bags to the bars, by real weights: charge, molten, pour, prove, close.

Molten metal burns. Whoever pours follows the local rules, the furnace maker's manual and the heat
card; weights are sent when the metal is cold and dry.
"""

from __future__ import annotations

from typing import Any

from ninja import Router, Schema
from pydantic import Field

from lemel.api.frame import act, as_done, book
from lemel.api.happened import Happening, Step
from lemel.api.kept import heat_of, kept_plan
from lemel.api.shapes import Millesimal, Name, Text, many_out, plain_out, shape_out, value_in
from lemel.api.taken import Grams, Hand, ReadingIn, Weights
from lemel.book import Book, Offer, plans_at_work
from lemel.values import Charge, Composition, Reading

__all__ = ["router"]

router = Router(tags=["heats"])


class HeatRow(Schema):
    """A heat of a plan at work, and how it stands: planned, charged, molten, poured, proven,
    closed."""

    plan: str
    heat: str
    owner: str
    standard: str
    state: str
    charge_g: float
    bars: list[str]


class Event(Schema):
    """What happened to a heat."""

    at: str
    what: str
    facts: dict[str, Any]


class Heat(HeatRow):
    """One heat: what goes in, in which pot and moulds, and all that happened to it."""

    charge: shape_out(Charge)  # type: ignore[valid-type]
    pot: str
    fire: str
    moulds: list[str]
    events: list[Event]


class AtHeat(Hand):
    """Which heat of which plan."""

    plan: Name
    heat: Name


class ChargeIn(AtHeat):
    """`before_g` whole bags, `taken_g` what went into the pot, both by body in g; what is not
    told is as planned. `only`: nothing but what `taken_g` names. `answers`: S1: book_difference
    says that the balance is right."""

    before_g: Weights = Field({})
    taken_g: Weights = Field({})
    answers: dict[Name, Text] = Field({})
    only: bool = False


class MoreIn(AtHeat):
    """More into the pot: the next top-up as it is really put in, or a correction."""

    taken_g: Weights = Field(min_length=1)
    before_g: Weights = Field({})
    answers: dict[Name, Text] = Field({})
    consent: Text = ""


class OutAgain(AtHeat):
    """`after_g`: whole bags, weighed again."""

    after_g: Weights = Field({})


class Poured(AtHeat):
    """`after_g`: each bar, feeder and what stays in the pot, by body in g."""

    after_g: Weights = Field({})
    answers: dict[Name, Text] = Field({})


class Assayed(AtHeat):
    """An assay of the poured heat; `composition_millesimal` where all elements are known."""

    reading: ReadingIn
    composition_millesimal: Millesimal | None = None


class Wrong(AtHeat):
    """`really` went into the pot where the book says `charged`."""

    charged: Name
    really: Name
    grams: Grams | None = None
    room_g: Grams | None = None
    consent: Text = ""


class Spilled(AtHeat):
    """Metal beside the pot: what was picked up, and what is lost."""

    recovered_g: Grams = 0.0
    lost_g: Grams = 0.0
    into: Text = ""


class Marked(AtHeat):
    """The heat's bars are marked at what they are: a lower standard, or "" for none."""

    standard: Text = ""
    why: Text


class State(Schema):
    """How the heat stands now."""

    plan: str
    heat: str
    state: str


def _row(shop: Book, plan: str, heat: Any) -> dict[str, Any]:
    return {
        "plan": plan, "heat": heat.id, "owner": heat.owner, "standard": heat.standard,
        "state": shop.heat_state(plan, heat.id), "charge_g": heat.charge.mass_g,
        "bars": list(heat.bars),
    }  # fmt: skip


def _state(shop: Book, body: AtHeat) -> dict[str, Any]:
    return {"plan": body.plan, "heat": body.heat, "state": shop.heat_state(body.plan, body.heat)}


@router.get("/heats", response=list[HeatRow])
def heats(request: Any) -> Any:  # noqa: ARG001
    """Every heat of the plans at work."""
    shop = book()
    return [
        _row(shop, name, heat)
        for name in plans_at_work(shop)
        for heat in kept_plan(shop, name).heats
    ]


@router.get("/heat", response=Heat)
def heat(request: Any, plan: Name, heat: Name) -> Any:  # noqa: ARG001
    """One heat with its charge in g and all that happened to it."""
    shop = book()
    planned = heat_of(shop, plan, heat)
    events = shop.heat_events(plan, heat)
    return {
        **_row(shop, plan, planned), "charge": plain_out(planned.charge), "pot": planned.pot,
        "fire": planned.fire, "moulds": list(planned.moulds),
        "events": [{"at": at, "what": what, "facts": facts} for at, what, facts in events],
    }  # fmt: skip


@router.post("/heats/charge", response={201: Step})
def charge(request: Any, body: ChargeIn) -> Any:
    """From the bags into the pot. A bag further off the book than the balance explains stops it."""
    return act(
        request,
        lambda shop: as_done(
            shop.charge(
                body.plan,
                body.heat,
                before=body.before_g,
                taken=body.taken_g,
                answers=body.answers,
                only=body.only,
                **body.hand,
            )
        ),
        201,
    )


@router.post("/heats/charge-more", response={201: Happening})
def charge_more(request: Any, body: MoreIn) -> Any:
    """More into the pot, and what the pot holds then."""
    return act(
        request,
        lambda shop: as_done(
            shop.mishaps.charge_more(
                body.plan,
                body.heat,
                body.taken_g,
                before=body.before_g,
                answers=body.answers,
                consent=body.consent,
                **body.hand,
            )
        ),
        201,
    )


@router.post("/heats/uncharge", response={201: Happening})
def uncharge(request: Any, body: OutAgain) -> Any:
    """The cold charge back into its bags."""
    return act(
        request,
        lambda shop: as_done(
            shop.mishaps.uncharge(body.plan, body.heat, after=body.after_g, **body.hand)
        ),
        201,
    )


@router.post("/heats/molten", response=State)
def molten(request: Any, body: AtHeat) -> Any:
    """All of the charge is liquid."""

    def done(shop: Book) -> Any:
        shop.molten(body.plan, body.heat, **body.hand)
        return _state(shop, body)

    return act(request, done)


@router.post("/heats/pour", response={201: Step})
def pour(request: Any, body: Poured) -> Any:
    """Out of the pot, by weight of each bar, feeder and what stays behind."""
    return act(
        request,
        lambda shop: as_done(
            shop.pour(body.plan, body.heat, after=body.after_g, answers=body.answers, **body.hand)
        ),
        201,
    )


@router.post("/heats/prove", response={201: State})
def prove(request: Any, body: Assayed) -> Any:
    """An assay of a poured heat; its difference is booked on all of it that is in the house."""
    reading = value_in(Reading, body.reading)
    composition = value_in(Composition, body.composition_millesimal)

    def done(shop: Book) -> Any:
        shop.prove(body.plan, body.heat, reading, composition, **body.hand)
        return _state(shop, body)

    return act(request, done, 201)


@router.post("/heats/close", response=State)
def close(request: Any, body: AtHeat) -> Any:
    """Nothing more is to come of this heat, and nothing of it can be undone."""

    def done(shop: Book) -> Any:
        shop.close_heat(body.plan, body.heat, **body.hand)
        return _state(shop, body)

    return act(request, done)


@router.post("/heats/wrong-lot", response={201: Happening})
def wrong_lot(request: Any, body: Wrong) -> Any:
    """The wrong bag was charged: the book is put right, and `offers` say how to go on."""
    return act(
        request,
        lambda shop: as_done(
            shop.mishaps.wrong_lot(
                body.plan,
                body.heat,
                body.charged,
                body.really,
                grams=body.grams,
                consent=body.consent,
                room_g=body.room_g,
                **body.hand,
            )
        ),
        201,
    )


@router.get("/heats/offers", response=many_out(Offer))
def offers(
    request: Any,  # noqa: ARG001
    plan: Name,
    heat: Name,
    room_g: Grams | None = None,
) -> Any:
    """What can be done with the metal in a pot; `room_g` is what the crucible still takes."""
    return plain_out(book().mishaps.offers(plan, heat, room_g))


@router.post("/heats/mark", response={201: Happening})
def mark(request: Any, body: Marked) -> Any:
    """The heat's bars are marked at what they are."""
    return act(
        request,
        lambda shop: as_done(
            shop.mishaps.mark_real(body.plan, body.heat, body.standard, body.why, **body.hand)
        ),
        201,
    )


@router.post("/heats/spill", response={201: Happening})
def spill(request: Any, body: Spilled) -> Any:
    """Spilled metal stays hot long after it looks cold; weigh it when it is cold and dry."""
    return act(
        request,
        lambda shop: as_done(
            shop.mishaps.spill(
                body.plan,
                body.heat,
                recovered_g=body.recovered_g,
                lost_g=body.lost_g,
                into=body.into,
                **body.hand,
            )
        ),
        201,
    )
