"""The Gibbs energies of `lemel.metal.gibbs` for many alloys at once, as arrays.

The same tables and equations, written a second time over numpy arrays: rows are alloys,
columns elements. Loaded only when many alloys are asked at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from lemel.metal.gibbs import Phase, System

__all__ = [
    "Array", "Index", "LookMany", "Mask", "PhaseMany", "look_many", "outlooks_many",
    "potentials_many", "shifted_many",
]  # fmt: skip

Array = np.ndarray[Any, np.dtype[np.float64]]
Mask = np.ndarray[Any, np.dtype[np.bool_]]
Index = np.ndarray[Any, np.dtype[np.int_]]
_FLOOR = 1e-300


@dataclass(frozen=True, slots=True)
class LookMany:
    """As `Look`, for rows of alloys: mu (N, n), slope (N, n, n), mu_t (N, n)."""

    mu: Array
    slope: Array
    mu_t: Array


def _ends(phase: Phase, temp_k: Array) -> tuple[Array, Array]:
    """Gibbs energies of the end members and their derivatives, (N, n)."""
    log_t = np.log(temp_k)
    t2, t6, t9 = temp_k**2, temp_k**6, temp_k**-9.0
    one = np.ones_like(temp_k)
    powers = np.stack(
        [one, temp_k, temp_k * log_t, t2, temp_k**3, 1 / temp_k, t6 * temp_k, t9], axis=1
    )
    slopes = np.stack(
        [0 * one, one, 1 + log_t, 2 * temp_k, 3 * t2, -1 / t2, 7 * t6, -9 * t9 / temp_k], axis=1
    )
    ends, d_ends = [], []
    for pieces in phase.branches:
        limits = np.array([below for below, _ in pieces])
        table = np.array([c for _, c in pieces])
        chosen = table[np.minimum(np.searchsorted(limits, temp_k, side="right"), len(pieces) - 1)]
        ends.append((powers * chosen).sum(axis=1))
        d_ends.append((slopes * chosen).sum(axis=1))
    return np.stack(ends, axis=1), np.stack(d_ends, axis=1)


def _pair_terms(phase: Phase, temp_k: Array) -> list[tuple[int, int, list[Array], list[Array]]]:
    log_t = np.log(temp_k)
    return [
        (
            i,
            j,
            [a + b * temp_k + c * temp_k * log_t for a, b, c in terms],
            [b + c * (1 + log_t) for _, b, c in terms],
        )
        for i, j, terms in phase.pairs
    ]


def _horner(terms: list[Array], d: Array) -> tuple[Array, Array, Array]:
    value = slope = bend = np.zeros_like(d)
    for term in reversed(terms):
        bend = bend * d + slope
        slope = slope * d + value
        value = value * d + term
    return value, slope, 2 * bend


class PhaseMany:
    """One phase at one temperature for each row: end members and excess terms worked out once."""

    def __init__(self, system: System, name: str, temp_k: Array) -> None:
        self.gas_j_molk, self.temp_k = system.gas_j_molk, temp_k
        phase = system.phases[name]
        self.ends, self.d_ends = _ends(phase, temp_k)
        self.pairs = _pair_terms(phase, temp_k)

    def rows(self, chosen: Index) -> PhaseMany:
        """The same for some of the rows."""
        part = object.__new__(PhaseMany)
        part.gas_j_molk, part.temp_k = self.gas_j_molk, self.temp_k[chosen]
        part.ends, part.d_ends = self.ends[chosen], self.d_ends[chosen]
        part.pairs = [
            (i, j, [t[chosen] for t in terms], [t[chosen] for t in terms_t])
            for i, j, terms, terms_t in self.pairs
        ]
        return part

    def potentials(self, x: Array) -> Array:
        """Chemical potentials, J/mol."""
        first, base = np.zeros_like(x), np.zeros(len(x))
        for i, j, terms, _ in self.pairs:
            xi, xj = x[:, i], x[:, j]
            s, s1, _ = _horner(terms, xi - xj)
            p = xi * xj
            base += p * s
            first[:, i] += xj * s + p * s1
            first[:, j] += xi * s - p * s1
        rt = (self.gas_j_molk * self.temp_k)[:, None]
        return np.asarray(
            self.ends + rt * np.log(x) + (base - (x * first).sum(axis=1))[:, None] + first
        )

    def look(self, x: Array) -> LookMany:
        """Potentials and derivatives."""
        size = x.shape[1]
        first, first_t = np.zeros_like(x), np.zeros_like(x)
        second = np.zeros((*x.shape, size))
        base, base_t = np.zeros(len(x)), np.zeros(len(x))
        for i, j, terms, terms_t in self.pairs:
            xi, xj = x[:, i], x[:, j]
            d, p = xi - xj, xi * xj
            s, s1, s2 = _horner(terms, d)
            t, t1, _ = _horner(terms_t, d)
            base, base_t = base + p * s, base_t + p * t
            first[:, i] += xj * s + p * s1
            first[:, j] += xi * s - p * s1
            first_t[:, i] += xj * t + p * t1
            first_t[:, j] += xi * t - p * t1
            second[:, i, i] += 2 * xj * s1 + p * s2
            second[:, j, j] += p * s2 - 2 * xi * s1
            cross = s + d * s1 - p * s2
            second[:, i, j] += cross
            second[:, j, i] += cross
        gas = self.gas_j_molk
        rt = (gas * self.temp_k)[:, None]
        logs = np.log(x)
        mu = self.ends + rt * logs + (base - (x * first).sum(axis=1))[:, None] + first
        mu_t = self.d_ends + gas * logs + (base_t - (x * first_t).sum(axis=1))[:, None] + first_t
        rows_x = (second * x[:, None, :]).sum(axis=2)
        mean = rows_x - (x * rows_x).sum(axis=1)[:, None]
        ideal = rt[:, :, None]
        slope = x[:, None, :] * (second - rows_x[:, None, :] - mean[:, :, None] - ideal)
        return LookMany(mu, slope + ideal * np.eye(size), mu_t)


def look_many(system: System, name: str, temp_k: Array, x: Array) -> LookMany:
    """Potentials and derivatives of one phase for each row."""
    return PhaseMany(system, name, temp_k).look(x)


def potentials_many(system: System, name: str, temp_k: Array, x: Array) -> Array:
    """Chemical potentials of one phase for each row, J/mol."""
    return PhaseMany(system, name, temp_k).potentials(x)


def shifted_many(x: Array, moves: Array, most: float = 3.0) -> Array:
    """x exp(moves), normalised by rows."""
    raw = np.maximum(x * np.exp(np.clip(moves, -most, most)), _FLOOR)
    return np.asarray(raw / raw.sum(axis=1, keepdims=True))


def outlooks_many(system: System, name: str, x: Array, lean: float) -> list[Array]:
    """Both sides of each gap of a phase, for each row."""
    found = []
    for i, j, terms in system.phases[name].pairs:
        if terms[0][0] > 0:
            both = x[:, i] + x[:, j]
            for share in (lean, 1 - lean):
                y = x.copy()
                y[:, i], y[:, j] = share * both, (1 - share) * both
                found.append(y)
    return found
