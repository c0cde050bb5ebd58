"""The workshop: tools with their inspections, prices, rules, own figures."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Annotated, Any, Literal

from ninja import Router, Schema
from ninja.params import functions as params
from pydantic import Field

from lemel.api.frame import act, book
from lemel.api.shapes import Name, Text, many_out, plain_out, shape_in, shape_out, value_in
from lemel.api.taken import Id, Plain
from lemel.book import Book, PriceLine, ToolNote
from lemel.values import (
    Balance,
    Crucible,
    DrawBench,
    DrawPlate,
    Furnace,
    Grooves,
    HouseRules,
    Instrument,
    Mill,
    Mould,
    Saw,
    Torch,
)

__all__ = ["router"]

router = Router(tags=["workshop"])
#: Each kind of tool and the value that it is.
_TOOLS: dict[str, type] = {
    "furnace": Furnace, "torch": Torch, "crucible": Crucible, "mould": Mould, "mill": Mill,
    "grooves": Grooves, "drawplate": DrawPlate, "drawbench": DrawBench, "saw": Saw,
    "balance": Balance, "instrument": Instrument,
}  # fmt: skip
if TYPE_CHECKING:
    _Kind = str
else:
    _Kind = Literal[tuple(_TOOLS)]
_Day = Annotated[date, Field(ge=date(1800, 1, 1), le=date(2300, 1, 1))]

_Whole = Annotated[int, Field(strict=True, ge=-(10**9), le=10**9)]
_Number = Annotated[float, Field(strict=True, ge=-1e12, le=1e12, allow_inf_nan=False)]
_BODY: Any = params.Body(...)


class Tool(Schema):
    """A tool as it stands; `tool` is its value, a crucible's with the melts done up to now."""

    kind: str
    id: str
    since: str
    retired_why: str
    tool: dict[str, Any]


class Retired(Plain):
    """A tool that is out of use, and why."""

    kind: _Kind
    id: Name
    why: Text
    by: Name | None = None


class Inspected(Plain):
    """What an inspection of a tool found."""

    kind: _Kind
    id: Name
    note: Text
    by: Name | None = None


class Price(Plain):
    """A price by hand: fine/Ag, scrap_paid/Ag, stock/UK Ag 925/sheet, labour_per_h and so on; it
    holds from its day until the next. `currency` with the first one."""

    what: Name
    amount: Annotated[Decimal, Field(max_digits=15, decimal_places=6, allow_inf_nan=False)]
    on: _Day | None = None
    source: Text = ""
    currency: Text = ""
    by: Name | None = None


class Prices(Schema):
    """The prices of a day, each with its own date and source."""

    currency: str | None
    prices: list[shape_out(PriceLine)]  # type: ignore[valid-type]


class Rule(Plain):
    """A rule of the house by name: as /rules lists them, allowances.melt, or hold_days. Shares are
    fractions of one."""

    name: Name
    value: _Whole | _Number | Text
    by: Name | None = None


class OwnFigure(Plain):
    """The house's own figure over one of a shipped table; null takes it back."""

    table: Name
    row: Name
    column: Name
    value: _Whole | _Number | Text | None
    by: Name | None = None


@router.get("/tools", response=list[Tool])
def tools(
    request: Any,  # noqa: ARG001
    kind: _Kind | None = None,
    retired: bool = False,
) -> Any:
    """The tools in use, all or of one kind; with `retired` those that are over too."""
    bench = book().bench
    kinds = [kind] if kind else bench.tool_kinds
    return [plain_out(row) for one in kinds for row in bench.tools(one, retired=retired)]


@router.post("/tools/retire", response=Id)
def retire(request: Any, body: Retired) -> Any:
    """Worn out, broken or sold: it stays in the book with its reason."""

    def done(shop: Book) -> Any:
        shop.bench.retire_tool(body.kind, body.id, body.why, by=body.by or "")
        return {"id": body.id}

    return act(request, done)


@router.get("/tools/notes", response=many_out(ToolNote))
def notes(request: Any, kind: _Kind, id: Name) -> Any:  # noqa: ARG001
    """Every inspection of a tool, the first one first."""
    return plain_out(book().bench.tool_notes(kind, id))


@router.post("/tools/notes", response={201: Id})
def note(request: Any, body: Inspected) -> Any:
    """What an inspection found."""

    def done(shop: Book) -> Any:
        shop.bench.note_tool(body.kind, body.id, body.note, by=body.by or "")
        return {"id": body.id}

    return act(request, done, 201)


def _entrance(kind: str, of: type) -> None:
    """POST /tools/KIND: the tool as it is now."""

    def enter(request: Any, tool: Any = _BODY) -> Any:
        made = value_in(of, tool)

        def entered(shop: Book) -> Any:
            return {"id": shop.bench.set_tool(kind, made).id}

        return act(request, entered, 201)

    enter.__annotations__["tool"] = shape_in(of)
    enter.__name__ = f"enter_{kind}"
    enter.__doc__ = f"A {kind} as it is now; one that was retired comes back."
    router.post(f"/tools/{kind}", response={201: Id})(enter)


for _kind, _of in _TOOLS.items():
    _entrance(_kind, _of)


@router.get("/prices", response=Prices)
def prices(request: Any, on: _Day | None = None) -> Any:  # noqa: ARG001
    """The prices of a day (today)."""
    bench = book().bench
    whole = bench.prices(on)
    return {
        "currency": whole.currency if whole else None, "prices": plain_out(bench.price_lines(on))
    }  # fmt: skip


@router.post("/prices", response={201: shape_out(PriceLine)})
def set_price(request: Any, body: Price) -> Any:
    """Enter a price; none is overwritten."""
    return act(
        request,
        lambda shop: shop.bench.set_price(
            body.what,
            body.amount,
            on=body.on,
            source=body.source,
            currency=body.currency,
            by=body.by or "",
        ),
        201,
    )


@router.get("/rules", response=shape_out(HouseRules))
def rules(request: Any) -> Any:  # noqa: ARG001
    """The rules of the house."""
    return plain_out(book().bench.rules())


@router.post("/rules", response=shape_out(HouseRules))
def set_rule(request: Any, body: Rule) -> Any:
    """Set one rule."""
    return act(request, lambda shop: shop.bench.set_rule(body.name, body.value, by=body.by or ""))


@router.get("/figures", response=dict[str, Any])
def figures(request: Any) -> Any:  # noqa: ARG001
    """The house's own figures, by table, row and column."""
    return plain_out(book().bench.figures())


@router.post("/figures", response=Id)
def set_figure(request: Any, body: OwnFigure) -> Any:
    """Lay an own figure over one of a shipped table, or take it back."""

    def done(shop: Book) -> Any:
        shop.bench.set_figure(body.table, body.row, body.column, body.value, by=body.by or "")
        return {"id": f"{body.table}/{body.row}/{body.column}"}

    return act(request, done)
