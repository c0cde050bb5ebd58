"""Many entries at once, through the same guards: taking over another ledger, or a long year.

Each entry is sealed and chained as if it came alone; only the writing is done in larger lots.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

from lemel.book import ledger, models, people
from lemel.book.chain import SpelledLine, content_digest, entry_digest, spelled
from lemel.book.values import Line, Sealed

__all__ = ["Draft", "post_many"]

#: Entries that are written in one go.
_LOT = 400


@dataclass(frozen=True, slots=True)
class Draft:
    """One entry before it is sealed: what `Book.post` takes."""

    kind: str
    lines: Sequence[Line]
    key: str = ""
    about: str = ""
    by: str = ""
    consent: str = ""
    memo: Mapping[str, Any] = field(default_factory=dict)


@dataclass(slots=True)
class _Known:
    """Keys and row numbers that were looked up once."""

    owners: dict[str, str] = field(default_factory=dict)
    people: dict[str, str] = field(default_factory=dict)
    accounts: dict[tuple[str, str, str], int] = field(default_factory=dict)


def post_many(alias: str, now: str, drafts: Iterable[Draft]) -> tuple[int, Sealed | None]:
    """Seal all of them in order, or none; how many, and the last.

    A key that the book has already is refused here, since the rest would not follow as it was
    meant. Raises BadInput for whatever the guards refuse.
    """
    with ledger.writing(alias):
        known = _Known()
        number, previous = ledger.tail(alias)
        count, last = 0, None
        waiting = iter(drafts)
        while some := list(islice(waiting, _LOT)):
            entries, lines = [], []
            for draft in some:
                number += 1
                entry, spelled_lines = _spelled(alias, now, draft, number, previous, known)
                previous = entry.digest
                entries.append(entry)
                lines.append(spelled_lines)
            _write(alias, entries, lines, known)
            count += len(some)
            last = Sealed(number, entries[-1].key, previous)
        return count, last


def _spelled(
    alias: str, now: str, draft: Draft, number: int, previous: str, known: _Known
) -> tuple[models.Entry, list[SpelledLine]]:
    lines: list[SpelledLine] = sorted(
        (
            (_owner(alias, a.owner, known), a.place, a.body, h.gross_mg, h.as_dict())
            for a, h in ledger.joined(draft.lines).items()
        ),
        key=lambda line: line[:3],
    )
    memo = spelled(dict(draft.memo))
    writer = known.people.get(draft.by)
    if writer is None:
        writer = known.people[draft.by] = people.person_key(alias, draft.by)
    content = content_digest(draft.kind, draft.about, draft.consent, memo, None, writer, lines)
    key = draft.key or secrets.token_hex(12)
    entry = models.Entry(
        number=number, key=key, kind=draft.kind, about=draft.about, made_at=now, by=writer,
        consent=draft.consent, memo=memo, content=content, previous=previous,
        digest=entry_digest(number, key, now, content, previous),
    )  # fmt: skip
    return entry, lines


def _owner(alias: str, code: str, known: _Known) -> str:
    if code not in known.owners:
        known.owners[code] = people.key_of(alias, code)
    return known.owners[code]


def _write(
    alias: str, entries: list[models.Entry], lines: list[list[SpelledLine]], known: _Known
) -> None:
    """Postings with their parts first, then the entries that seal them, in order."""
    unknown = sorted({line[:3] for own in lines for line in own} - set(known.accounts))
    known.accounts.update(zip(unknown, ledger.account_ids(alias, unknown), strict=True))
    postings = models.Posting.objects.using(alias).bulk_create(_postings(entries, lines, known))
    flat = [line for own in lines for line in own]
    models.Part.objects.using(alias).bulk_create(
        models.Part(posting_id=posting.pk, element=element, ng=ng)
        for posting, line in zip(postings, flat, strict=True)
        for element, ng in line[4].items()
    )
    models.Entry.objects.using(alias).bulk_create(entries)


def _postings(
    entries: list[models.Entry], lines: list[list[SpelledLine]], known: _Known
) -> Iterator[models.Posting]:
    for entry, own in zip(entries, lines, strict=True):
        for n, line in enumerate(own):
            yield models.Posting(
                entry_id=entry.number, line=n, account_id=known.accounts[line[:3]],
                gross_mg=line[3],
            )  # fmt: skip
