"""What is written down while a heat burns: temperatures of a logger, beside the phone's lines.

The lines are the phone's own ("line PLAN/HEAT" in the book, by the line's id), so that the curve
at the furnace grows by what a thermocouple sends. A line is kept once and undone by another.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Any

from ninja import Router, Schema
from pydantic import Field

from lemel.api.frame import act, book
from lemel.api.kept import heat_of
from lemel.api.people import Ids
from lemel.api.shapes import Name
from lemel.api.taken import Plain
from lemel.book import Book
from lemel.errors import BadInput

__all__ = ["router"]

router = Router(tags=["heats"])
#: An id that the sender draws: the same line sent again is the same line.
LineId = Annotated[str, Field(pattern=r"^[A-Za-z0-9_-]{12,64}$")]
#: What a display at the fire may show, degC; ms from 1970 to 3000.
_Celsius = Annotated[float, Field(ge=-50, le=1700, allow_inf_nan=False)]
_Ms = Annotated[int, Field(ge=0, le=32_503_680_000_000)]


class Temperature(Plain):
    """One temperature as the display shows it (the display is not the bath), and when: ms since
    1970-01-01 UTC by the sender's clock."""

    id: LineId
    celsius: _Celsius
    at_ms: _Ms


class Logged(Plain):
    """Temperatures of one heat."""

    plan: Name
    heat: Name
    readings: list[Temperature] = Field(min_length=1, max_length=1000)


class Undo(Plain):
    """The line that does not hold."""

    plan: Name
    heat: Name
    of: LineId


class LogLine(Schema):
    """One line of the log that stands; `facts` of a reading: celsius."""

    id: str
    what: str
    step: str
    at_ms: int
    facts: dict[str, Any]


def _kind(plan: str, heat: str) -> str:
    return f"line {plan}/{heat}"


@router.get("/heats/log", response=list[LogLine])
def log(request: Any, plan: Name, heat: Name) -> Any:  # noqa: ARG001
    """The lines of a heat that stand, in the order of their hours."""
    shop = book()
    heat_of(shop, plan, heat)
    lines = [(name, one.record) for name, one in shop.filed(_kind(plan, heat)).items()]
    undone = {str(said["facts"]["of"]) for _, said in lines if said["what"] == "undo"}
    standing = [
        {
            "id": name, "what": said["what"], "step": said["step"], "at_ms": said["pressed_ms"],
            "facts": said["facts"],
        }
        for name, said in lines
        if said["what"] != "undo" and name not in undone
    ]  # fmt: skip
    return sorted(standing, key=lambda one: (one["at_ms"], one["id"]))


@router.post("/heats/log", response={201: Ids})
def write_log(request: Any, body: Logged) -> Any:
    """Temperatures of a logger, each kept once by its id: sending them again does no harm."""

    def written(shop: Book) -> Any:
        _is_open(shop, body.plan, body.heat)
        for one in body.readings:
            _keep(
                shop, body.plan, body.heat, one.id, one.at_ms, "reading", {"celsius": one.celsius}
            )
        return {"ids": [one.id for one in body.readings]}

    return act(request, written, 201)


@router.post("/heats/log/undo", response={201: Ids})
def undo_log(request: Any, body: Undo) -> Any:
    """A reading does not hold; it stays to be seen in the book."""

    def undone(shop: Book) -> Any:
        _is_open(shop, body.plan, body.heat)
        there = shop.filed_history(_kind(body.plan, body.heat), body.of)
        if not there or there[0].record["what"] != "reading":
            raise BadInput("of", body.of, "a reading of this heat", "Look it up in the log.")
        now = int(datetime.now(UTC).timestamp() * 1000)
        _keep(shop, body.plan, body.heat, f"{body.of[:58]}-undo", now, "undo", {"of": body.of})
        return {"ids": [body.of]}

    return act(request, undone, 201)


def _is_open(shop: Book, plan: str, heat: str) -> None:
    heat_of(shop, plan, heat)
    if shop.heat_state(plan, heat) == "closed":
        raise BadInput("heat", heat, "a heat that is not closed", "Name the one that burns.")


def _keep(
    shop: Book, plan: str, heat: str, name: str, at_ms: int, what: str, facts: dict[str, Any]
) -> None:
    record = {"what": what, "step": "", "facts": facts, "at": "", "pressed_ms": at_ms}
    there = shop.filed_history(_kind(plan, heat), name)
    if not there:
        shop.file(_kind(plan, heat), name, record)
    elif (there[0].record["what"], there[0].record["facts"]) != (what, facts):
        raise BadInput("id", name, "an id of its own", "Draw a new one for another reading.")
