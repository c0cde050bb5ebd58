"""What a hand does at the furnace, as values: lid, metal, setpoint, switch, pour."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol, TypeVar

__all__ = [
    "AddMetal", "Event", "LidOpen", "PourOut", "PowerOff", "SetTo", "happen", "simulate",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class LidOpen:
    """Lid off from `at_s` until `until_s`."""

    at_s: float
    until_s: float


@dataclass(frozen=True, slots=True)
class AddMetal:
    """So much metal at such a heat into the pot, mixed at once: the worst case for the bath."""

    at_s: float
    mass_g: float
    temp_c: float = 20.0


@dataclass(frozen=True, slots=True)
class SetTo:
    """The controller is set to a temperature."""

    at_s: float
    temp_c: float


@dataclass(frozen=True, slots=True)
class PowerOff:
    """Switched off."""

    at_s: float


@dataclass(frozen=True, slots=True)
class PourOut:
    """The pot is emptied down to `left_g` and stands back in the furnace."""

    at_s: float
    left_g: float = 0.0


Event = LidOpen | AddMetal | SetTo | PowerOff | PourOut


def _moments_of(events: Iterable[Event]) -> list[tuple[float, Event, bool]]:
    """(time, event, begins) in order of time; an opening of the lid also ends. Ties keep order."""
    moments: list[tuple[float, int, Event, bool]] = []
    for n, event in enumerate(events):
        moments.append((event.at_s, n, event, True))
        if isinstance(event, LidOpen):
            moments.append((event.until_s, n, event, False))
    moments.sort(key=lambda moment: (moment[0], moment[1]))
    return [(at_s, event, begins) for at_s, _, event, begins in moments]


class _Heat(Protocol):
    """What a hand can get at: a run of one furnace or of many."""

    t_s: float
    lid_off: bool
    setpoint_c: float
    on: bool

    def add(self, mass_g: float, temp_c: float) -> None: ...

    def pour_out(self, left_g: float) -> None: ...

    def advance(self, seconds: float) -> object: ...


Heat = TypeVar("Heat", bound=_Heat)


def happen(run: _Heat, event: Event, begins: bool = True) -> None:
    """One event done to a run; `begins` False shuts a lid that was opened."""
    match event:
        case LidOpen():
            run.lid_off = begins
        case AddMetal():
            run.add(event.mass_g, event.temp_c)
        case SetTo():
            run.setpoint_c = event.temp_c
        case PowerOff():
            run.on = False
        case PourOut():
            run.pour_out(event.left_g)


def simulate(run: Heat, events: Iterable[Event], end_s: float) -> Heat:
    """Play a fixed schedule of events on a run, exactly at their times, until `end_s`."""
    for at_s, event, begins in _moments_of(events):
        if at_s >= end_s:
            break
        run.advance(at_s - run.t_s)
        happen(run, event, begins)
    run.advance(end_s - run.t_s)
    return run
