"""Names and the opaque keys that stand for them in the ledger; names can be erased, keys not."""

from __future__ import annotations

import secrets
from collections.abc import Mapping

from lemel.book import models
from lemel.errors import BadInput
from lemel.values import is_id

__all__ = ["codes", "enter_owners", "erase", "key_of", "person_key", "shown_names"]


def key_of(alias: str, code: str) -> str:
    """The key of an owner; BadInput if the book does not know the owner."""
    rows = models.Party.objects.using(alias).filter(code=code, is_owner=True)
    for key in rows.values_list("key", flat=True):
        return str(key)
    known = ", ".join(codes(alias)) or "nobody yet"
    raise BadInput("owner", code, known, "Enter the owner with the weigh-in.")


def person_key(alias: str, code: str) -> str:
    """The key of whoever did it, made on first sight; "" for nobody named."""
    if not code:
        return ""
    is_id("by", code)
    person, _ = models.Party.objects.using(alias).get_or_create(
        code=code, defaults={"key": _new_key(), "shown": code}
    )
    return str(person.key)


def enter_owners(alias: str, owners: Mapping[str, str]) -> None:
    """Owners by id and name; known ones keep their key, and take the name given now."""
    for code, shown in owners.items():
        is_id("owner", code)
        party, made = models.Party.objects.using(alias).get_or_create(
            code=code, defaults={"key": _new_key(), "shown": shown, "is_owner": True}
        )
        if not made and (not party.is_owner or (shown and party.shown != shown)):
            party.is_owner, party.shown = True, shown or party.shown
            party.save(using=alias)


def codes(alias: str) -> tuple[str, ...]:
    """Ids of all owners."""
    rows = models.Party.objects.using(alias).filter(is_owner=True).order_by("code")
    return tuple(rows.values_list("code", flat=True))


def shown_names(alias: str) -> dict[str, str]:
    """Names by owner's id."""
    rows = models.Party.objects.using(alias).filter(is_owner=True).order_by("code")
    return dict(rows.values_list("code", "shown"))


def erase(alias: str, code: str, now: str) -> str:
    """Take the names of a person out of the book; the key that is left over, which is their id now.

    The ledger, its digests and balances stay as they are.
    """
    party = models.Party.objects.using(alias).filter(code=code).first()
    if party is None:
        raise BadInput("owner", code, ", ".join(codes(alias)), "Name somebody the book knows.")
    party.code, party.shown, party.erased_at = party.key, "", now
    party.save(using=alias)
    return str(party.key)


def _new_key() -> str:
    return "p" + secrets.token_hex(8)
