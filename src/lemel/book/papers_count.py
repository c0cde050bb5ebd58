"""The stock-take: a list to count by place, then signed off, its differences posted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from lemel.book import ledger, models, steps, unweighed
from lemel.book.acts import Act
from lemel.book.papers_keep import keep, kept, next_number
from lemel.book.papers_values import Counted, StockTake, StockTakeRow
from lemel.book.rules import rule
from lemel.book.values import Account
from lemel.errors import BadInput
from lemel.values import not_negative

__all__ = ["COUNTED_PLACES", "KIND", "draw_up", "read", "sign_off"]

KIND = "stock-take"
#: Where metal lies that can be put on a balance, in the order of a round through the shop.
COUNTED_PLACES = ("store", "piece", "scrap", "lemel_box", "slag", "sweeps", "hold_up")


def draw_up(alias: str, now: str, places: Sequence[str], owner: str | None, by: str) -> StockTake:
    """The list of everything that must be there, place by place, and file it."""
    for place in places:
        if place not in COUNTED_PLACES:
            raise BadInput("places", place, ", ".join(COUNTED_PLACES), "Count one of these.")
    wanted = places or COUNTED_PLACES
    held = ledger.balances(alias, owner)
    found = sorted(
        ((wanted.index(a.place), a.owner, a.body, a, h) for a, h in held.items()
         if a.place in wanted and h.gross_mg),
    )  # fmt: skip
    if not found:
        raise BadInput("places", ", ".join(wanted), "a place with metal in it", "Weigh metal in.")
    what = dict(models.Body.objects.using(alias).values_list("pk", "kind"))
    rows = tuple(
        StockTakeRow(n, a.place, a.owner, a.body, what.get(a.body, ""), h.gross_mg)
        for n, (*_, a, h) in enumerate(found, 1)
    )
    digest = ledger.tail(alias)[1]
    taken = StockTake(next_number(alias, KIND, "T"), now, by, rows, digest)
    keep(alias, now, KIND, taken.number, taken, by=by)
    return taken


def read(alias: str, number: str) -> StockTake:
    """A stock-take as it stands."""
    return kept(alias, KIND, number, StockTake)[0]


def sign_off(
    alias: str,
    now: str,
    number: str,
    weighed_g: Mapping[int, float],
    signed_by: Sequence[str],
    notes: Mapping[int, str],
) -> StockTake:
    """Post what was found otherwise than the book says, row by row, and close the list.

    A difference within half a step of the balance is none. After steps that nobody weighed it is
    their loss, else it goes to the stock-take account. A heap that moved since the list
    was drawn up must be counted on a new list; then nothing at all is posted.
    """
    taken = read(alias, number)
    if taken.state != "open":
        raise BadInput("number", number, "a list that is still open", "Draw up a new list.")
    if not signed_by:
        raise BadInput("signed_by", "", "whoever counted", "Name who signs.")
    known = {row.n: row for row in taken.rows}
    for n, grams in weighed_g.items():
        if n not in known:
            raise BadInput("row", n, f"1 to {len(known)}", "Give the row's number on the list.")
        not_negative(f"row {n}", grams)
    _not_moved(alias, [known[n] for n in weighed_g])
    counted = tuple(
        _post(alias, now, known[n], round(grams * 1000), signed_by[0])
        for n, grams in sorted(weighed_g.items())
    )
    signed = replace(
        taken, state="signed", signed_at=now, signed_by=tuple(signed_by), counted=counted,
        left_blank=len(known) - len(counted),
    )  # fmt: skip
    apart = {"notes": {str(n): text for n, text in notes.items()}}
    keep(alias, now, KIND, number, signed, private=apart, by=signed_by[0])
    return signed


def _account(row: StockTakeRow) -> Account:
    return Account(row.owner, row.place, row.body)


def _not_moved(alias: str, rows: Sequence[StockTakeRow]) -> None:
    held = ledger.balances(alias)
    for row in rows:
        now_mg = held[_account(row)].gross_mg if _account(row) in held else 0
        if now_mg != row.book_mg:
            raise BadInput(
                f"row {row.n}", row.body, f"a heap that still holds {row.book_mg / 1000:g} g",
                "It moved since the list was drawn up: leave its row blank and count it anew.",
            )  # fmt: skip


def _post(alias: str, now: str, row: StockTakeRow, mg: int, by: str) -> Counted:
    difference = mg - row.book_mg
    if abs(difference) <= 1000 * rule("weighing_step_g") / 2:
        return Counted(row.n, mg, difference, None)
    try:
        run = unweighed.run(alias, row.body) if row.place == "store" else ()
        if run:
            entry = unweighed.settle(Act(alias, now, by), _account(row), mg, run)
        else:
            entry = steps.stock_take(alias, now, _account(row), mg, by)
    except BadInput as fault:
        raise BadInput(
            f"row {row.n}", f"{row.body}: {fault.value}", "a heap that no plan counts on",
            "It is promised to a plan: answer for its weight at the plan's step, or drop the plan.",
        ) from None  # fmt: skip
    return Counted(row.n, mg, difference, entry.number if entry else None)
