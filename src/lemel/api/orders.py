"""Orders: what is wanted, by line, with what of it is made and planned."""

from __future__ import annotations

from typing import Any, Literal

from ninja import Router, Schema
from pydantic import Field

from lemel.api.frame import act, book
from lemel.api.people import Ids
from lemel.api.shapes import Name, Text, plain_out, shape_out, value_in
from lemel.api.taken import Id, OrderLineIn, Plain
from lemel.book import Wanted
from lemel.values import OrderLine

__all__ = ["router"]

router = Router(tags=["orders"])


class Order(Schema):
    """One order line as it stands: open, planned, made, met or dropped."""

    line: shape_out(OrderLine)  # type: ignore[valid-type]
    state: str
    made: int
    planned: int
    left: int
    customer: str
    entered_at: str
    closed_at: str


class Lines(Plain):
    """Order lines, new or changed; `customers` by order id, kept apart so that they can be erased.
    Sizes are mm unless they are named otherwise."""

    lines: list[OrderLineIn] = Field(min_length=1, max_length=500)
    customers: dict[Name, Text] = Field({})
    by: Name | None = None


class Closed(Plain):
    """A line is met or dropped by hand."""

    line: Name
    how: Literal["met", "dropped"]
    by: Name | None = None


def _order(one: Wanted) -> dict[str, Any]:
    return {**plain_out(one), "left": one.left}


@router.get("/orders", response=list[Order])
def orders(request: Any, open_only: bool = True) -> Any:  # noqa: ARG001
    """Order lines in the order of their entry; `open_only`: neither closed nor wholly made."""
    return [_order(one) for one in book().bench.orders(open_only=open_only)]


@router.post("/orders", response={201: Ids})
def enter_orders(request: Any, body: Lines) -> Any:
    """Order lines, new or changed; a line that is closed stays as it is."""
    lines = [value_in(OrderLine, one) for one in body.lines]

    def entered(shop: Any) -> Any:
        ids = shop.bench.enter_orders(lines, customers=body.customers, by=body.by or "")
        return {"ids": list(ids)}

    return act(request, entered, 201)


@router.post("/orders/close", response=Id)
def close(request: Any, body: Closed) -> Any:
    """The line is asked for no more; it stays in the book."""

    def done(shop: Any) -> Any:
        shop.bench.close_order(body.line, body.how, by=body.by or "")
        return {"id": body.line}

    return act(request, done)
