"""Clean metal that may be bought without end: what a heat lacks of it comes in as it is charged."""

from __future__ import annotations

import json

from lemel.book import ledger, models, reserved
from lemel.book.acts import Act
from lemel.book.values import Account, Line
from lemel.values import Addition, Holding, from_plain

__all__ = ["bring", "is_endless"]

#: The account outside that what was bought comes from.
SOURCE = "bought"


def is_endless(alias: str, body: str) -> bool:
    """Whether this is an addition of which nobody said how much there is."""
    return _endless(alias, body) is not None


def bring(act: Act, account: Account, mg: int) -> None:
    """So much of an endless addition as is not there, or is promised to others, is bought now."""
    found = _endless(act.alias, account.body)
    short = mg - reserved.free_mg(act.alias, account)
    if found is None or found.owner != account.owner or short <= 0:
        return
    metal = Holding.of(short, found.composition)
    lines = [Line(Account(account.owner, "outside", SOURCE), -metal), Line(account, metal)]
    ledger.post(
        act.alias, act.now, "bought", lines, about=account.body, by=act.by, memo=act.facts()
    )


def _endless(alias: str, body: str) -> Addition | None:
    rows = models.Body.objects.using(alias).filter(pk=body, kind="addition")
    row = rows.select_related("owner").first()
    if row is None:
        return None
    plain = json.loads(row.record)
    if plain["stock_g"] is not None:
        return None
    return from_plain(Addition, {**plain, "owner": row.owner.code})
