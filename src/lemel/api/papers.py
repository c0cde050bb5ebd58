"""Papers: receipts, stock-takes, values, origins, quotations, and any of them as PDF."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Literal

from django.http import HttpResponse
from ninja import Router, Schema
from pydantic import Field

from lemel.api.frame import act, book
from lemel.api.shapes import Name, Text, plain_out, shape_out
from lemel.api.taken import Grams, Plain
from lemel.book import (
    PLACES,
    Book,
    OriginPaper,
    Papers,
    Quote,
    Receipt,
    StockTake,
    Stones,
    ValueList,
)
from lemel.errors import BadInput

__all__ = ["Numbered", "router"]

router = Router(tags=["papers"])
_Day = Annotated[date, Field(ge=date(1800, 1, 1), le=date(2300, 1, 1))]
_Number = Annotated[str, Field(pattern=r"^[A-Z]-\d{4,9}$")]


class Numbered(Schema):
    """A paper that was given out or drawn up, by its number."""

    number: str


class StonesIn(Plain):
    """Stones of one lot: counted in it, and handed back at once."""

    counted: int = Field(ge=0, le=100_000)
    returned: int = Field(0, ge=0, le=100_000)


class ReceiptIn(Plain):
    """A receipt for lots that were weighed in, for both to sign."""

    owner: Name
    lots: list[Name] = Field(min_length=1, max_length=200)
    gets: Literal["own_metal_back", "work_from_it", "credit_fine", "money", "safe_keeping"]
    described: dict[Name, Text] = Field({})
    stones: dict[Name, StonesIn] = Field({})
    promised: Text = ""
    loss_percent: float | None = Field(None, ge=0, le=100)
    balance: Text = ""
    by: Name | None = None


class Count(Plain):
    """A list to count, place by place; `owner` left out: everybody's."""

    places: list[Literal[PLACES]] = Field([], max_length=20)  # type: ignore[valid-type]
    owner: Name | None = None
    by: Name | None = None


class Counts(Plain):
    """What was found, g, by row of the list, and who signs."""

    number: _Number
    weighed_g: dict[Annotated[int, Field(ge=1, le=1_000_000)], Grams]
    notes: dict[Annotated[int, Field(ge=1, le=1_000_000)], Text] = Field({})
    signed_by: list[Name] = Field(min_length=1, max_length=10)


class QuoteIn(Plain):
    """What an order of a plan would cost its owner, at the prices of a day."""

    plan: Name
    order: Name
    owner: Name
    on: _Day | None = None
    assays: int = Field(0, ge=0, le=100)
    valid_days: int = Field(14, ge=1, le=365)
    by: Name | None = None


@router.get("/receipt", response=shape_out(Receipt))
def receipt(request: Any, number: _Number) -> Any:  # noqa: ARG001
    """A receipt as it was given out: mg, shares as fractions."""
    return plain_out(book().papers.read_receipt(number))


@router.post("/receipts", response={201: Numbered})
def make_receipt(request: Any, body: ReceiptIn) -> Any:
    """Give out a receipt."""
    stones = {lot: Stones(one.counted, one.returned) for lot, one in body.stones.items()}
    return act(
        request,
        lambda shop: {
            "number": shop.papers.receipt(
                body.owner,
                body.lots,
                gets=body.gets,
                described=body.described,
                stones=stones,
                promised=body.promised,
                loss_percent=body.loss_percent,
                balance=body.balance,
                by=body.by or "",
            ).number
        },
        201,
    )


@router.get("/stock-take", response=shape_out(StockTake))
def stock_take(request: Any, number: _Number) -> Any:  # noqa: ARG001
    """A stock-take as it stands, mg."""
    return plain_out(book().papers.read_stock_take(number))


@router.post("/stock-takes", response={201: Numbered})
def draw_up(request: Any, body: Count) -> Any:
    """Draw up the list to count."""
    return act(
        request,
        lambda shop: {
            "number": shop.papers.stock_take(body.places, owner=body.owner, by=body.by or "").number
        },
        201,
    )


@router.post("/stock-takes/sign", response=Numbered)
def sign_off(request: Any, body: Counts) -> Any:
    """Sign it off: each difference is posted and the list is closed."""
    return act(
        request,
        lambda shop: {
            "number": shop.papers.sign_off(
                body.number, body.weighed_g, body.signed_by, body.notes
            ).number
        },
    )


@router.get("/values", response=shape_out(ValueList))
def values(
    request: Any,  # noqa: ARG001
    owner: Name | None = None,
    on: _Day | None = None,
) -> Any:
    """What lies in the house at the prices of a day; only the fine metal counts."""
    return plain_out(book().papers.values(owner, on=on))


@router.get("/origin-paper", response=shape_out(OriginPaper))
def origin_paper(
    request: Any,  # noqa: ARG001
    body: Name,
    definition: Text = "iso_14021",
) -> Any:
    """Where a body's fine metal comes from, and what a published definition counts of it."""
    return plain_out(book().papers.origin(body, definition=definition))


@router.get("/quote", response=shape_out(Quote))
def quote(request: Any, number: _Number) -> Any:  # noqa: ARG001
    """A quotation as it was given out."""
    return plain_out(book().papers.read_quote(number))


@router.post("/quotes", response={201: Numbered})
def make_quote(request: Any, body: QuoteIn) -> Any:
    """Quote an order by the plan it stands in."""
    return act(
        request,
        lambda shop: {
            "number": shop.papers.quote(
                body.plan,
                body.order,
                body.owner,
                on=body.on,
                assays=body.assays,
                valid_days=body.valid_days,
                by=body.by or "",
            ).number
        },
        201,
    )


@router.get("/paper", response={200: bytes})
def paper(request: Any, number: _Number) -> Any:  # noqa: ARG001
    """A numbered paper as PDF: R receipt, T stock-take, Q quotation, P to the refiner, A to the
    assay office."""
    papers = book().papers
    read = _READERS.get(number[0])
    if read is None:
        raise BadInput("number", number, "R-, T-, Q-, P- or A-", "Look it up.")
    return HttpResponse(papers.pdf(read(papers, number)), "application/pdf")


_READERS: dict[str, Any] = {
    "R": Papers.read_receipt, "T": Papers.read_stock_take, "Q": Papers.read_quote,
    "P": Papers.read_parcel, "A": Papers.read_assay,
}  # fmt: skip


@router.get("/statement.pdf", response={200: bytes})
def statement_pdf(
    request: Any,  # noqa: ARG001
    owner: Name,
    since: Annotated[str, Field(pattern=r"^(\d{4}(-\d{2}(-\d{2})?)?)?$")] = "",
    until: Annotated[str, Field(pattern=r"^\d{4}(-\d{2}(-\d{2})?)?$")] = "9999",
) -> Any:
    """An owner's statement as PDF, in the owner's unit."""
    shop: Book = book()
    made = shop.papers.pdf(shop.statement(owner, since, until))
    return HttpResponse(made, "application/pdf")
