"""Parcels: to the refiner with his terms, to the assay office and back."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated, Any, Literal

from ninja import Router, Schema
from pydantic import Field

from lemel.api.frame import act, book
from lemel.api.papers import Numbered
from lemel.api.shapes import Name, Text, many_out, plain_out, shape_out, value_in
from lemel.api.taken import Grams, Id, Plain, TermsIn
from lemel.book import (
    AssayParcel,
    Book,
    Found,
    RefinerParcel,
    RefinerTerms,
    Returned,
    ToAssay,
)
from lemel.values import METALS

__all__ = ["router"]

router = Router(tags=["papers"])
_Day = Annotated[date, Field(ge=date(1800, 1, 1), le=date(2300, 1, 1))]
_Money = Annotated[Decimal, Field(max_digits=15, decimal_places=6, allow_inf_nan=False, ge=0)]
_Number = Annotated[str, Field(pattern=r"^[A-Z]-\d{4,9}$")]
_Share = Annotated[float, Field(ge=0, le=1000, allow_inf_nan=False)]


class Parcels(Schema):
    """Parcels to refiners, and to assay offices."""

    to_refiners: many_out(RefinerParcel)  # type: ignore[valid-type]
    to_assay: many_out(AssayParcel)  # type: ignore[valid-type]


class Terms(Plain):
    """A refiner's terms, entered by hand; `contact` is kept apart so that it can be erased."""

    terms: TermsIn
    contact: Text = ""
    by: Name | None = None


class Packed(Plain):
    """Heaps for a refiner, at the prices of a day."""

    refiner: Name
    bodies: list[Name] = Field(min_length=1, max_length=500)
    on: _Day | None = None
    by: Name | None = None


class Which(Plain):
    """A parcel by its number."""

    number: _Number
    by: Name | None = None


class Back(Plain):
    """Metal that the refiner sent back."""

    metal: Literal[METALS]  # type: ignore[valid-type]
    mass_g: Grams
    fineness_millesimal: _Share


class Paid(Plain):
    """What the refiner sent back for one owner's lot: fine metal by his assay in g, the money after
    all charges, the metal that came back."""

    assayed_g: dict[Literal[METALS], Grams]  # type: ignore[valid-type]
    paid: _Money = Decimal(0)
    back: list[Back] = Field([], max_length=20)


class Settle(Plain):
    """The refiner's assay and payment, by owner."""

    number: _Number
    returned: dict[Name, Paid] = Field(min_length=1)
    by: Name | None = None


class Thing(Plain):
    """One thing for the assay office; `mass_g` left out: the whole of it, else a sample."""

    body: Name
    claim: Text = ""
    mass_g: Grams | None = None
    sample: Literal["", "dip", "drill", "surface"] = ""


class ToOffice(Plain):
    """Pieces and samples to an assay office."""

    office: Name
    things: list[Thing] = Field(min_length=1, max_length=200)
    by: Name | None = None


class Result(Plain):
    """What the office found of one line."""

    result: Literal["passed", "failed", "broken"]
    fineness_millesimal: _Share | None = None
    method: Name = "xrf-bench"
    back_g: Grams | None = None
    why: Literal["", "fineness", "solder", "coating", "other_metal"] = ""


class Results(Plain):
    """The office's answer by line of the parcel."""

    number: _Number
    found: dict[Annotated[int, Field(ge=1, le=10_000)], Result] = Field(min_length=1)
    fee: _Money = Decimal(0)
    currency: Text = ""
    by: Name | None = None


@router.get("/parcels", response=Parcels)
def parcels(request: Any, open_only: bool = True) -> Any:  # noqa: ARG001
    """Parcels that are not over yet, or all; mg and ng."""
    found = book().papers.parcels(open_only=open_only)
    return {
        "to_refiners": plain_out([one for one in found if isinstance(one, RefinerParcel)]),
        "to_assay": plain_out([one for one in found if isinstance(one, AssayParcel)]),
    }


@router.get("/refiners", response=dict[str, shape_out(RefinerTerms)])  # type: ignore[misc]
def refiners(request: Any) -> Any:  # noqa: ARG001
    """Every refiner's terms as they stand."""
    return plain_out(book().papers.refiners())


@router.post("/refiners", response={201: Id})
def enter_refiner(request: Any, body: Terms) -> Any:
    """Enter a refiner's terms."""
    terms = value_in(RefinerTerms, body.terms)

    def entered(shop: Book) -> Any:
        shop.papers.enter_refiner(terms, contact=body.contact, by=body.by or "")
        return {"id": terms.id}

    return act(request, entered, 201)


@router.post("/parcels", response={201: Numbered})
def begin(request: Any, body: Packed) -> Any:
    """Draw up a parcel and reckon it, owners apart; nothing moves until it is sent."""
    return act(
        request,
        lambda shop: {
            "number": shop.papers.begin_parcel(
                body.refiner, body.bodies, on=body.on, by=body.by or ""
            ).number
        },
        201,
    )


@router.post("/parcels/send", response=Numbered)
def send(request: Any, body: Which) -> Any:
    """The metal leaves the house."""
    return act(
        request,
        lambda shop: {"number": shop.papers.send_parcel(body.number, by=body.by or "").number},
    )


@router.post("/parcels/unpack", response=Numbered)
def unpack(request: Any, body: Which) -> Any:
    """It does not go after all, or came back as it went."""
    return act(
        request,
        lambda shop: {"number": shop.papers.unpack_parcel(body.number, by=body.by or "").number},
    )


@router.post("/parcels/settle", response=Numbered)
def settle(request: Any, body: Settle) -> Any:
    """The refiner's assay and payment; what came back as metal is weighed in."""
    returned = {
        owner: Returned(
            one.assayed_g, one.paid,
            tuple((b.metal, b.mass_g, b.fineness_millesimal / 1000) for b in one.back),
        )
        for owner, one in body.returned.items()
    }  # fmt: skip
    return act(
        request,
        lambda shop: {
            "number": shop.papers.settle_parcel(body.number, returned, by=body.by or "").number
        },
    )


@router.post("/assays", response={201: Numbered})
def to_office(request: Any, body: ToOffice) -> Any:
    """Pieces and samples leave for an assay office."""
    things = [ToAssay(one.body, one.claim, one.mass_g, one.sample) for one in body.things]
    return act(
        request,
        lambda shop: {
            "number": shop.papers.send_to_assay(body.office, things, by=body.by or "").number
        },
        201,
    )


@router.post("/assays/back", response=Numbered)
def from_office(request: Any, body: Results) -> Any:
    """The office's answer; its assays become evidence."""
    found = {
        n: Found(
            one.result,
            None if one.fineness_millesimal is None else one.fineness_millesimal / 1000,
            one.method, one.back_g, one.why,
        )
        for n, one in body.found.items()
    }  # fmt: skip
    return act(
        request,
        lambda shop: {
            "number": shop.papers.assay_back(
                body.number, found, fee=body.fee, currency=body.currency, by=body.by or ""
            ).number
        },
    )
