"""Writing into the ledger, and what it holds: postings first, then the entry that seals them."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

from django.db import DatabaseError, IntegrityError, OperationalError, connections, transaction

from lemel.book import models
from lemel.book.chain import SpelledLine, content_digest, entry_digest, spelled
from lemel.book.people import key_of, person_key
from lemel.book.values import Account, Line, Sealed
from lemel.errors import BadInput
from lemel.values import Holding

__all__ = [
    "account_ids", "balances", "found_key", "held", "joined", "post", "reverse", "tail", "undo",
    "writing",
]  # fmt: skip

_ASKED_AT_ONCE = 200


@contextmanager
def writing(alias: str) -> Iterator[None]:
    """One transaction; the writer before it is waited for, and what the guards refuse is told.

    On SQLite it begins IMMEDIATE: whoever is in it alone may write, so writers queue at the
    tail of the chain before they read anything, and cannot lock each other out.
    """
    try:
        # Within another of these it is one transaction: what fails inside undoes the whole.
        with transaction.atomic(using=alias, savepoint=False):
            _queue(alias)
            yield
    except IntegrityError as fault:
        raise _refused(fault) from None
    except OperationalError as fault:
        if "locked" in str(fault):
            raise BadInput(
                "book", "another writer is at work", "one writer at a time", "Try again."
            ) from None
        raise


def _queue(alias: str) -> None:
    """Lock the tail of the chain where a transaction does not already hold the whole book."""
    if connections[alias].features.has_select_for_update:
        rows = models.Entry.objects.using(alias).select_for_update().order_by("-number")
        list(rows.values_list("number")[:1])


def undo(alias: str) -> None:
    """Leave nothing of the transaction that is running."""
    transaction.set_rollback(True, using=alias)


def _refused(fault: DatabaseError) -> BadInput:
    said = str(fault).removeprefix("book: ")
    return BadInput(
        "book", said, "what the book's own rules let in", "Nothing was written; mend the act."
    )


def tail(alias: str) -> tuple[int, str]:
    """Number and digest of the last entry; (0, "") in an empty book."""
    last = models.Entry.objects.using(alias).order_by("-number").values_list("number", "digest")[:1]
    return last[0] if last else (0, "")


def post(
    alias: str,
    now: str,
    kind: str,
    lines: Sequence[Line],
    *,
    key: str = "",
    about: str = "",
    by: str = "",
    consent: str = "",
    memo: Mapping[str, Any] | None = None,
    reverses: int | None = None,
) -> Sealed:
    """Seal one entry. The same key with the same content is the same entry, and is given back.

    Raises BadInput where the key is known with another content, and for whatever the guards
    of the database refuse.
    """
    with writing(alias):
        summed = joined(lines)
        keys = {code: key_of(alias, code) for code in {a.owner for a in summed}}
        line_list: list[SpelledLine] = [
            (keys[a.owner], a.place, a.body, h.gross_mg, h.as_dict()) for a, h in summed.items()
        ]
        line_list.sort(key=lambda line: line[:3])
        text, writer = spelled(memo or {}), person_key(alias, by)
        content = content_digest(kind, about, consent, text, reverses, writer, line_list)
        key = key or secrets.token_hex(12)
        known = found_key(alias, key, content)
        if known:
            return known
        number, previous = tail(alias)
        number += 1
        digest = entry_digest(number, key, now, content, previous)
        _write_lines(alias, number, line_list)
        models.Entry.objects.using(alias).create(
            number=number, key=key, kind=kind, about=about, made_at=now, by=writer,
            consent=consent, memo=text, reverses_id=reverses, content=content,
            previous=previous, digest=digest,
        )  # fmt: skip
        return Sealed(number, key, digest)


def joined(lines: Iterable[Line]) -> dict[Account, Holding]:
    """One line an account, none that moves nothing."""
    sums: dict[Account, Holding] = {}
    for line in lines:
        sums[line.account] = sums.get(line.account, Holding.nothing()) + line.holding
    return {account: holding for account, holding in sums.items() if holding.element_ng}


def found_key(alias: str, key: str, content: str | None = None) -> Sealed | None:
    """The entry with this key; BadInput if it says something else than `content`."""
    rows = models.Entry.objects.using(alias).filter(key=key)
    for number, digest, said in rows.values_list("number", "digest", "content"):
        if content is not None and said != content:
            raise BadInput(
                "key", key, "a key that is new, or the same act again",
                f"Entry {number} has this key and says something else.",
            )  # fmt: skip
        return Sealed(number, key, digest, again=True)
    return None


def _write_lines(alias: str, number: int, lines: list[SpelledLine]) -> None:
    accounts = account_ids(alias, [line[:3] for line in lines])
    postings = models.Posting.objects.using(alias).bulk_create(
        models.Posting(entry_id=number, line=n, account_id=account, gross_mg=line[3])
        for n, (account, line) in enumerate(zip(accounts, lines, strict=True))
    )
    models.Part.objects.using(alias).bulk_create(
        models.Part(posting_id=posting.pk, element=element, ng=ng)
        for posting, line in zip(postings, lines, strict=True)
        for element, ng in line[4].items()
    )


def account_ids(alias: str, wanted: Sequence[tuple[str, str, str]]) -> list[int]:
    """The accounts' row numbers in order; one that is new is opened."""
    rows = models.Account.objects.using(alias)
    known: dict[tuple[str, str, str], int] = {}
    for some in _some(wanted):
        near = rows.filter(
            owner_id__in={owner for owner, _, _ in some}, body__in={body for _, _, body in some}
        )
        for pk, owner, place, body in near.values_list("pk", "owner_id", "place", "body"):
            known[owner, place, body] = int(pk)
    new = [one for one in dict.fromkeys(wanted) if one not in known]
    made = rows.bulk_create(
        [models.Account(owner_id=owner, place=place, body=body) for owner, place, body in new]
    )
    known.update({one: int(row.pk) for one, row in zip(new, made, strict=True)})
    return [known[one] for one in wanted]


