"""How sure an answer is that it is the best one, and how a long search is watched."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from lemel.values.checks import is_one_of

__all__ = ["STATUSES", "STOPPED_BY", "Proof", "Quiet", "Watch", "quiet", "stretch"]

STATUSES = ("optimal", "feasible", "infeasible")
STOPPED_BY = ("proof", "work", "clock", "user")


@dataclass(frozen=True, slots=True)
class Proof:
    """What was found and how far off it can be at most.

    `cost` None: nothing feasible found. `bound` is a proven lower bound (minimising),
    None where there is none; `gap` is (cost - bound) / max(|cost|, 1e-9), None likewise.
    `work` counts effort in the solver's own units (nodes, states), never seconds.
    """

    status: str
    cost: float | None
    bound: float | None
    gap: float | None
    work: int = 0
    stopped_by: str = "proof"
    seed: int = 0
    solver: str = "own"

    def __post_init__(self) -> None:
        is_one_of("status", self.status, STATUSES)
        is_one_of("stopped_by", self.stopped_by, STOPPED_BY)


class Watch(Protocol):
    """Somebody who looks on while a room works. The deadline is its business, not the room's."""

    def cancelled(self) -> bool:
        """True once the work should stop; the room then returns its best or raises Stopped."""

    def tell(self, done: float, best: float | None = None, bound: float | None = None) -> None:
        """Progress: share done (0 to 1), best cost and bound so far if there are any."""


class Quiet:
    """A Watch that never stops and says nothing."""

    def cancelled(self) -> bool:
        """Never."""
        return False

    def tell(self, done: float, best: float | None = None, bound: float | None = None) -> None:
        """Nothing."""


quiet = Quiet()


class _Stretch:
    """A watch over one stretch of a longer work: progress is told as a part of the whole."""

    def __init__(self, watch: Watch, begin: float, end: float) -> None:
        self._watch, self._begin, self._end = watch, begin, end

    def cancelled(self) -> bool:
        """As the whole work."""
        return self._watch.cancelled()

    def tell(self, done: float, best: float | None = None, bound: float | None = None) -> None:
        """The share of the stretch, as a share of the whole."""
        self._watch.tell(self._begin + (self._end - self._begin) * done, best, bound)


def stretch(watch: Watch, begin: float, end: float) -> Watch:
    """The watch of one stretch of a work, from share `begin` to share `end` of it."""
    return quiet if watch is quiet else _Stretch(watch, begin, end)
