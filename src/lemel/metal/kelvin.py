"""Between degrees Celsius outside and kelvin inside."""

from __future__ import annotations

__all__ = ["to_c", "to_k"]

_ZERO_C_K = 273.15  # exact, by definition of the scale


def to_k(temp_c: float) -> float:
    """Kelvin from degC."""
    return temp_c + _ZERO_C_K


def to_c(temp_k: float) -> float:
    """DegC from kelvin."""
    return temp_k - _ZERO_C_K
