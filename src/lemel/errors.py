"""The error tree, whole, at the head of the house.

    LemelError            anything that this library raises on purpose
      BadInput            the caller gave something that cannot be used      exit code 2
      NotKnown            no model, table row or figure covers the question  exit code 2
      Stopped             the user asked to stop                             exit code 130
      Broken              our own fault: a promise of the code did not hold  exit code 1

"Not possible" is never an exception: it is an answer with a status and a way out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, TypeVar

__all__ = ["BadInput", "Broken", "LemelError", "NotKnown", "Stopped", "gather", "require"]

Made = TypeVar("Made")


class LemelError(Exception):
    """Root of everything raised on purpose."""


class BadInput(LemelError):
    """One fault of the input: which field, what was given, what is allowed, what to do.

    `others` holds further faults found in the same reading, so that a file's
    faults can be mended in one go.
    """

    def __init__(
        self,
        field: str,
        value: Any,
        allowed: str,
        do: str,
        others: Iterable[BadInput] = (),
    ) -> None:
        self.field = field
        self.value = value
        self.allowed = allowed
        self.do = do
        self.others = tuple(others)
        super().__init__(f"{field} is {value!r}; allowed: {allowed}. {do}")

    @property
    def all(self) -> tuple[BadInput, ...]:
        """This fault and those found beside it, flat."""
        return (self, *(fault for other in self.others for fault in other.all))

    def under(self, place: str) -> BadInput:
        """The same fault with the place it was found in put before the field's name."""
        field = f"{place}.{self.field}" if self.field else place
        return BadInput(
            field, self.value, self.allowed, self.do, [o.under(place) for o in self.others]
        )


class NotKnown(LemelError):
    """Nothing in the tables or models covers the question: what, why, and what to do."""

    def __init__(self, what: str, why: str, do: str) -> None:
        self.what = what
        self.why = why
        self.do = do
        super().__init__(f"{what} is not known: {why}. {do}")


class Stopped(LemelError):
    """The user's `Watch` said stop; nothing was half-written."""


class Broken(LemelError):
    """An internal promise did not hold; the message is for the maintainer."""


def require(ok: bool, field: str, value: Any, allowed: str, do: str) -> None:
    """Raise `BadInput` unless `ok`."""
    if not ok:
        raise BadInput(field, value, allowed, do)


def gather(makers: Iterable[Callable[[], Made]]) -> list[Made]:
    """Call each maker; return all results, or raise one `BadInput` that carries every fault."""
    made: list[Made] = []
    faults: list[BadInput] = []
    for make in makers:
        try:
            made.append(make())
        except BadInput as fault:
            faults.append(fault)
    if faults:
        first, *rest = faults
        raise BadInput(first.field, first.value, first.allowed, first.do, [*first.others, *rest])
    return made
