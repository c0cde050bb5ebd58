"""The audit: everything that can be recomputed is, and each fault names its entry."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import Any

from django.db import DatabaseError, connections

from lemel.book import filing, guards, models, photos
from lemel.book.chain import SpelledLine, content_digest, entry_digest, text_digest
from lemel.book.values import Audit
from lemel.errors import BadInput
from lemel.values import Objection, SayingValue

__all__ = ["audit"]

#: One posting as the audit reads it: entry, posting, owner's key, account, place, body, mg.
_Row = tuple[int, int, str, int, str, str, int]


def audit(alias: str, expect: tuple[int, str] | None = None, *, photographs: bool = True) -> Audit:
    """Recompute the chain, every entry's balance and all totals; compare the guards.

    `expect` is the number and digest of an entry noted earlier, outside the book: it finds a
    tail that was cut off or written anew, which a chain alone cannot. `photographs` False leaves
    the registered pictures out, where they have not come yet.
    """
    try:
        return _audit(alias, expect, photographs)
    except (DatabaseError, ValueError, TypeError, BadInput) as fault:
        torn = Objection("book.audit.unreadable", "book", "stop", {"said": str(fault)[:200]})
        return Audit(0, "", (torn,))


def _audit(alias: str, expect: tuple[int, str] | None, photographs: bool) -> Audit:
    faults = [*_pages(alias), *_guards(alias)]
    totals: dict[int, dict[str, int]] = {}
    gross: dict[int, int] = {}
    previous, number, expected = "", 0, expect is None
    for row, lines, parts in _entries(alias):
        number += 1
        if row["number"] != number:
            faults.append(_stop("book.audit.gap", number))
            number = row["number"]
        if row["previous"] != previous:
            faults.append(_stop("book.audit.chain", number))
        faults += _entry_faults(row, lines, parts)
        _count(lines, parts, gross, totals)
        previous = row["digest"]
        expected = expected or (number, previous) == expect
    if not expected and expect is not None:
        faults.append(_stop("book.audit.not_as_noted", expect[0]))
    faults += _totals(alias, gross, totals)
    faults += _plans(alias)
    faults += [
        Objection("book.audit.filed", name, "stop", {"record": name})
        for name in filing.faults(alias)
    ]
    if photographs:
        faults += _photographs(alias)
    return Audit(number, previous, tuple(faults))


def _photographs(alias: str) -> Iterator[Objection]:
    """Registered pictures that are not there, or not as they were kept."""
    for what, photo in photos.missing_or_changed(alias):
        values: dict[str, SayingValue] = {"about": photo.about, "file": photo.file}
        yield Objection(f"book.audit.photo_{what}", photo.about, "stop", values)


def _stop(code: str, entry: int) -> Objection:
    return Objection(code, f"entry {entry}", "stop", {"entry": entry})


def _entries(
    alias: str,
) -> Iterator[tuple[dict[str, Any], list[_Row], dict[int, dict[str, int]]]]:
    """Entries in order with their postings and parts, read in one pass each."""
    entries = models.Entry.objects.using(alias).order_by("number").values().iterator()
    lines = groupby(
        models.Posting.objects.using(alias)
        .order_by("entry_id", "line")
        .values_list(
            "entry_id", "pk", "account__owner_id", "account_id", "account__place",
            "account__body", "gross_mg",
        )
        .iterator(),
        key=lambda line: line[0],
    )  # fmt: skip
    parts = groupby(
        models.Part.objects.using(alias)
        .order_by("posting__entry_id")
        .values_list("posting__entry_id", "posting_id", "element", "ng")
        .iterator(),
        key=lambda part: part[0],
    )
    line_group, part_group = next(lines, None), next(parts, None)
    for entry in entries:
        own: list[_Row] = []
        if line_group and line_group[0] == entry["number"]:
            own = list(line_group[1])
            line_group = next(lines, None)
        by_posting: dict[int, dict[str, int]] = {}
        if part_group and part_group[0] == entry["number"]:
            for _, posting, element, ng in part_group[1]:
                by_posting.setdefault(posting, {})[element] = ng
            part_group = next(parts, None)
        yield entry, own, by_posting


def _entry_faults(
    row: dict[str, Any], lines: list[_Row], parts: dict[int, dict[str, int]]
) -> Iterator[Objection]:
    number = row["number"]
    spelled_lines: list[SpelledLine] = [
        (owner, place, body, mg, parts.get(pk, {})) for _, pk, owner, _, place, body, mg in lines
    ]
    content = content_digest(
        row["kind"], row["about"], row["consent"], row["memo"], row["reverses_id"], row["by"],
        spelled_lines,
    )  # fmt: skip
    digest = entry_digest(number, row["key"], row["made_at"], content, row["previous"])
    if content != row["content"] or digest != row["digest"]:
        yield _stop("book.audit.changed", number)
    sums: dict[str, int] = {}
    for _, _, _, mg, elements in spelled_lines:
        sums["gross"] = sums.get("gross", 0) + mg * 1_000_000
        for element, ng in elements.items():
            sums[element] = sums.get(element, 0) + ng
        if sum(elements.values()) != mg * 1_000_000:
            yield _stop("book.audit.parts", number)
    if any(sums.values()):
        yield _stop("book.audit.unbalanced", number)


def _count(
    lines: list[_Row],
    parts: dict[int, dict[str, int]],
    gross: dict[int, int],
    totals: dict[int, dict[str, int]],
) -> None:
    for _, pk, _, account, _, _, mg in lines:
        gross[account] = gross.get(account, 0) + mg
        own = totals.setdefault(account, {})
        for element, ng in parts.get(pk, {}).items():
            own[element] = own.get(element, 0) + ng


def _totals(
    alias: str, gross: dict[int, int], totals: dict[int, dict[str, int]]
) -> Iterator[Objection]:
    """The totals that the database keeps, against those of the postings."""
    kept: dict[int, dict[str, int]] = {}
    for account, element, ng in models.Held.objects.using(alias).values_list(
        "account_id", "element", "ng"
    ):
        kept.setdefault(account, {})[element] = ng
    rows = models.Account.objects.using(alias).values_list("pk", "place", "body", "gross_mg")
    for pk, place, body, mg in rows:
        if mg != gross.get(pk, 0) or kept.get(pk, {}) != totals.get(pk, {}):
            yield Objection("book.audit.total", body, "stop", {"body": body, "place": place})
        open_place = place in guards.OPEN_PLACES
        if not open_place and (mg < 0 or any(ng < 0 for ng in totals.get(pk, {}).values())):
            yield Objection("book.audit.negative", body, "stop", {"body": body, "place": place})


def _pages(alias: str) -> Iterator[Objection]:
    """The file itself: pages, indexes, and links that lead nowhere."""
    with connections[alias].cursor() as cursor:
        cursor.execute("PRAGMA integrity_check")
        said = [str(row[0]) for row in cursor.fetchall()]
        if said != ["ok"]:
            yield Objection("book.audit.pages", "book", "stop", {"said": said[0][:200]})
        cursor.execute("PRAGMA foreign_key_check")
        loose = cursor.fetchall()
    if loose:
        yield Objection("book.audit.loose", "book", "stop", {"table": str(loose[0][0])})


def _guards(alias: str) -> Iterator[Objection]:
    for name in guards.missing(connections[alias]):
        yield Objection("book.audit.guard", name, "stop", {"guard": name})


def _plans(alias: str) -> Iterator[Objection]:
    rows = models.Kept.objects.using(alias).values_list("id", "record", "digest")
    for plan, record, digest in rows:
        if text_digest(record) != digest:
            yield Objection("book.audit.plan", plan, "stop", {"plan": plan})