def _some(wanted: Sequence[tuple[str, str, str]]) -> Iterator[Sequence[tuple[str, str, str]]]:
    """Few enough at a time for one question to the database."""
    for begin in range(0, len(wanted), _ASKED_AT_ONCE):
        yield wanted[begin : begin + _ASKED_AT_ONCE]


def reverse(alias: str, now: str, number: int, *, by: str = "", key: str = "") -> Sealed:
    """The opposite of an entry, as a new one; each entry can be reversed once."""
    rows = list(
        models.Posting.objects.using(alias)
        .filter(entry_id=number)
        .values_list("pk", "account__owner__code", "account__place", "account__body", "gross_mg")
    )
    if not rows:
        raise BadInput("entry", number, "the number of an entry", "Look it up in the statement.")
    parts: dict[int, dict[str, int]] = {}
    for posting, element, ng in (
        models.Part.objects.using(alias)
        .filter(posting__entry_id=number)
        .values_list("posting_id", "element", "ng")
    ):
        parts.setdefault(posting, {})[element] = ng
    lines = [
        Line(Account(owner, place, body), -Holding.from_ng(mg, parts.get(pk, {})))
        for pk, owner, place, body, mg in rows
    ]
    entry = models.Entry.objects.using(alias).get(number=number)
    return post(
        alias, now, "reversal", lines, key=key or f"reversal of {number}", about=entry.about,
        by=by, consent=entry.consent, reverses=number,
    )  # fmt: skip


def held(alias: str, account: Account) -> Holding:
    """What one account holds now."""
    return balances(alias, owner=account.owner, place=account.place, body=account.body).get(
        account, Holding.nothing()
    )


def balances(
    alias: str, owner: str | None = None, place: str | None = None, body: str | None = None
) -> dict[Account, Holding]:
    """Every account that holds something, from the totals that the database keeps."""
    narrowed = {"owner__code": owner, "place": place, "body": body}
    wanted = {name: value for name, value in narrowed.items() if value is not None}
    accounts = models.Account.objects.using(alias).filter(**wanted)
    parts: dict[int, dict[str, int]] = {}
    of_account = {f"account__{name}": value for name, value in wanted.items()}
    for account, element, ng in (
        models.Held.objects.using(alias)
        .filter(**of_account)
        .values_list("account_id", "element", "ng")
    ):
        parts.setdefault(account, {})[element] = ng
    rows = accounts.values_list("pk", "owner__code", "place", "body", "gross_mg")
    return {
        Account(code, where, what): Holding.from_ng(mg, parts.get(pk, {}))
        for pk, code, where, what, mg in rows.order_by("owner_id", "place", "body")
        if mg or any(parts.get(pk, {}).values())
    }
