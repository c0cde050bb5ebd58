"""Small checks that the values use when they are made; each raises one BadInput."""

from __future__ import annotations

import math
from collections.abc import Collection

from lemel.errors import BadInput

__all__ = ["is_finite", "is_fraction", "is_id", "is_one_of", "is_positive", "not_negative"]


def is_finite(field: str, value: float) -> None:
    """A number, not NaN or infinite."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise BadInput(field, value, "a finite number", f"Give {field} as a plain number.")


def not_negative(field: str, value: float) -> None:
    """Zero or more."""
    is_finite(field, value)
    if value < 0:
        raise BadInput(field, value, "0 or more", f"Check the sign of {field}.")


def is_positive(field: str, value: float) -> None:
    """More than zero."""
    is_finite(field, value)
    if value <= 0:
        raise BadInput(field, value, "more than 0", f"Give {field} as a number above zero.")


def is_fraction(field: str, value: float) -> None:
    """Between 0 and 1, ends included."""
    is_finite(field, value)
    if not -1e-12 <= value <= 1 + 1e-12:
        raise BadInput(field, value, "0 to 1", f"Give {field} as a fraction of one.")


def is_id(field: str, value: str) -> None:
    """Text with something in it and no line break."""
    if not isinstance(value, str) or not value.strip() or "\n" in value or len(value) > 120:
        raise BadInput(field, value, "a short name on one line", f"Give {field} a name.")


def is_one_of(field: str, value: str, allowed: Collection[str]) -> None:
    """One of a closed list of words."""
    if value not in allowed:
        words = ", ".join(sorted(allowed))
        raise BadInput(field, value, words, f"Write one of the allowed words for {field}.")
