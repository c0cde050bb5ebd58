"""What was undone may be done again: keys that count the attempts, bodies that are made anew.

Rows of bodies and of their parents are never edited. What is said of them after an undoing
stands in a record of its own ("remade", by the body's id), and its newest version counts.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lemel.book import filing, models
from lemel.book.acts import Act
from lemel.book.values import Sealed
from lemel.values import to_plain

__all__ = ["attempt", "is_dead", "lay_dead", "make_anew", "parents_now", "remade", "reversed_by"]

_KIND = "remade"


def attempt(alias: str, base: str) -> tuple[str, Sealed | None]:
    """The key of an act and the entry that did it, or a key that is free and None.

    An entry that was reversed does not count: its act may be done once more under a new key.
    """
    n = 0
    while True:
        n += 1
        key = base if n == 1 else f"{base} ({n})"
        row = models.Entry.objects.using(alias).filter(key=key).first()
        if row is None:
            return key, None
        if reversed_by(alias, row.number) is None:
            return key, Sealed(row.number, row.key, row.digest, again=True)


def reversed_by(alias: str, number: int) -> int | None:
    """The number of the entry that undid this one."""
    row = models.Entry.objects.using(alias).filter(reverses_id=number).first()
    return None if row is None else int(row.number)


def remade(alias: str) -> dict[str, Mapping[str, Any]]:
    """What is said anew of bodies that were undone, made again, or given other parents."""
    return {name: filed.record for name, filed in filing.all_of(alias, _KIND).items()}


def is_dead(alias: str, body: str) -> bool:
    """Whether the step that made the body was undone and not done again."""
    found = filing.newest(alias, _KIND, body)
    return found is not None and not found.record["alive"]


def lay_dead(act: Act, body: str) -> None:
    """The step that made this body was undone: it holds nothing and descends from nothing."""
    there = models.Body.objects.using(act.alias).filter(pk=body)
    if there.exclude(kind="heat").update(withdrawn=True):
        found = models.Evidence.objects.using(act.alias).filter(about=body)
        found.filter(id__startswith=f"{body} predicted").update(withdrawn=True)
    _file(act, body, {"alive": False, "parents": {}})


def make_anew(act: Act, body: str, record: Any, origin: Any) -> None:
    """A body whose step was undone comes to be once more, perhaps otherwise than before."""
    models.Body.objects.using(act.alias).filter(pk=body).update(withdrawn=False)
    plain = to_plain(record)
    if isinstance(plain, dict):
        plain.pop("owner", None)
    said = {"alive": True, "parents": {}, "record": plain, "origin": to_plain(origin)}
    _file(act, body, said)


def parents_now(act: Act, body: str, parents: Mapping[str, int]) -> None:
    """These are the parents of a body from now on, mg each."""
    found = filing.newest(act.alias, _KIND, body)
    said = dict(found.record) if found is not None else {}
    _file(act, body, {**said, "alive": True, "parents": dict(parents)})


def _file(act: Act, body: str, said: Mapping[str, Any]) -> None:
    filing.file(act.alias, act.now, _KIND, body, said, by=act.by)
