"""When it goes wrong: faults of bars, suspicion, metal that is found, recovered or goes home."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from ninja import Router, Schema
from pydantic import Field

from lemel.api.frame import act, as_done, book
from lemel.api.happened import Happening
from lemel.api.shapes import Millesimal, Name, Text, value_in
from lemel.api.taken import Grams, Hand
from lemel.book import PLACES, Book
from lemel.values import FAULT_KINDS, FORMS, Composition

__all__ = ["router"]

router = Router(tags=["mishaps"])
_Mm = Annotated[float, Field(ge=0, le=100_000, allow_inf_nan=False, description="mm")]


class Fault(Hand):
    """A fault of a bar: what, where from the leading end, how deep (mm); what was sawn off and
    what is left (g). `answered`: the balance is right."""

    body: Name
    kind: Literal[FAULT_KINDS]  # type: ignore[valid-type]
    place_mm: _Mm | None = None
    depth_mm: _Mm | None = None
    cropped_g: Grams | None = None
    left_g: Grams | None = None
    note: Text = ""
    answered: bool = False


class Noted(Schema):
    """Faults on record of a body."""

    body: str
    faults: list[dict[str, Any]]


class Suspected(Schema):
    """Everything that is barred from clean heats, or what this act barred or freed."""

    bodies: list[str]


class Suspect(Hand):
    """A body that is suspect with its heats and all that came of them."""

    body: Name


class Sound(Hand):
    """A body that is sound after all, and why."""

    body: Name
    reason: Text


class Remelt(Hand):
    """A bar or piece that becomes scrap; `into` names the new lot."""

    body: Name
    into: Text = ""
    form: Literal[FORMS] = "offcut"  # type: ignore[valid-type]
    weighed_g: Grams | None = None
    owner: Text = ""
    answered: bool = False


class Restocked(Hand):
    """More of an addition that the book knows."""

    addition: Name
    grams: Grams
    composition_millesimal: Millesimal | None = None


class FoundMetal(Hand):
    """Lost metal that turned up: whose, in which operation it was lost (and from which body)."""

    owner: Name
    lost_in: Name
    grams: Grams
    lost_from: Text = ""
    into: Text = ""
    answered: bool = False


class Recovered(Hand):
    """Lemel box, sweeps, slag or a pot's lining emptied into a lot, by weight."""

    place: Literal[PLACES]  # type: ignore[valid-type]
    body: Name
    weighed_g: Grams
    owner: Text = ""
    into: Text = ""
    emptied: bool = True
    answered: bool = False


class Delivered(Hand):
    """A piece that leaves the house for its order."""

    piece: Name
    order: Text = ""
    owner: Text = ""


class TakenBack(Hand):
    """Metal that its owner takes home; `grams` left out: all of it; `drop`: even what a plan had
    counted on."""

    body: Name
    grams: Grams | None = None
    owner: Text = ""
    drop: bool = False


@router.get("/faults", response=Noted)
def faults(request: Any, body: Name) -> Any:  # noqa: ARG001
    """The faults on record of a body."""
    return {"body": body, "faults": list(book().mishaps.faults(body))}


@router.post("/faults", response={201: Happening})
def fault(request: Any, body: Fault) -> Any:
    """A bar's fault, with its next step. A crack makes the heat and its relatives suspect."""
    return act(
        request,
        lambda shop: as_done(
            shop.mishaps.fault(
                body.body,
                body.kind,
                place_mm=body.place_mm,
                depth_mm=body.depth_mm,
                cropped_g=body.cropped_g,
                left_g=body.left_g,
                note=body.note,
                answered=body.answered,
                **body.hand,
            )
        ),
        201,
    )


@router.get("/suspects", response=Suspected)
def suspects(request: Any) -> Any:  # noqa: ARG001
    """Everything that is barred from clean heats."""
    return {"bodies": list(book().mishaps.suspects())}


@router.post("/suspects", response={201: Suspected})
def suspect(request: Any, body: Suspect) -> Any:
    """A body, its heats and all that came of them are barred from further plans."""
    return act(request, lambda shop: {"bodies": list(shop.mark_suspect(body.body))}, 201)


@router.post("/suspects/clear", response={201: Happening})
def clear(request: Any, body: Sound) -> Any:
    """Sound after all: it and its relatives may go into clean heats again."""
    return act(
        request,
        lambda shop: as_done(shop.mishaps.clear_suspect(body.body, body.reason, **body.hand)),
        201,
    )


@router.post("/remelt", response={201: Happening})
def remelt(request: Any, body: Remelt) -> Any:
    """A bar or piece becomes scrap for another heat, and keeps its count of melts."""
    return act(
        request,
        lambda shop: as_done(
            shop.mishaps.remelt(
                body.body,
                into=body.into,
                form=body.form,
                weighed_g=body.weighed_g,
                owner=body.owner,
                answered=body.answered,
                **body.hand,
            )
        ),
        201,
    )


@router.post("/additions/restock", response={201: Happening})
def restock(request: Any, body: Restocked) -> Any:
    """More of an addition."""
    composition = value_in(Composition, body.composition_millesimal)
    return act(
        request,
        lambda shop: as_done(
            shop.mishaps.restock(body.addition, body.grams, composition=composition, **body.hand)
        ),
        201,
    )


@router.post("/found", response={201: Happening})
def found(request: Any, body: FoundMetal) -> Any:
    """Lost metal goes back to its owner, out of the loss of the operation that had lost it."""
    return act(
        request,
        lambda shop: as_done(
            shop.mishaps.found(
                body.owner,
                body.lost_in,
                body.grams,
                lost_from=body.lost_from,
                into=body.into,
                answered=body.answered,
                **body.hand,
            )
        ),
        201,
    )


@router.post("/recovered", response={201: Happening})
def recovered(request: Any, body: Recovered) -> Any:
    """What gathered in a box, in sweeps, slag or a lining is a lot again."""
    return act(
        request,
        lambda shop: as_done(
            shop.mishaps.recover(
                body.place,
                body.body,
                body.weighed_g,
                owner=body.owner,
                into=body.into,
                emptied=body.emptied,
                answered=body.answered,
                **body.hand,
            )
        ),
        201,
    )


@router.post("/pieces/deliver", response={201: Happening})
def deliver(request: Any, body: Delivered) -> Any:
    """A piece leaves the house for its order."""
    return act(
        request,
        lambda shop: as_done(
            shop.mishaps.deliver(body.piece, order=body.order, owner=body.owner, **body.hand)
        ),
        201,
    )


@router.post("/taken-back", response={201: Happening})
def take_back(request: Any, body: TakenBack) -> Any:
    """The owner takes metal home."""

    def taken(shop: Book) -> Any:
        return as_done(
            shop.mishaps.take_back(
                body.body, body.grams, owner=body.owner, drop=body.drop, **body.hand
            )
        )

    return act(request, taken, 201)
