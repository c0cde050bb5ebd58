"""What a hand does at the furnace, as values: lid, metal, setpoint, switch, pour."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["AddMetal", "Event", "LidOpen", "PourOut", "PowerOff", "SetTo"]


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
