"""Owners, their statements, and what they have allowed."""

from __future__ import annotations

from typing import Any, Literal

from ninja import Router, Schema
from pydantic import Field

from lemel.api.frame import act, book
from lemel.api.now import Hour
from lemel.api.shapes import Name, Text, many_out, plain_out, shape_out, value_in
from lemel.api.taken import ConsentIn, Id, Plain
from lemel.book import Statement
from lemel.values import Consent

__all__ = ["router"]

router = Router(tags=["people"])


class Owner(Schema):
    """Somebody whose metal lies here; `name` "" once it was erased."""

    id: str
    name: str
    unit: str = Field(description="the unit they read their metal in: g or ozt")


class Owners(Plain):
    """Owners by id and name."""

    owners: dict[Name, Text] = Field(min_length=1, max_length=500)


class Unit(Plain):
    """The unit in which an owner reads their metal."""

    owner: Name
    unit: Literal["g", "ozt"]


class WhoseName(Plain):
    """Whose name is erased."""

    owner: Name


class Consents(Plain):
    """What owners have allowed."""

    consents: list[ConsentIn] = Field(min_length=1, max_length=500)


class Withdrawn(Plain):
    """A reading, a consent, or a lot that holds nothing."""

    id: Name


class Ids(Schema):
    """What was entered."""

    ids: list[str]


@router.get("/owners", response=list[Owner])
def owners(request: Any) -> Any:  # noqa: ARG001
    """Everybody whose metal lies here."""
    shop = book()
    return [
        {"id": one, "name": name, "unit": shop.papers.unit_of(one)}
        for one, name in shop.owners().items()
    ]


@router.post("/owners", response={201: Ids})
def enter_owners(request: Any, body: Owners) -> Any:
    """New owners, or another name for a known one."""

    def entered(shop: Any) -> Any:
        shop.enter_owners(body.owners)
        return {"ids": list(body.owners)}

    return act(request, entered, 201)


@router.post("/owners/unit", response=Id)
def set_unit(request: Any, body: Unit) -> Any:
    """The unit in which an owner reads their metal."""

    def done(shop: Any) -> Any:
        shop.papers.set_unit(body.owner, body.unit)
        return {"id": body.unit}

    return act(request, done)


@router.post("/owners/erase", response=Id)
def erase(request: Any, body: WhoseName) -> Any:
    """Take a person's names out of the book; the ledger stays whole. `id` is what is left."""
    return act(request, lambda shop: {"id": shop.erase_names(body.owner)})


@router.get("/statement", response=shape_out(Statement))
def statement(
    request: Any,  # noqa: ARG001
    owner: Name,
    since: Hour = "",
    until: Hour = "9999",
) -> Any:
    """What an owner had, what came and went, what there is: gross in mg, fine metal in ng."""
    return plain_out(book().statement(owner, since, until))


@router.get("/consents", response=many_out(Consent))
def consents(request: Any) -> Any:  # noqa: ARG001
    """What owners have allowed and not taken back."""
    return plain_out(book().consents())


@router.post("/consents", response={201: Ids})
def enter_consents(request: Any, body: Consents) -> Any:
    """What owners have allowed: to destroy, top up, mix, and so on, with a limit in grams."""
    given = [value_in(Consent, one) for one in body.consents]

    def entered(shop: Any) -> Any:
        shop.enter_consents(given)
        return {"ids": [one.id for one in given]}

    return act(request, entered, 201)


@router.post("/withdraw", response=Id)
def withdraw(request: Any, body: Withdrawn) -> Any:
    """Take back a reading, a consent, or a lot that holds nothing; it stays to be seen."""

    def done(shop: Any) -> Any:
        shop.withdraw(body.id)
        return {"id": body.id}

    return act(request, done)
