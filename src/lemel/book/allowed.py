"""Consents as they stand: less what was used by them, and for all that came of what they cover."""

from __future__ import annotations

from dataclasses import replace

from lemel.book import lineage, models, records
from lemel.book.promised import open_steps
from lemel.values import Consent

__all__ = ["standing_consents"]

#: Between the consents of one movement.
_APART = ", "
#: What was melted by a consent needs none anew: these reach everything that came of it.
_REACHING = ("destroy", "use_offcuts")


def standing_consents(alias: str) -> tuple[Consent, ...]:
    """Consents that hold, with the grams that are left of them; used up ones are gone."""
    given = records.consents(alias)
    used = _used_mg(alias, given)
    left = []
    for name, consent in given.items():
        one = replace(consent, about=_reach(alias, consent))
        if one.limit_g is not None and used.get(name):
            mg = round(1000 * one.limit_g) - used[name]
            if mg <= 0:
                continue
            one = replace(one, limit_g=mg / 1000)
        left.append(one)
    return tuple(left)


def _used_mg(alias: str, given: dict[str, Consent]) -> dict[str, int]:
    """By consent; where several stand behind one movement the first is used up before the next."""
    pending = [(step.consent, sum(mg for _, mg in step.takes)) for step in open_steps(alias)]
    used: dict[str, int] = {}
    for consent, moved in [*_moved(alias), *pending]:
        mg = moved
        for name in filter(None, consent.split(_APART)):
            limit_g = given[name].limit_g if name in given else None
            room = mg if limit_g is None else max(0, round(1000 * limit_g) - used.get(name, 0))
            used[name] = used.get(name, 0) + min(mg, room)
            mg -= min(mg, room)
    return used


def _moved(alias: str) -> list[tuple[str, int]]:
    """Entries made by a consent that were not reversed: which consent, how many mg."""
    rows = (
        models.Posting.objects.using(alias)
        .filter(gross_mg__gt=0, entry__entry__isnull=True, entry__reverses__isnull=True)
        .exclude(entry__consent="")
        .order_by("entry_id")
    )
    return list(rows.values_list("entry__consent", "gross_mg"))


def _reach(alias: str, consent: Consent) -> tuple[str, ...]:
    """The bodies that a consent names, and those of its owner that came of them."""
    if consent.allows not in _REACHING:
        return consent.about
    came: set[str] = set()
    for body in consent.about:
        if records.is_known(alias, body):
            came |= set(lineage.descendants(alias, body)) - {body}
    lots = models.Body.objects.using(alias).filter(
        pk__in=came, kind="lot", withdrawn=False, owner__code=consent.owner
    )
    return (*consent.about, *sorted(set(lots.values_list("id", flat=True)) - set(consent.about)))
