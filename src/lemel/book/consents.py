"""What owners have allowed, counted over everything that was done by it so far."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from itertools import combinations
from math import inf

from django.db.models import Sum

from lemel.book import models, records
from lemel.errors import BadInput

__all__ = ["CONSENTS_APART", "allow", "split_consents", "used_mg"]

#: Between the consents of one movement.
CONSENTS_APART = ", "


def split_consents(consent: str) -> tuple[str, ...]:
    """The ids of the consents that an entry or a movement names."""
    return tuple(one for one in consent.split(CONSENTS_APART) if one)


def allow(
    alias: str, consent: str, owner: str, mg: int, about: Collection[str], allows: Collection[str]
) -> None:
    """Raise BadInput unless these consents of `owner` hold, cover the act and allow so much.

    `allows` are the kinds that would do; `about` the lots and heats that are concerned. The
    grams count with all that was moved by the same consents before.
    """
    known = records.consents(alias)
    names = split_consents(consent)
    if not names:
        raise BadInput("consent", consent, f"a consent of {owner}", "Ask the owner, then enter it.")
    for name in names:
        given = known.get(name)
        if given is None or given.owner != owner:
            raise BadInput("consent", name, f"a consent of {owner} that holds", "Ask the owner.")
        if given.allows not in allows:
            raise BadInput(
                "consent", name, f"a consent to {' or '.join(sorted(allows))}",
                f"{name} is a consent to {given.allows}.",
            )  # fmt: skip
        if given.about and not set(given.about) & set(about):
            raise BadInput(
                "consent", name, f"a consent that covers {', '.join(sorted(about))}",
                f"{name} covers {', '.join(given.about)}.",
            )  # fmt: skip
    left_mg = _left_mg(alias, frozenset(names), owner)
    if mg > left_mg:
        raise BadInput(
            "consent", mg / 1000, f"at most {left_mg / 1000:g} g by {consent}", "Ask the owner."
        )


def used_mg(alias: str, owner: str) -> dict[frozenset[str], int]:
    """What came to or went from `owner` (net of what went back) by each set of consents, mg."""
    rows = models.Posting.objects.using(alias).filter(account__owner__code=owner)
    sums = rows.exclude(entry__consent="").values("entry__consent").annotate(mg=Sum("gross_mg"))
    used: dict[frozenset[str], int] = {}
    for consent, mg in sums.values_list("entry__consent", "mg"):
        names = frozenset(split_consents(consent))
        used[names] = used.get(names, 0) + mg
    return {names: abs(mg) for names, mg in used.items()}


def _left_mg(alias: str, names: frozenset[str], owner: str) -> float:
    """What these consents still allow.

    Each earlier act may lean on any of the consents that it named, so the grams can be dealt
    out if and only if no union of such sets has given more than it may (Hall's condition).
    """
    used = used_mg(alias, owner)
    known = records.consents(alias)
    left = inf
    for union in _unions(names, used):
        limits = [known[one].limit_g if one in known else 0.0 for one in union]
        room = sum(inf if one is None else 1000 * one for one in limits)
        left = min(left, room - sum(mg for those, mg in used.items() if those <= union))
    return max(0.0, left)


def _unions(names: frozenset[str], used: Collection[frozenset[str]]) -> Iterator[frozenset[str]]:
    others = sorted({those | names for those in used}, key=sorted)
    seen = {names}
    yield names
    for count in range(1, len(others) + 1):
        for some in combinations(others, count):
            union = frozenset().union(*some)
            if union not in seen:
                seen.add(union)
                yield union
