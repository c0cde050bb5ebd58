"""What the plan room takes and gives back. A `Plan` is plain data and kept whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from lemel.values import Caution, Lot, Objection, OrderLine, Reading, Saying, Workshop

__all__ = ["MET_BY", "PlanOptions", "PlanProblem"]

#: In the order in which they are tried.
MET_BY = ("remnant", "scrap_as_is", "stock", "heat", "buy", "unmet")


@dataclass(frozen=True, slots=True)
class PlanOptions:
    """How the plan is made: the seed, the gap and effort of each solve."""

    seed: int = 1
    gap: float = 1e-3
    work_most: int = 400_000


@dataclass(frozen=True, slots=True)
class PlanProblem:
    """The whole month: the workshop with its tools, owners, stock, consents and prices,
    the lots with their readings, and the order lines in the order of due date."""

    workshop: Workshop
    lots: tuple[Lot, ...]
    readings: tuple[Reading, ...]
    orders: tuple[OrderLine, ...]
    options: PlanOptions = PlanOptions()


# The Plan's own parts follow the contract of `lemel plan --json`.
@dataclass(frozen=True, slots=True)
class PlanLine:
    """One order line: what it is met by, how, and why not by something earlier in the list."""

    order: str
    line: str
    met_by: str
    how: Saying
    why: tuple[Saying, ...] = ()
    uses: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Unmet:
    """An order line that is not met: the reason and the craft's ways out."""

    reason: Saying
    ways_out: tuple[Saying, ...]


@dataclass(frozen=True, slots=True)
class PlanNotes:
    """Objections and cautions gathered over all rooms."""

    objections: tuple[Objection, ...] = ()
    cautions: tuple[Caution, ...] = ()
    provenance: Mapping[str, Any] = field(default_factory=dict)
