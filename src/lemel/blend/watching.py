"""Watches between the user's and a small step's."""

from __future__ import annotations

from lemel.values import Watch

__all__ = ["Deaf", "Floor", "Share", "why"]


class Deaf:
    """Passes the wish to stop on, but not the progress of one small step."""

    def __init__(self, watch: Watch) -> None:
        self._watch = watch

    def cancelled(self) -> bool:
        """As the user's watch says."""
        return self._watch.cancelled()

    def tell(self, done: float, best: float | None = None, bound: float | None = None) -> None:
        """Nothing."""


class Share:
    """Tells the watch about one of several questions as a share of them all."""

    def __init__(self, watch: Watch, place: int, many: int) -> None:
        self._watch, self._place, self._many = watch, place, many
        self.stopped_by = getattr(watch, "stopped_by", "user")

    def cancelled(self) -> bool:
        """As the user's watch says."""
        return self._watch.cancelled()

    def tell(self, done: float, best: float | None = None, bound: float | None = None) -> None:
        """The share done; costs of a part alone would mislead."""
        del best, bound
        self._watch.tell((self._place + done) / self._many)


class Floor:
    """Tells the better of a bound known before and the one found now."""

    def __init__(self, watch: Watch, bound: float) -> None:
        self._watch, self._bound = watch, bound
        self.stopped_by = getattr(watch, "stopped_by", "user")

    def cancelled(self) -> bool:
        """As the user's watch says."""
        return self._watch.cancelled()

    def tell(self, done: float, best: float | None = None, bound: float | None = None) -> None:
        """Progress with the higher of the two bounds."""
        self._watch.tell(done, best, self._bound if bound is None else max(bound, self._bound))


def why(watch: Watch) -> str:
    """What stopped the work, as the proof says it: a watch may name itself the clock."""
    return str(getattr(watch, "stopped_by", "user"))
