"""Entries as they were sealed, a page at a time, the newest first."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db.models import Exists, OuterRef, Q

from lemel.book import models
from lemel.book.finding import MOST
from lemel.book.values import Account, Line
from lemel.errors import BadInput
from lemel.values import Holding

if TYPE_CHECKING:
    from lemel.book.opened import Opened

__all__ = ["SomeEntries", "Written", "entry_of", "find_entries"]


@dataclass(frozen=True, slots=True)
class Written:
    """One sealed entry. `undoes` and `undone_by` are numbers of entries, 0 for none."""

    number: int
    made_at: str
    kind: str
    about: str
    by: str
    key: str
    digest: str
    memo: Mapping[str, Any]
    undoes: int
    undone_by: int
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class SomeEntries:
    """Some entries, the newest first; `before` asks for the next ones (0: there are none)."""

    entries: tuple[Written, ...]
    before: int


def find_entries(book: Opened, of: str = "", *, before: int = 0, most: int = 40) -> SomeEntries:
    """Entries older than `before` (0: from the newest) that touch `of`: a heap, an owner, what
    an entry is about, or its kind ("": all)."""
    if not 1 <= most <= MOST:
        raise BadInput("most", most, f"1 to {MOST}", "Ask for fewer at once.")
    rows = models.Entry.objects.using(book.alias).order_by("-number")
    if before:
        rows = rows.filter(number__lt=before)
    if of:
        rows = rows.filter(_touching(book.alias, of))
    found = list(rows.values()[: most + 1])
    entries = _written(book.alias, found[:most])
    return SomeEntries(entries, entries[-1].number if len(found) > most else 0)


def entry_of(book: Opened, number: int) -> Written:
    """One entry; BadInput for a number that the book has not come to."""
    found = list(models.Entry.objects.using(book.alias).filter(pk=number).values())
    if not found:
        last = models.Entry.objects.using(book.alias).order_by("-number").first()
        most = last.number if last else 0
        raise BadInput("entry", number, f"1 to {most}", "Look it up in the list.")
    return _written(book.alias, found)[0]


def _touching(alias: str, of: str) -> Q:
    """By the few heaps of that name, or by any line of the owner of that name."""
    heaps = list(models.Account.objects.using(alias).filter(body=of).values_list("pk", flat=True))
    numbers = models.Posting.objects.using(alias).filter(account_id__in=heaps).values("entry_id")
    owned = models.Posting.objects.using(alias).filter(
        entry_id=OuterRef("number"), account__owner__code=of
    )
    wanted = Q(about=of) | Q(kind=of) | Q(number__in=numbers)
    is_owner = models.Party.objects.using(alias).filter(code=of).exists()
    return wanted | Exists(owned) if is_owner else wanted


def _written(alias: str, rows: list[dict[str, Any]]) -> tuple[Written, ...]:
    numbers = [row["number"] for row in rows]
    lines = _lines(alias, numbers)
    undone = dict(
        models.Entry.objects.using(alias)
        .filter(reverses_id__in=numbers)
        .values_list("reverses_id", "number")
    )
    keys = {row["by"] for row in rows if row["by"]}
    people = dict(models.Party.objects.using(alias).filter(key__in=keys).values_list("key", "code"))
    return tuple(
        Written(
            row["number"], row["made_at"], row["kind"], row["about"], people.get(row["by"], ""),
            row["key"], row["digest"], json.loads(row["memo"] or "{}"), row["reverses_id"] or 0,
            undone.get(row["number"], 0), tuple(lines.get(row["number"], ())),
        )
        for row in rows
    )  # fmt: skip


def _lines(alias: str, numbers: list[int]) -> dict[int, list[Line]]:
    postings = models.Posting.objects.using(alias).filter(entry_id__in=numbers)
    parts: dict[int, dict[str, int]] = {}
    for posting, element, ng in (
        models.Part.objects.using(alias)
        .filter(posting__entry_id__in=numbers)
        .values_list("posting_id", "element", "ng")
    ):
        parts.setdefault(posting, {})[element] = ng
    found: dict[int, list[Line]] = {}
    for pk, entry, owner, place, body, mg in postings.order_by("entry_id", "line").values_list(
        "pk", "entry_id", "account__owner__code", "account__place", "account__body", "gross_mg"
    ):
        metal = Holding.from_ng(mg, parts.get(pk, {}))
        found.setdefault(entry, []).append(Line(Account(owner, place, body), metal))
    return found
