"""Newton's method for a given set of phases: equal potentials and mass balance.

Unknowns, per phase: ln x of all elements but its largest, and its amount. Where one phase
is just appearing its amount is held at zero and the temperature is the unknown in its
place: that is how a solidus below two solids is found. The caller must still put the
answer to the tangent-plane test.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from lemel.metal.gibbs import Look, System
from lemel.metal.linear import solve
from lemel.metal.stability import apart, shifted

__all__ = ["Portion", "Settled", "settle"]

_COLDEST_K, _HOTTEST_K = 200.0, 3500.0
_SAME = 1e-4
_LONGEST_RISE = 0.06  # of the temperature, per step


class Portion(NamedTuple):
    """One phase in an equilibrium: `amount` in moles of atoms per mole of alloy."""

    phase: str
    amount: float
    x: list[float]


class Settled(NamedTuple):
    """A solution of the equations; amounts may be negative (such a phase is not there)."""

    temp_k: float
    portions: list[Portion]


def settle(
    system: System,
    temp_k: float,
    guess: Sequence[Portion],
    x: Sequence[float],
    *,
    last_appears: bool = False,
) -> Settled | None:
    """Solve for the phases of `guess` at `temp_k`, or None if it does not converge.

    With `last_appears` the amount of the last phase is zero and the temperature is found.
    """
    count = len(guess)
    xs = [list(p.x) for p in guess]
    amounts = [p.amount for p in guess]
    phases = [system.phase(p.phase, temp_k) for p in guess]
    for _ in range(40):
        looks = [phase.look(y) for phase, y in zip(phases, xs, strict=True)]
        rt = system.gas_j_molk * temp_k
        matrix, right = _balance(xs, amounts, x)
        _potentials(matrix, right, looks, xs, rt)
        if last_appears:
            _free_temperature(matrix, looks, system.gas_j_molk, len(x))
        wrong = max(map(abs, right))
        step = solve(matrix, right)
        if step is None:
            return None
        most = max(map(abs, step))
        if not most < 1e6:
            return None
        held = min(1.0, 1 / most) if most > 1 else 1.0
        if last_appears:
            rise = step.pop()
            held = min(held, _LONGEST_RISE / max(abs(rise), 1e-30))
            temp_k *= 1 + held * rise
            step.append(0.0)
            if not _COLDEST_K < temp_k < _HOTTEST_K:
                return None
            phases = [system.phase(p.phase, temp_k) for p in guess]
        _move(xs, amounts, step, held)
        if any(not -50 < a < 50 for a in amounts):
            return None
        if wrong < 1e-6 and most < 1e-5:
            if _merged(guess, xs):
                return None
            portions = [Portion(guess[p].phase, amounts[p], xs[p]) for p in range(count)]
            return Settled(temp_k, portions)
    return None


def _balance(
    xs: Sequence[Sequence[float]], amounts: Sequence[float], x: Sequence[float]
) -> tuple[list[list[float]], list[float]]:
    """Rows of the mass balance: the phases together hold the alloy."""
    size, count = len(x), len(xs)
    matrix, right = [], []
    for i in range(size):
        row = [0.0] * (size * count)
        short = x[i]
        for p in range(count):
            y, amount = xs[p], amounts[p]
            for col, k in enumerate(_free(y)):
                row[p * size + col] = amount * y[i] * ((1.0 if i == k else 0.0) - y[k])
            row[p * size + size - 1] = y[i]
            short -= amount * y[i]
        matrix.append(row)
        right.append(short)
    return matrix, right


def _potentials(
    matrix: list[list[float]],
    right: list[float],
    looks: Sequence[Look],
    xs: Sequence[Sequence[float]],
    rt: float,
) -> None:
    """Rows of equal potentials, each phase against the first, in units of RT."""
    size, first = len(xs[0]), looks[0]
    free = [_free(y) for y in xs]
    for p in range(1, len(xs)):
        other = looks[p]
        for i in range(size):
            row = [0.0] * (size * len(xs))
            for col, k in enumerate(free[0]):
                row[col] = first.slope[i][k] / rt
            for col, k in enumerate(free[p]):
                row[p * size + col] = -other.slope[i][k] / rt
            matrix.append(row)
            right.append((other.mu[i] - first.mu[i]) / rt)


def _free_temperature(
    matrix: list[list[float]], looks: Sequence[Look], gas_j_molk: float, size: int
) -> None:
    """Put d/d ln T in the place of the last phase's amount."""
    for row in matrix[:size]:
        row[-1] = 0.0
    at = size
    for p in range(1, len(looks)):
        for i in range(size):
            matrix[at][-1] = (looks[0].mu_t[i] - looks[p].mu_t[i]) / gas_j_molk
            at += 1


def _move(xs: list[list[float]], amounts: list[float], step: Sequence[float], held: float) -> None:
    size = len(xs[0])
    for p, y in enumerate(xs):
        moves = [0.0] * size
        at = p * size
        for k in _free(y):
            moves[k] = held * step[at]
            at += 1
        xs[p] = shifted(y, moves)
        amounts[p] += held * step[at]


def _free(y: Sequence[float]) -> list[int]:
    """All elements but the largest."""
    largest = max(range(len(y)), key=y.__getitem__)
    return [k for k in range(len(y)) if k != largest]


def _merged(guess: Sequence[Portion], xs: Sequence[Sequence[float]]) -> bool:
    """Whether two portions of one phase have fallen on the same composition."""
    return any(
        guess[q].phase == guess[p].phase and apart(xs[p], xs[q]) < _SAME
        for p in range(len(xs))
        for q in range(p)
    )
