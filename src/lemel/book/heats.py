"""A heat's states, one after the other, each with its event: planned, charged, molten, poured,
proven, closed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from lemel.book import models, people
from lemel.book.chain import spelled
from lemel.errors import BadInput

__all__ = ["NEXT", "events", "move_on", "state_of"]

#: From a state to those that may follow; the database holds to the same list.
NEXT: Mapping[str, tuple[str, ...]] = {
    "planned": ("charged",),
    "charged": ("molten", "planned"),
    "molten": ("poured",),
    "poured": ("proven", "closed"),
    "proven": ("closed",),
    "closed": (),
}


def state_of(alias: str, heat: str) -> str:
    """The state that a heat is in."""
    row = models.Heat.objects.using(alias).filter(pk=heat).first()
    if row is None:
        known = models.Heat.objects.using(alias).values_list("id", flat=True)
        raise BadInput("heat", heat, ", ".join(known) or "none yet", "Accept its plan first.")
    return str(row.state)


def move_on(
    alias: str, now: str, heat: str, to: str, by: str, facts: Mapping[str, Any] | None = None
) -> None:
    """Into the next state, and the event that tells of it; BadInput where it cannot follow."""
    state = state_of(alias, heat)
    if to not in NEXT[state]:
        raise BadInput(
            "heat", f"{heat} is {state}", f"{to} follows only "
            + ", ".join(before for before, after in NEXT.items() if to in after),
            f"Next for this heat: {', '.join(NEXT[state]) or 'nothing, it is closed'}.",
        )  # fmt: skip
    n = models.HeatEvent.objects.using(alias).filter(heat_id=heat).count() + 1
    models.HeatEvent.objects.using(alias).create(
        heat_id=heat, n=n, made_at=now, by=people.person_key(alias, by), what=to,
        facts=spelled(facts or {}),
    )  # fmt: skip
    models.Heat.objects.using(alias).filter(pk=heat).update(state=to)


def events(alias: str, heat: str) -> tuple[tuple[str, str, dict[str, Any]], ...]:
    """What happened to a heat, in order: the hour, the state it came into, the facts."""
    rows = models.HeatEvent.objects.using(alias).filter(heat_id=heat).order_by("n")
    return tuple(
        (at, what, json.loads(facts))
        for at, what, facts in rows.values_list("made_at", "what", "facts")
    )
