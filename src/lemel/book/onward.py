"""Answers over the whole ledger, kept and carried on by the entries that came since.

A sealed entry never changes, so what was reckoned up to one holds as long as that entry stands
with its digest; only what came after is read. Where it does not stand, all is read anew.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar, cast

from lemel.book import ledger, models

__all__ = ["carried_on"]

Kept = TypeVar("Kept")

#: By the name of the answer and the book: the number and digest of the head, and the answer.
_kept: dict[tuple[str, str], tuple[int, str, object]] = {}


def carried_on(
    alias: str, name: str, whole: Callable[[], Kept], more: Callable[[Kept, int, int], Kept]
) -> Kept:
    """`whole()`, or what was kept of it with `more(kept, after, until)` by entries' numbers.

    `more` gives a new answer and leaves the one that was kept as it is: others may be reading it.
    """
    number, digest = ledger.tail(alias)
    before = _kept.get((name, alias))
    if before is not None and _stands(alias, before[0], before[1]):
        found = cast(Kept, before[2])
        if before[0] != number:
            found = more(found, before[0], number)
    else:
        found = whole()
        if ledger.tail(alias) != (number, digest):  # somebody wrote meanwhile
            return found
    _kept[name, alias] = (number, digest, found)
    return found


def _stands(alias: str, number: int, digest: str) -> bool:
    if not number:
        return False
    rows = models.Entry.objects.using(alias).filter(number=number, digest=digest)
    return bool(rows.exists())
