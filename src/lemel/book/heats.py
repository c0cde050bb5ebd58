"""A heat's states, one after the other, each with its event: planned, charged, molten, poured,
proven, closed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from lemel.book import models, people
from lemel.book.acts import Act
from lemel.book.chain import spelled
from lemel.errors import BadInput

__all__ = ["NEXT", "back_to", "events", "heat_of", "move_on", "note", "state_of"]

#: From a state to those that may follow; the database holds to the same list.
NEXT: Mapping[str, tuple[str, ...]] = {
    "planned": ("charged",),
    "charged": ("molten",),
    "molten": ("poured",),
    "poured": ("proven", "closed"),
    "proven": ("closed",),
    "closed": (),
}


def state_of(alias: str, heat: str) -> str:
    """The state that a heat is in."""
    return str(heat_of(alias, heat).state)


def move_on(act: Act, heat: str, to: str, facts: Mapping[str, Any] | None = None) -> None:
    """Into the next state, and the event that tells of it; BadInput where it cannot follow."""
    state = state_of(act.alias, heat)
    if to not in NEXT[state]:
        raise BadInput(
            "heat", f"{heat} is {state}", f"{to} follows only "
            + ", ".join(before for before, after in NEXT.items() if to in after),
            f"Next for this heat: {', '.join(NEXT[state]) or 'nothing, it is closed'}.",
        )  # fmt: skip
    note(act, heat, to, facts)
    models.Heat.objects.using(act.alias).filter(pk=heat).update(state=to)


def back_to(act: Act, heat: str, to: str, what: str, facts: Mapping[str, Any]) -> None:
    """Back one state, since what had brought it on was undone; the database checks that it was."""
    note(act, heat, what, facts)
    models.Heat.objects.using(act.alias).filter(pk=heat).update(state=to)


def note(act: Act, heat: str, what: str, facts: Mapping[str, Any] | None = None) -> None:
    """One more event in the log of a heat; its state stays."""
    n = models.HeatEvent.objects.using(act.alias).filter(heat_id=heat).count() + 1
    models.HeatEvent.objects.using(act.alias).create(
        heat_id=heat, n=n, made_at=act.now, by=people.person_key(act.alias, act.by), what=what,
        facts=spelled(act.facts(**(facts or {}))),
    )  # fmt: skip


def heat_of(alias: str, heat: str) -> Any:
    """The row of a heat with its owner and plan; BadInput that names the known ones."""
    row = models.Heat.objects.using(alias).select_related("owner").filter(pk=heat).first()
    if row is None:
        known = models.Heat.objects.using(alias).values_list("id", flat=True)
        raise BadInput("heat", heat, ", ".join(known) or "none yet", "Accept its plan first.")
    return row


def events(alias: str, heat: str) -> tuple[tuple[str, str, dict[str, Any]], ...]:
    """What happened to a heat, in order: the hour, the state it came into, the facts."""
    rows = models.HeatEvent.objects.using(alias).filter(heat_id=heat).order_by("n")
    return tuple(
        (at, what, json.loads(facts))
        for at, what, facts in rows.values_list("made_at", "what", "facts")
    )
