"""An owner's statement: what was there, what came and went, what is there, over a period."""

from __future__ import annotations

from lemel.book import ledger, models, people
from lemel.book.guards import OPEN_PLACES
from lemel.book.values import Statement, StatementLine
from lemel.values import Holding

__all__ = ["statement"]


def statement(alias: str, owner: str, since: str, until: str) -> Statement:
    """From `since` to before `until` (dates or hours, as text): opening + lines = closing.

    Only what changes how much the owner has in the house is a line: what came and went,
    losses, assay differences. Metal that only moved within the house is not.
    """
    key = people.key_of(alias, owner)
    in_house = models.Posting.objects.using(alias).filter(account__owner_id=key)
    in_house = in_house.exclude(account__place__in=OPEN_PLACES)
    changes: dict[int, Holding] = {}
    heads: dict[int, tuple[str, str, str]] = {}
    later = in_house.filter(entry__made_at__gte=since)
    parts: dict[int, dict[str, int]] = {}
    for posting, element, ng in (
        models.Part.objects.using(alias)
        .filter(posting__in=later)
        .values_list("posting_id", "element", "ng")
    ):
        parts.setdefault(posting, {})[element] = ng
    for pk, number, mg, made_at, kind, about in later.values_list(
        "pk", "entry_id", "gross_mg", "entry__made_at", "entry__kind", "entry__about"
    ):
        moved = Holding.from_ng(mg, parts.get(pk, {}))
        changes[number] = changes.get(number, Holding.nothing()) + moved
        heads[number] = (made_at, kind, about)
    now = sum(
        (
            metal
            for account, metal in ledger.balances(alias, owner=owner).items()
            if account.place not in OPEN_PLACES
        ),
        Holding.nothing(),
    )
    opening = now - sum(changes.values(), Holding.nothing())
    within = {n: metal for n, metal in sorted(changes.items()) if heads[n][0] < until}
    closing = opening + sum(within.values(), Holding.nothing())
    lines = tuple(
        StatementLine(n, *heads[n], metal.gross_mg, metal.as_dict())
        for n, metal in within.items()
        if metal.element_ng
    )
    return Statement(
        owner, since, until, opening.gross_mg, closing.gross_mg, opening.as_dict(),
        closing.as_dict(), lines, ledger.tail(alias)[1],
    )  # fmt: skip
