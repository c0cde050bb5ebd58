"""What lies in the drawers: stock, additions, pieces; where they come from; their labels."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from django.http import HttpResponse
from ninja import Router, Schema
from ninja.params import functions as params
from pydantic import Field

from lemel.api.frame import act, book
from lemel.api.labelled import labels_of
from lemel.api.now import Heaps, Most
from lemel.api.shapes import Name, Text, many_out, plain_out
from lemel.api.taken import Grams, Id, Plain
from lemel.book import Account, Book, Shelved, find_heaps
from lemel.cards import LABEL_SIZES, label_pdf
from lemel.values import Addition

__all__ = ["router"]

router = Router(tags=["stock"])
_BODIES: Any = params.Query(..., min_length=1, max_length=200)


class Lie(Plain):
    """Where a heap lies and what its label says; `melt` true: it is scrap, not stock."""

    body: Name
    place: Name
    label: Text = ""
    melt: bool | None = None
    by: Name | None = None


class OnTheBalance(Plain):
    """One heap as the balance has it now, g."""

    owner: Name
    place: Literal["store", "scrap", "piece", "lemel_box", "slag", "sweeps", "hold_up"]
    body: Name
    weighed_g: Grams
    by: Name | None = None


class Posted(Schema):
    """The entry that was needed; None where the book said the same."""

    entry: int | None


class Kin(Schema):
    """Every body on the way, each with those next to it on that way."""

    body: str
    kin: dict[str, list[str]]


class OriginOf(Schema):
    """Shares of fine metal by origin class, as they were frozen; they sum to one."""

    body: str
    shares: dict[str, float]


class PromiseOf(Schema):
    """The standard that a bar or piece may be marked with; "" for none."""

    body: str
    standard: str


@router.get("/stock", response=many_out(Shelved))
def stock(request: Any) -> Any:  # noqa: ARG001
    """Bars, remnants and offcuts: section in mm, temper, mass in g, what is free, where."""
    return plain_out(book().bench.stock())


@router.post("/stock/place", response=Id)
def lie(request: Any, body: Lie) -> Any:
    """Where it lies. A remnant that is to be melted is offered to the pot, not to the bench."""

    def placed(shop: Book) -> Any:
        shop.bench.set_place(
            body.body, body.place, label=body.label, melt=body.melt, by=body.by or ""
        )
        return {"id": body.body}

    return act(request, placed)


@router.get("/additions", response=many_out(Addition))
def additions(request: Any) -> Any:  # noqa: ARG001
    """Clean metal to add, at the mass that is there."""
    return plain_out(book().additions())


@router.get("/pieces", response=Heaps)
def pieces(
    request: Any,  # noqa: ARG001
    owner: Text = "",
    after: Annotated[int, Field(ge=0, le=2**53)] = 0,
    most: Most = 50,
) -> Any:
    """Pieces that were cut and are in the house, in mg and ng."""
    some = find_heaps(book(), owner=owner, place="piece", after=after, most=most)
    return {
        "after": some.after,
        "heaps": [
            {"owner": a.owner, "place": a.place, "body": a.body, "holding": plain_out(held)}
            for a, held in some.heaps
        ],
    }


@router.post("/heaps/weigh", response={201: Posted})
def weigh(request: Any, body: OnTheBalance) -> Any:
    """Bring one heap to what the balance says; a whole stock-take is under papers."""

    def weighed(shop: Book) -> Any:
        account = Account(body.owner, body.place, body.body)
        sealed = shop.stock_take(account, body.weighed_g, by=body.by or "")
        return {"entry": None if sealed is None else sealed.number}

    return act(request, weighed, 201)


@router.get("/ancestry", response=Kin)
def ancestry(request: Any, body: Name) -> Any:  # noqa: ARG001
    """Every body that this one's metal comes from, each with its own parents."""
    return {"body": body, "kin": book().ancestors(body)}


@router.get("/descent", response=Kin)
def descent(request: Any, body: Name) -> Any:  # noqa: ARG001
    """Every body that holds metal of this one, each with its own children."""
    return {"body": body, "kin": book().descendants(body)}


@router.get("/origin", response=OriginOf)
def origin(request: Any, body: Name) -> Any:  # noqa: ARG001
    """Where a body's fine metal comes from."""
    return {"body": body, "shares": plain_out(book().origin(body))}


@router.get("/promise", response=PromiseOf)
def promise(request: Any, body: Name) -> Any:  # noqa: ARG001
    """What a bar or piece may still be marked with."""
    return {"body": body, "standard": book().mishaps.promise_of(body)}


@router.get("/labels", response={200: bytes})
def labels(
    request: Any,  # noqa: ARG001
    body: list[Name] = _BODIES,
    size: Literal[tuple(LABEL_SIZES)] = "bag",  # type: ignore[valid-type]
    skip: Annotated[int, Field(ge=0, le=100)] = 0,
) -> Any:
    """Sheets of labels as PDF, with a code that says the id and nothing else."""
    return HttpResponse(label_pdf(labels_of(book(), body), size, skip=skip), "application/pdf")
