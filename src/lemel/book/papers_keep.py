"""How papers are kept: numbered in the order of their making, people in them by their keys."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from lemel.book import filing, models, people
from lemel.values import from_plain, to_plain

__all__ = ["keep", "kept", "kept_all", "next_number"]

Value = TypeVar("Value")
#: Fields that name people, anywhere in a paper.
_PEOPLE = ("owner", "by", "signed_by")


def next_number(alias: str, kind: str, letter: str) -> str:
    """The number of the next paper of a kind; none is ever given twice."""
    n = models.Filed.objects.using(alias).filter(kind=kind, n=1).count() + 1
    return f"{letter}-{n:04d}"


def keep(
    alias: str,
    now: str,
    kind: str,
    number: str,
    value: Any,
    *,
    private: Mapping[str, Any] | None = None,
    owner: str = "",
    by: str = "",
) -> None:
    """File a paper, or its next state; within a transaction of the caller."""
    plain = _people(to_plain(value), lambda code: people.person_key(alias, code))
    filing.file(alias, now, kind, number, plain, private=private, owner=owner, by=by)


def kept(alias: str, kind: str, number: str, made: type[Value]) -> tuple[Value, Mapping[str, Any]]:
    """A paper as it stands, with what is kept apart; BadInput that names the known ones."""
    filed = filing.must_stand(alias, kind, number)
    return _made(alias, made, filed.record), filed.private


def kept_all(alias: str, kind: str, made: type[Value]) -> tuple[Value, ...]:
    """Every paper of a kind in the order of their numbers, what is kept apart left out."""
    return tuple(_made(alias, made, one.record) for one in filing.all_of(alias, kind).values())


def _made(alias: str, made: type[Value], record: Any) -> Value:
    codes = dict(models.Party.objects.using(alias).values_list("key", "code"))
    return from_plain(made, _people(record, lambda key: codes.get(key, key)))


def _people(data: Any, name: Any) -> Any:
    if isinstance(data, dict):
        return {
            key: _named(value, name) if key in _PEOPLE else _people(value, name)
            for key, value in data.items()
        }
    if isinstance(data, list):
        return [_people(one, name) for one in data]
    return data


def _named(value: Any, name: Any) -> Any:
    return [name(one) for one in value] if isinstance(value, list) else name(value)
