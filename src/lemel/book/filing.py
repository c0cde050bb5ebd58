"""Records of the shop in versions: what an order, a tool, a price or a rule says now, and said.

Nothing is edited: a change is a new version, and what is over is filed as gone. The versions are
chained by digests like the ledger. What a person may want erased goes into `private`, which lies
outside the digest.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from lemel.book import models, people
from lemel.book.chain import spelled, text_digest
from lemel.errors import BadInput
from lemel.values import is_id, to_plain

__all__ = [
    "Filing", "all_of", "erase_private", "faults", "file", "history", "must_stand", "newest",
    "some_of",
]  # fmt: skip

#: So many names in one question to the database.
_ASKED_AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class Filing:
    """One version of a record: which it is, when and by whom, whose, and what it says."""

    kind: str
    name: str
    n: int
    made_at: str
    by: str
    owner: str
    record: Any
    private: Mapping[str, Any]
    gone: bool


def file(
    alias: str,
    now: str,
    kind: str,
    name: str,
    record: Any,
    *,
    private: Mapping[str, Any] | None = None,
    owner: str = "",
    by: str = "",
    gone: bool = False,
) -> Filing:
    """A new version of a record; the same content again is nothing new.

    `record` is plain data or a value that `to_plain` knows. Raises BadInput for a name that is no
    id or an owner whom the book does not know.
    """
    is_id(kind, name)
    key = people.key_of(alias, owner) if owner else None
    text, apart = spelled(to_plain(record)), spelled(dict(private or {}))
    last = models.Filed.objects.using(alias).filter(kind=kind, name=name).order_by("-n").first()
    if last is not None and _said(last) == (text, apart, key, gone):
        return _filing(alias, last)
    before = models.Filed.objects.using(alias).order_by("-number").values_list("digest", flat=True)
    n, person = (last.n + 1 if last else 1), people.person_key(alias, by)
    digest = _digest(before[0] if before else "", kind, name, n, now, person, key, text, gone)
    row = models.Filed.objects.using(alias).create(
        kind=kind, name=name, n=n, made_at=now, by=person, owner_id=key, record=text,
        private=apart, gone=gone, digest=digest,
    )  # fmt: skip
    return _filing(alias, row)


def _said(row: Any) -> tuple[str, str, str | None, bool]:
    return row.record, row.private, row.owner_id, row.gone


def _digest(*said: Any) -> str:
    return text_digest(spelled(said))


def newest(alias: str, kind: str, name: str) -> Filing | None:
    """What stands of a record now; None where there is none or it is gone."""
    row = models.Filed.objects.using(alias).filter(kind=kind, name=name).order_by("-n").first()
    return None if row is None or row.gone else _filing(alias, row)


def all_of(alias: str, kind: str) -> dict[str, Filing]:
    """What stands of every record of a kind, by name, in the order of their names."""
    rows = models.Filed.objects.using(alias).filter(kind=kind).order_by("name", "n")
    codes = dict(models.Party.objects.using(alias).values_list("key", "code"))
    last = {row.name: row for row in rows}
    return {name: _of(row, codes) for name, row in last.items() if not row.gone}


def some_of(alias: str, kind: str, names: Iterable[str]) -> dict[str, Filing]:
    """What stands of those records of a kind that are named; the rest is not looked at."""
    wanted = sorted(set(names))
    found: dict[str, Filing] = {}
    codes = dict(models.Party.objects.using(alias).values_list("key", "code"))
    for begin in range(0, len(wanted), _ASKED_AT_ONCE):
        some = wanted[begin : begin + _ASKED_AT_ONCE]
        rows = models.Filed.objects.using(alias).filter(kind=kind, name__in=some)
        last = {row.name: row for row in rows.order_by("name", "n")}
        found |= {name: _of(row, codes) for name, row in last.items() if not row.gone}
    return found


def history(alias: str, kind: str, name: str) -> tuple[Filing, ...]:
    """Every version of a record, the first one first."""
    rows = models.Filed.objects.using(alias).filter(kind=kind, name=name).order_by("n")
    return tuple(_filing(alias, row) for row in rows)


def must_stand(alias: str, kind: str, name: str) -> Filing:
    """What stands of a record; BadInput that names the known ones where there is none."""
    found = newest(alias, kind, name)
    if found is None:
        known = ", ".join(all_of(alias, kind)) or "none yet"
        raise BadInput(kind, name, known, "Name one that the book has.")
    return found


def erase_private(alias: str, owner: str) -> int:
    """Empty what is private in every record of a person; how many were emptied."""
    rows = models.Filed.objects.using(alias).filter(owner__code=owner).exclude(private="{}")
    return int(rows.update(private="{}"))


def faults(alias: str) -> list[str]:
    """Records whose digest does not follow from what they say and from the one before."""
    found, before = [], ""
    for row in models.Filed.objects.using(alias).order_by("number").iterator():
        digest = _digest(
            before, row.kind, row.name, row.n, row.made_at, row.by, row.owner_id, row.record,
            row.gone,
        )  # fmt: skip
        if digest != row.digest:
            found.append(f"{row.kind} {row.name}")
        before = row.digest
    return found


def _filing(alias: str, row: Any) -> Filing:
    keys = [key for key in (row.by, row.owner_id) if key]
    codes = dict(models.Party.objects.using(alias).filter(key__in=keys).values_list("key", "code"))
    return _of(row, codes)


def _of(row: Any, codes: Mapping[str, str]) -> Filing:
    return Filing(
        row.kind, row.name, row.n, row.made_at, codes.get(row.by, ""),
        codes.get(row.owner_id or "", ""), json.loads(row.record), json.loads(row.private),
        row.gone,
    )  # fmt: skip
