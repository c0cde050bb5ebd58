"""What the scrap room takes and gives back."""

from __future__ import annotations

from dataclasses import dataclass

from lemel.values import BeliefSet, Caution, Lot, Objection, Reading, Saying

__all__ = ["BelievedReading", "ScrapAnswer", "ScrapProblem"]


@dataclass(frozen=True, slots=True)
class ScrapProblem:
    """Lots of one main metal with their readings; assayed heats teach the lots in them.

    `heats` are (heat id, ((lot id, grams), ...), fine grams added, poured grams) whose own
    readings (on=heat id) are among the readings.
    """

    lots: tuple[Lot, ...]
    readings: tuple[Reading, ...]
    heats: tuple[tuple[str, tuple[tuple[str, float], ...], float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class BelievedReading:
    """One reading as it was fused: its weight in the mean, and how far off it lay (sds)."""

    reading: str
    on: str
    weight: float
    residual: float
    used: bool


@dataclass(frozen=True, slots=True)
class ScrapAnswer:
    """What is believed, and what must not or cannot yet be melted.

    `objections` are about lot ids: grade stop bars the lot, ask needs an answer first.
    `shared_sd` is the spread that each shared source adds, by factor.
    """

    beliefs: BeliefSet
    readings: tuple[BelievedReading, ...]
    objections: tuple[Objection, ...]
    cautions: tuple[Caution, ...] = ()
    explain: tuple[Saying, ...] = ()
