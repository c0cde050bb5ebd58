"""The book as a whole: its head, what can be made today, heaps, losses, audit, copies."""

from __future__ import annotations

from typing import Annotated, Any

from ninja import Router, Schema
from pydantic import Field

from lemel.api.frame import act, book
from lemel.api.kept import kept_plan
from lemel.api.shapes import Held, Name, Text, many_out, plain_out, shape_out
from lemel.api.taken import Plain
from lemel.book import Audit, HeatRecord, LossRow, OwnerLoss, find_heaps, plans_at_work
from lemel.words import say

__all__ = ["router"]

router = Router(tags=["book"])
#: A page of a list: how many, and after which.
Most = Annotated[int, Field(ge=1, le=500)]
#: A day or an hour as text: 2031-10-09, 2031-10-09T15:20:00Z; "" is the beginning.
Hour = Annotated[str, Field(pattern=r"^(\d{4}(-\d{2}(-\d{2}(T\d{2}:\d{2}(:\d{2}Z?)?)?)?)?)?$")]


class Head(Schema):
    """Number and digest of the book's last entry."""

    entries: int
    head: str


class Today(Schema):
    """An open order line: how many are left, what meets them, and in which plan and heat."""

    line: str
    order: str
    what: str
    owner: str
    due_on: str | None
    count: int
    left: int
    state: str
    met_by: str = Field(description="as in plans; no_plan where none is at work")
    said: str
    why: list[str]
    plan: str
    uses: list[str]


class Heap(Schema):
    """One heap: whose, where, which, and what it holds."""

    owner: str
    place: str
    body: str
    holding: Held


class Heaps(Schema):
    """Some heaps; `after` asks for the next ones (0: there are none)."""

    heaps: list[Heap]
    after: int


class Copy(Schema):
    """A backup in the book's own folder."""

    file: str
    size_bytes: int


class Backed(Schema):
    """A backup that was made, opened and audited."""

    file: str
    entries: int
    head: str
    whole: bool


class Reversal(Plain):
    """Which entry is undone by its opposite."""

    entry: int = Field(ge=1, le=10**12)
    by: Name | None = None


@router.get("/head", response=Head)
def head(request: Any) -> Any:  # noqa: ARG001
    """Number and digest of the book's last entry: note it on paper, and an audit can be told."""
    number, digest = book().head()
    return {"entries": number, "head": digest}


@router.get("/today", response=list[Today])
def today(request: Any) -> Any:  # noqa: ARG001
    """What can be made: each open order line, and what meets it by the plans at work."""
    shop = book()
    planned = {
        line.line: (name, line)
        for name in reversed(plans_at_work(shop))
        for line in kept_plan(shop, name).lines
    }
    found = []
    for wanted in shop.bench.orders():
        name, line = planned.get(wanted.line.id, ("", None))
        due = wanted.line.due_on
        found.append({
            "line": wanted.line.id, "order": wanted.line.order, "what": wanted.line.what,
            "owner": wanted.line.owner, "due_on": due.isoformat() if due else None,
            "count": wanted.line.count, "left": wanted.left, "state": wanted.state,
            "met_by": line.met_by if line else "no_plan", "plan": name,
            "said": say(line.how) if line else "", "uses": list(line.uses) if line else [],
            "why": [say(one) for one in line.why] if line else [],
        })  # fmt: skip
    return found


@router.get("/heaps", response=Heaps)
def heaps(
    request: Any,  # noqa: ARG001
    owner: Text = "",
    place: Text = "",
    after: Annotated[int, Field(ge=0, le=2**53)] = 0,
    most: Most = 50,
) -> Any:
    """Every heap that holds something, in mg and ng, a page at a time."""
    some = find_heaps(book(), owner=owner, place=place, after=after, most=most)
    return {
        "after": some.after,
        "heaps": [
            {"owner": a.owner, "place": a.place, "body": a.body, "holding": plain_out(held)}
            for a, held in some.heaps
        ],
    }


@router.get("/audit", response=shape_out(Audit))
def audit(request: Any, head: Text = "") -> Any:  # noqa: ARG001
    """Recompute everything; `head` is N:DIGEST noted earlier. No faults: the book is whole."""
    number, _, digest = head.partition(":")
    expect = (int(number), digest) if number.isdecimal() and len(number) < 15 else None
    return plain_out(book().audit(expect))


@router.get("/losses", response=many_out(LossRow))
def losses(
    request: Any,  # noqa: ARG001
    since: Hour = "",
    until: Hour = "9999",
    by_person: bool = False,
) -> Any:
    """Loss by operation (and person) from `since` to before `until`, against what may be lost."""
    return plain_out(book().losses(since, until, by_person))


@router.get("/missing", response=many_out(OwnerLoss))
def missing(
    request: Any,  # noqa: ARG001
    since: Hour = "",
    until: Hour = "9999",
) -> Any:
    """What each owner misses of each metal, wherever it was noticed."""
    return plain_out(book().papers.unaccounted(since, until))


@router.get("/heat-records", response=many_out(HeatRecord))
def heat_records(
    request: Any,  # noqa: ARG001
    since: Hour = "",
    until: Hour = "9999",
) -> Any:
    """Every poured heat as it was weighed: what learning of yields and losses takes."""
    return plain_out(book().heat_records(since, until))


@router.get("/export", response=dict[str, Any])
def export(request: Any) -> Any:  # noqa: ARG001
    """Everything in the book as one open file (`lemel-book`); photographs apart."""
    return book().export()


@router.get("/backups", response=list[Copy])
def backups(request: Any) -> Any:  # noqa: ARG001
    """Every backup that is there, the newest first."""
    return [{"file": path.name, "size_bytes": size} for path, size in book().copies.kept()]


@router.post("/backups", response={201: Backed})
def back_up(request: Any) -> Any:
    """One more backup, verified by opening and auditing the copy."""

    def made(shop: Any) -> Any:
        path, found = shop.backup()
        return {
            "file": path.name, "entries": found.entries, "head": found.head, "whole": found.whole
        }  # fmt: skip

    return act(request, made, 201, alone=True)


class Undone(Schema):
    """The entry that undoes another."""

    number: int
    digest: str
    again: bool


@router.post("/entries/reverse", response={201: Undone})
def reverse(request: Any, body: Reversal) -> Any:
    """Undo an entry by its opposite, once. Steps of a plan are undone by /steps/undo."""

    def undone(shop: Any) -> Any:
        sealed = shop.reverse(body.entry, by=body.by or "")
        return {"number": sealed.number, "digest": sealed.digest, "again": sealed.again}

    return act(request, undone, 201)
