"""Orders as they were given, what of them is made, and what a new plan still has to make."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import replace

from lemel.book import filing, models, people, shelf
from lemel.book.bench_values import Wanted
from lemel.book.foreseen import foreseen
from lemel.book.promised import open_steps
from lemel.errors import BadInput
from lemel.values import OrderLine, from_plain, is_one_of, to_plain

__all__ = ["HOWS", "KIND", "close", "enter", "still_to_make", "wanted"]

KIND = "order"
#: How a line ends by hand.
HOWS = ("met", "dropped")
#: What lies apart from the digest: words that a customer may want erased.
_APART = ("note",)


def enter(
    alias: str, now: str, lines: Iterable[OrderLine], customers: dict[str, str], by: str
) -> tuple[str, ...]:
    """Order lines as they are now; a line that stands otherwise gets a new version.

    `customers` by order id: who gave it, kept apart. Raises BadInput for a line that is closed.
    """
    entered = []
    for line in lines:
        people.key_of(alias, line.owner)
        last = filing.newest(alias, KIND, line.id)
        if last is not None and last.record["state"] != "open":
            raise BadInput(
                "order", line.id, "a line that is open, or a new one",
                f"It is {last.record['state']}: give the new line an id of its own.",
            )  # fmt: skip
        plain = to_plain(line)
        apart = {key: plain.pop(key) for key in _APART if plain[key]}
        plain.pop("owner")
        customer = customers.get(line.order, last.private.get("customer", "") if last else "")
        if customer:
            apart["customer"] = customer
        filing.file(
            alias, now, KIND, line.id, {"line": plain, "state": "open"},
            private=apart, owner=line.owner, by=by,
        )  # fmt: skip
        entered.append(line.id)
    return tuple(entered)


def close(alias: str, now: str, line: str, how: str, by: str) -> None:
    """A line is met or dropped; the same again changes nothing."""
    is_one_of("how", how, HOWS)
    last = filing.must_stand(alias, KIND, line)
    if last.record["state"] == how:
        return
    if last.record["state"] != "open":
        raise BadInput("order", line, "a line that is open", f"It is {last.record['state']}.")
    filing.file(
        alias, now, KIND, line, {**last.record, "state": how},
        private=last.private, owner=last.owner, by=by,
    )  # fmt: skip


def wanted(alias: str, *, open_only: bool) -> tuple[Wanted, ...]:
    """Order lines in the order of their entry, with what is made and planned of each.

    `open_only`: those that are not closed, nor wholly made.
    """
    ids = shelf.standing(alias, KIND)
    made, planned = _made(alias, set(ids)), _planned(alias, set(ids))
    hours = _entered_at(alias)
    found = []
    for name, filed in ids.items():
        line = _line(filed)
        count = line.count
        there, coming = min(count, made.get(name, 0)), planned.get(name, 0)
        coming = min(count - there, coming)
        state = filed.record["state"]
        if state == "open" and there >= count:
            state = "made"
        elif state == "open" and there + coming >= count:
            state = "planned"
        closed = filed.made_at if state in HOWS else ""
        if not open_only or state in ("open", "planned"):
            customer = filed.private.get("customer", "")
            found.append(Wanted(line, state, there, coming, customer, hours[name], closed))
    return tuple(found)


def _line(filed: filing.Filing) -> OrderLine:
    plain = {**filed.record["line"], "owner": filed.owner}
    return from_plain(OrderLine, {**plain, "note": filed.private.get("note", "")})


def _entered_at(alias: str) -> dict[str, str]:
    rows = models.Filed.objects.using(alias).filter(kind=KIND, n=1)
    return dict(rows.values_list("name", "made_at"))


def _made(alias: str, lines: set[str]) -> dict[str, int]:
    """Pieces that came to be, by order line."""
    rows = models.Body.objects.using(alias).filter(kind="piece", withdrawn=False)
    own = ((name, json.loads(text)["id"]) for name, text in rows.values_list("id", "record"))
    return _counted(alias, ((name.removesuffix(f"/{short}"), short) for name, short in own), lines)


def _planned(alias: str, lines: set[str]) -> dict[str, int]:
    """Pieces that accepted plans are still to make."""
    own = (
        (step.plan, piece)
        for step in open_steps(alias)
        for to, piece, mg in step.gives
        if to.place == "piece" and mg
    )
    return _counted(alias, own, lines)


def _counted(alias: str, pieces: Iterable[tuple[str, str]], lines: set[str]) -> dict[str, int]:
    """Pieces by order line, from plan and own id; one blank may yield many, by its plan."""
    found: dict[str, int] = {}
    for plan, piece in pieces:
        line = piece if piece in lines else piece.rpartition("/")[0]
        if line in lines:
            count = foreseen(alias, plan).pieces.get(piece, 1)
            found[line] = found.get(line, 0) + count
    return found


def still_to_make(alias: str, lines: Iterable[str] | None) -> tuple[OrderLine, ...]:
    """Open lines less what is made or promised; all of them or those that are named."""
    chosen = None if lines is None else list(lines)
    open_lines = {one.line.id: one for one in wanted(alias, open_only=False)}
    for name in chosen or ():
        if name not in open_lines:
            known = ", ".join(open_lines) or "none yet"
            raise BadInput("lines", name, known, "Name an order line of the book.")
    return tuple(
        one.line if one.left == one.line.count else replace(one.line, count=one.left)
        for name, one in open_lines.items()
        if one.left and (chosen is None or name in chosen)
    )
