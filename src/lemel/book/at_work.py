"""The plans that the shop works by: accepted and not let go."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lemel.book import filing, models
from lemel.book.promised import DROPPED

if TYPE_CHECKING:
    from lemel.book.opened import Opened

__all__ = ["plans_at_work"]


def plans_at_work(book: Opened) -> tuple[str, ...]:
    """Ids of accepted plans, the one accepted last first; those that were let go left out."""
    gone = list(filing.all_of(book.alias, DROPPED))
    rows = models.Kept.objects.using(book.alias).exclude(pk__in=gone)
    return tuple(rows.order_by("-accepted_at", "-pk").values_list("pk", flat=True))
