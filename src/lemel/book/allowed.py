"""Consents as they stand: less what was used by them, and for all that came of what they cover."""

from __future__ import annotations

from dataclasses import replace

from lemel.book import consents, lineage, models, records
from lemel.book.promised import open_steps
from lemel.book.shelf import natural
from lemel.values import Consent

__all__ = ["standing_consents"]

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
    moved = [
        (sorted(names, key=natural), mg)
        for owner in sorted({one.owner for one in given.values()})
        for names, mg in consents.used_mg(alias, owner).items()
    ]
    for step in open_steps(alias):
        if step.consent:
            names = list(consents.split_consents(step.consent))
            moved.append((names, sum(mg for _, mg in step.takes)))
    used: dict[str, int] = {}
    # Movements that lean on one consent alone come first: the others may lean elsewhere.
    for names, mg in sorted(moved, key=lambda one: (len(one[0]), one[0])):
        left = mg
        for name in names:
            limit_g = given[name].limit_g if name in given else None
            room = left if limit_g is None else max(0, round(1000 * limit_g) - used.get(name, 0))
            used[name] = used.get(name, 0) + min(left, room)
            left -= min(left, room)
    return used


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
