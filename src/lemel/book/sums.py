"""What each owner has in all and place by place, added up by the database."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db.models import Count, Sum

from lemel.book import models
from lemel.book.onward import carried_on
from lemel.values import Holding

if TYPE_CHECKING:
    from lemel.book.opened import Opened

__all__ = ["PlaceSum", "owner_sums", "place_sums"]

#: Places that only tell where metal came from or is missed: no metal lies there.
_TELLING = ("outside", "loss", "assay_difference", "stock_take")

#: ng by owner's key, place and element; the gross has no element and stands in mg under "".
_Sums = dict[tuple[str, str, str], int]


@dataclass(frozen=True, slots=True)
class PlaceSum:
    """How many heaps one owner has at one place, and what they hold together."""

    heaps: int
    metal: Holding


def place_sums(book: Opened) -> dict[str, dict[str, PlaceSum]]:
    """By owner and place what lies in the house, however many heaps there are; an owner of whom
    nothing is here is left out."""
    alias = book.alias
    sums = carried_on(alias, "place_sums", lambda: _whole(alias), lambda *kept: _more(alias, *kept))
    heaps = (
        models.Account.objects.using(alias)
        .exclude(place__in=_TELLING)
        .exclude(gross_mg=0)
        .order_by()
        .values_list("owner_id", "place")
        .annotate(heaps=Count("pk"))
    )
    parts: dict[tuple[str, str], dict[str, int]] = {}
    for (owner, place, element), amount in sums.items():
        parts.setdefault((owner, place), {})[element] = amount
    codes = dict(models.Party.objects.using(alias).values_list("key", "code"))
    found: dict[str, dict[str, PlaceSum]] = {}
    for owner, place, many in sorted(heaps):
        own = dict(parts.get((owner, place), {}))
        metal = Holding.from_ng(own.pop("", 0), own)
        found.setdefault(codes[owner], {})[place] = PlaceSum(many, metal)
    return found


def owner_sums(book: Opened) -> dict[str, Holding]:
    """By owner all that lies in the house, gross and by element."""
    return {
        owner: sum((one.metal for one in places.values()), Holding.nothing())
        for owner, places in place_sums(book).items()
    }


def _whole(alias: str) -> _Sums:
    """From the totals that the database keeps."""
    accounts = models.Account.objects.using(alias).exclude(place__in=_TELLING).order_by()
    at = ("account__owner_id", "account__place")
    held = models.Held.objects.using(alias).exclude(account__place__in=_TELLING).order_by()
    return _added(
        {},
        accounts.values_list("owner_id", "place").annotate(mg=Sum("gross_mg")),
        held.values_list(*at, "element").annotate(all_ng=Sum("ng")),
    )


def _more(alias: str, kept: _Sums, after: int, until: int) -> _Sums:
    """From the lines of the entries since."""
    lines = (
        models.Posting.objects.using(alias)
        .filter(entry_id__gt=after, entry_id__lte=until)
        .exclude(account__place__in=_TELLING)
        .order_by()
    )
    parts = (
        models.Part.objects.using(alias)
        .filter(posting__entry_id__gt=after, posting__entry_id__lte=until)
        .exclude(posting__account__place__in=_TELLING)
        .order_by()
    )
    at = ("account__owner_id", "account__place")
    return _added(
        kept,
        lines.values_list(*at).annotate(mg=Sum("gross_mg")),
        parts.values_list(*(f"posting__{one}" for one in at), "element").annotate(all_ng=Sum("ng")),
    )


def _added(
    kept: _Sums, gross: Iterable[tuple[str, str, int]], fine: Iterable[tuple[str, str, str, int]]
) -> _Sums:
    found = dict(kept)
    for owner, place, mg in gross:
        found[owner, place, ""] = found.get((owner, place, ""), 0) + mg
    for owner, place, element, ng in fine:
        found[owner, place, element] = found.get((owner, place, element), 0) + ng
    return found
