"""The book's own figures: when a weight is asked about, what a step may lose, how far is far."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from lemel.tables import shipped

__all__ = ["Allowance", "allowance_mg", "identity_limit_mg", "rule"]

_RULES, _ALLOWANCES = "book_rules", "book_allowances"


@dataclass(frozen=True, slots=True)
class Allowance:
    """What a step may lose, mg, and the spread of that with the weighings, mg."""

    mean_mg: float
    sd_mg: float


def rule(key: str) -> float:
    """One figure of the house rules."""
    return shipped().row(_RULES, key).number("value")


def identity_limit_mg(book_mg: int) -> float:
    """How far a weight may lie from the book's: 0.05 g, or 0.1 % of it where that is more."""
    return max(1000 * rule("identity_g"), abs(book_mg) * rule("identity_share"))


def allowance_mg(
    operation: str, handled_mg: int, weighings: int, planned_mg: int | None = None
) -> Allowance:
    """What a step may lose: what its plan foresaw, or else the operation's usual share.

    sd^2 = weighings * (step^2 / 12 + repeatability^2) + (spread * the larger of the two)^2.
    """
    usual = handled_mg * shipped().row(_ALLOWANCES, operation).number("percent") / 100
    mean = usual if planned_mg is None else float(planned_mg)
    one = rule("weighing_step_g") ** 2 / 12 + rule("weighing_sd_g") ** 2
    spread = rule("allowance_spread") * max(usual, mean)
    return Allowance(mean, sqrt(weighings * one * 1e6 + spread**2))
