"""Words about what somebody brought or agreed to: apart from the digests, so that they can go.

Filed under the thing's own id with nothing but its private part; once a person is erased that
part is empty, and the thing is read without words. Older books have them in the thing itself.
"""

from __future__ import annotations

from collections.abc import Iterable

from lemel.book import filing, models
from lemel.book.filing import all_of, some_of

__all__ = ["BODY", "CONSENT", "erase", "keep", "told"]

BODY, CONSENT = "words/body", "words/consent"


def keep(alias: str, now: str, kind: str, name: str, owner: str, text: str, by: str = "") -> None:
    """What was said of it; nothing where nothing was."""
    if text:
        filing.file(alias, now, kind, name, {}, private={"text": text}, owner=owner, by=by)


def told(alias: str, kind: str, names: Iterable[str] | None = None) -> dict[str, str]:
    """The words by id, of all or of these."""
    found = all_of(alias, kind) if names is None else some_of(alias, kind, names)
    return {name: str(one.private.get("text", "")) for name, one in found.items()}


def erase(alias: str, person: str) -> set[str]:
    """Empty all that is private of a person; the words that went, to be looked for elsewhere."""
    words = _words_of(alias, person)
    filing.erase_private(alias, person)
    _erase_register(alias, person)
    return words


def _words_of(alias: str, owner: str) -> set[str]:
    """Every word that is kept apart for a person, to be looked for elsewhere."""
    rows = models.Filed.objects.using(alias).filter(owner__code=owner, kind__in=(BODY, CONSENT))
    names = {(kind, name) for kind, name in rows.values_list("kind", "name")}
    found = {told(alias, kind, [name]).get(name, "") for kind, name in names}
    return found - {""}


def _erase_register(alias: str, person: str) -> None:
    """What the register of purchases says in words of what was this person's, or sold by them."""
    rows = models.Purchase.objects.using(alias)
    rows.filter(seller__code=person).update(described="")
    rows.filter(body__owner__code=person).update(described="")
