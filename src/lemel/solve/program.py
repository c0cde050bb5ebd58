"""What is asked of the solver, and what it answers: plain arrays, no solver in sight."""

from __future__ import annotations

from dataclasses import dataclass, field

from lemel.values import Proof

__all__ = ["Cone", "Program", "Row", "Solution", "Variable"]


@dataclass(frozen=True, slots=True)
class Variable:
    """A column: bounds, cost, and whether it must be whole."""

    name: str
    lo: float = 0.0
    hi: float = float("inf")
    cost: float = 0.0
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """lo <= sum(coefficient * variable) <= hi; `terms` are (variable index, coefficient)."""

    name: str
    terms: tuple[tuple[int, float], ...]
    lo: float = float("-inf")
    hi: float = float("inf")


@dataclass(frozen=True, slots=True)
class Cone:
    """t >= || D x ||_2: `t` a variable index, `lines` the rows of D as (variable, coefficient)."""

    name: str
    t: int
    lines: tuple[tuple[tuple[int, float], ...], ...]


@dataclass(frozen=True, slots=True)
class Program:
    """Minimise cost over variables, rows and cones."""

    variables: tuple[Variable, ...]
    rows: tuple[Row, ...]
    cones: tuple[Cone, ...] = ()


@dataclass(frozen=True, slots=True)
class Solution:
    """The best point found (empty if none) with its proof."""

    x: tuple[float, ...]
    proof: Proof
    duals: tuple[float, ...] = field(default=())
