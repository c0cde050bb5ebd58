"""Lots and heaps a page at a time, so that a book of any size answers at once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from django.db.models import Exists, OuterRef, Q
from django.db.models.functions import Length

from lemel.book import again, allowed, gates, models, question, records, told
from lemel.book.values import PLACES, Account
from lemel.errors import BadInput
from lemel.values import Consent, Holding, Lot, Reading

if TYPE_CHECKING:
    from lemel.book.opened import Opened

__all__ = [
    "MOST", "SomeHeaps", "SomeLots", "evidence_on", "find_heaps", "find_lots", "next_number",
    "standing_consents",
]  # fmt: skip

#: The most that is given at once.
MOST = 500
#: So many of the longest ids are looked at before all of them are.
_LONGEST = 50


@dataclass(frozen=True, slots=True)
class SomeLots:
    """Some lots in the order of their ids; `after` asks for the next ones ("": there are none)."""

    lots: tuple[Lot, ...]
    after: str


@dataclass(frozen=True, slots=True)
class SomeHeaps:
    """Some accounts with what they hold; `after` asks for the next ones (0: there are none)."""

    heaps: tuple[tuple[Account, Holding], ...]
    after: int


def find_lots(
    book: Opened,
    words: str = "",
    *,
    owner: str = "",
    ids: Sequence[str] = (),
    after: str = "",
    most: int = 50,
) -> SomeLots:
    """Lots with metal in the store, at the mass they have now, with the newest gate answers.

    `words`: each of them stands in the lot's id, or in what was written of it at the weigh-in;
    `ids`: these lots alone.
    """
    _fits(most)
    alias = book.alias
    here = models.Account.objects.using(alias).filter(
        owner_id=OuterRef("owner_id"), place="store", body=OuterRef("id"), gross_mg__gt=0
    )
    rows = models.Body.objects.using(alias).filter(Exists(here), kind="lot", withdrawn=False)
    if ids:
        rows = rows.filter(pk__in=ids)
    if owner:
        rows = rows.filter(owner__code=owner)
    for word in words.split():
        said = models.Filed.objects.using(alias).filter(
            kind=told.BODY, name=OuterRef("id"), private__icontains=word
        )
        rows = rows.filter(Q(id__icontains=word) | Q(record__icontains=word) | Exists(said))
    page = list(rows.filter(id__gt=after).select_related("owner").order_by("id")[: most + 1])
    lots = tuple(_lots(alias, page[:most]))
    return SomeLots(gates.answered(alias, lots), lots[-1].id if len(page) > most else "")


def _lots(alias: str, page: list[Any]) -> Iterable[Lot]:
    names = [row.id for row in page]
    owners = {row.owner_id for row in page}
    held = {
        (owner, body): mg
        for owner, body, mg in models.Account.objects.using(alias)
        .filter(owner_id__in=owners, place="store", body__in=names)
        .values_list("owner_id", "body", "gross_mg")
    }
    anew, words = again.remade(alias), told.told(alias, told.BODY, names)
    for row in page:
        mass_g = held[row.owner_id, row.id] / 1000
        yield replace(records.body_in(row, anew, words), mass_g=mass_g)


def evidence_on(book: Opened, lots: Sequence[Lot]) -> tuple[Reading, ...]:
    """What counts as evidence on these lots: readings that nobody took back, and what the assay
    of a heat says of what came of it."""
    own = records.readings(book.alias, [lot.id for lot in lots])
    told_too = question.proven(book.alias, lots)
    return tuple(one for one in (*own, *told_too) if not one.withdrawn)


def standing_consents(book: Opened) -> tuple[Consent, ...]:
    """What owners allow still: less what was used of it, and for all that came of its metal."""
    return allowed.standing_consents(book.alias)


def next_number(book: Opened, stem: str) -> int:
    """The number after the highest that was ever given to a body as `stem` and digits alone."""
    rows = models.Body.objects.using(book.alias).filter(id__startswith=stem)
    names = rows.order_by(Length("id").desc(), "-id").values_list("id", flat=True)
    for some in (names[:_LONGEST], names):
        for name in some:
            if found := re.fullmatch(rf"{re.escape(stem)}([0-9]+)", name):
                return int(found[1]) + 1
    return 1


def find_heaps(
    book: Opened,
    words: str = "",
    *,
    owner: str = "",
    place: str = "",
    places: Sequence[str] = (),
    bodies: Sequence[str] | None = None,
    after: int = 0,
    most: int = 50,
) -> SomeHeaps:
    """Accounts that hold something, in the order in which they were opened.

    `words`: each of them stands in the body's id; `places`: at any of these; `bodies`: of these
    alone.
    """
    _fits(most)
    alias = book.alias
    rows = models.Account.objects.using(alias).exclude(gross_mg=0).filter(pk__gt=after)
    if owner:
        rows = rows.filter(owner__code=owner)
    if bodies is not None:
        # With the owners beside them the index over owner, place and body finds each at once.
        everyone = list(models.Party.objects.using(alias).values_list("key", flat=True))
        rows = rows.filter(owner_id__in=everyone, body__in=bodies)
    among = {one for one in (place, *places) if one} or (PLACES if bodies is not None else ())
    if among:
        rows = rows.filter(place__in=sorted(among))
    for word in words.split():
        rows = rows.filter(body__icontains=word)
    page = list(rows.select_related("owner").order_by("pk")[: most + 1])
    parts: dict[int, dict[str, int]] = {}
    held = models.Held.objects.using(book.alias).filter(account_id__in=[row.pk for row in page])
    for account, element, ng in held.values_list("account_id", "element", "ng"):
        parts.setdefault(account, {})[element] = ng
    heaps = tuple(
        (
            Account(row.owner.code, row.place, row.body),
            Holding.from_ng(row.gross_mg, parts.get(row.pk, {})),
        )
        for row in page[:most]
    )
    return SomeHeaps(heaps, page[most - 1].pk if len(page) > most else 0)


def _fits(most: int) -> None:
    if not 0 < most <= MOST:
        raise BadInput("most", most, f"1 to {MOST}", "Ask for fewer at once.")
