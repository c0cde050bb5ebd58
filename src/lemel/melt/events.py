"""What a hand does at the furnace, as values: lid, metal, setpoint, switch, pour."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["AddMetal", "Event", "LidOpen", "PourOut", "PowerOff", "SetTo", "moments_of"]


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


def moments_of(events: Iterable[Event]) -> list[tuple[float, Event, bool]]:
    """(time, event, begins) in order of time; an opening of the lid also ends. Ties keep order."""
    moments: list[tuple[float, int, Event, bool]] = []
    for n, event in enumerate(events):
        moments.append((event.at_s, n, event, True))
        if isinstance(event, LidOpen):
            moments.append((event.until_s, n, event, False))
    moments.sort(key=lambda moment: (moment[0], moment[1]))
    return [(at_s, event, begins) for at_s, _, event, begins in moments]
