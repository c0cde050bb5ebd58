"""Notes beside steps, and two passages that share a line."""

from __future__ import annotations

from dataclasses import replace

from lemel.mill.faces import Step
from lemel.values import Saying, SayingValue

__all__ = ["both_on_one_line", "note_of"]

_EFFORTS = ("easy", "firm", "two_hands")


def note_of(name: str, **values: SayingValue) -> Saying:
    """The note of this name with its values."""
    return Saying(f"mill.note.{name}", values)


def both_on_one_line(one: Step, two: Step) -> Step:
    """Two passages through one groove on one line."""
    return replace(
        two,
        n=one.n,
        force_n=max(one.force_n, two.force_n),
        torque_nm=max(one.torque_nm, two.torque_nm),
        limit=two.limit if two.limit != "none" else one.limit,
        effort=max(one.effort, two.effort, key=_EFFORTS.index),
        passes=one.passes + two.passes,
        minutes=one.minutes + two.minutes,
        note=_closing(one.note, two.note),
    )


def _closing(one: Saying | None, two: Saying | None) -> Saying | None:
    """How far the rolls stand apart at the first and at the last passage of a groove."""
    first = one.values.get("first", one.values.get("gap")) if one else None
    last = two.values.get("gap") if two else None
    if first is None:
        return two
    if last is None:
        return note_of("open_then_closed", first=first)
    return note_of("open_then_less", first=first, gap=last)
