"""Gibbs energy of the phases of one alloy system, with everything that Newton's method asks.

A phase is a substitutional solution: end members by temperature, ideal mixing, and excess
terms in Redlich-Kister form, extended to three elements by Muggianu's rule. All values are
per mole of atoms, J and K; compositions are mole fractions in the order of the system's
elements. Sources: O. Redlich and A. T. Kister, Ind. Eng. Chem. 40 (1948) 345-348;
Y.-M. Muggianu, M. Gambino and J.-P. Bros, J. Chim. Phys. 72 (1975) 83-88.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

from lemel.errors import NotKnown
from lemel.metal.kelvin import to_k
from lemel.tables import Tables

__all__ = ["LIQUID", "Look", "PhaseAt", "System", "system_of"]

LIQUID = "liquid"

#: Coefficients of 1, T, T ln T, T^2, T^3, 1/T, T^7 and T^-9.
Coefficients = tuple[float, ...]
#: (i, j, ((a, b, c), ...)): L_v = a + b T + c T ln T between elements i and j.
PairTerms = tuple[int, int, tuple[tuple[float, float, float], ...]]


class Look(NamedTuple):
    """Chemical potentials at one composition and how they change.

    `mu[i]` J/mol; `slope[i][k]` is d mu_i / d ln x_k with the sum of x held at one;
    `mu_t[i]` is d mu_i / dT.
    """

    mu: list[float]
    slope: list[list[float]]
    mu_t: list[float]


class PhaseAt:
    """One phase at one temperature: end members and excess terms evaluated once."""

    __slots__ = ("d_ends", "ends", "gas_j_molk", "name", "pairs", "temp_k")

    def __init__(
        self,
        name: str,
        temp_k: float,
        gas_j_molk: float,
        ends: list[float],
        d_ends: list[float],
        pairs: list[tuple[int, int, list[float], list[float]]],
    ) -> None:
        self.name = name
        self.temp_k = temp_k
        self.gas_j_molk = gas_j_molk
        self.ends = ends
        self.d_ends = d_ends
        self.pairs = pairs

    def potentials(self, x: Sequence[float]) -> list[float]:
        """Chemical potential of each element, J/mol."""
        size = len(x)
        first = [0.0] * size
        excess = 0.0
        for i, j, terms, _ in self.pairs:
            xi, xj = x[i], x[j]
            d, p = xi - xj, xi * xj
            sum_, sum_1 = _value_and_slope(terms, d)
            excess += p * sum_
            first[i] += xj * sum_ + p * sum_1
            first[j] += xi * sum_ - p * sum_1
        base = excess
        for k in range(size):
            base -= x[k] * first[k]
        rt = self.gas_j_molk * self.temp_k
        ends, log = self.ends, math.log
        return [ends[k] + rt * log(x[k]) + base + first[k] for k in range(size)]

    def tilt(self, x: Sequence[float]) -> tuple[list[float], list[float]]:
        """Potentials and their temperature derivatives (minus the partial entropies)."""
        size = len(x)
        first, first_t = [0.0] * size, [0.0] * size
        excess = excess_t = 0.0
        for i, j, terms, terms_t in self.pairs:
            xi, xj = x[i], x[j]
            d, p = xi - xj, xi * xj
            s, s1 = _value_and_slope(terms, d)
            t, t1 = _value_and_slope(terms_t, d)
            excess += p * s
            excess_t += p * t
            first[i] += xj * s + p * s1
            first[j] += xi * s - p * s1
            first_t[i] += xj * t + p * t1
            first_t[j] += xi * t - p * t1
        gas = self.gas_j_molk
        rt = gas * self.temp_k
        for k in range(size):
            excess -= x[k] * first[k]
            excess_t -= x[k] * first_t[k]
        logs = [math.log(v) for v in x]
        mu = [self.ends[k] + rt * logs[k] + excess + first[k] for k in range(size)]
        mu_t = [self.d_ends[k] + gas * logs[k] + excess_t + first_t[k] for k in range(size)]
        return mu, mu_t

    def look(self, x: Sequence[float]) -> Look:
        """Potentials with their derivatives: what one Newton step needs."""
        size = len(x)
        span = range(size)
        first, first_t = [0.0] * size, [0.0] * size
        second = [[0.0] * size for _ in span]
        excess = excess_t = 0.0
        for i, j, terms, terms_t in self.pairs:
            xi, xj = x[i], x[j]
            d, p = xi - xj, xi * xj
            s, s1, s2 = _value_and_slopes(terms, d)
            excess += p * s
            first[i] += xj * s + p * s1
            first[j] += xi * s - p * s1
            second[i][i] += 2 * xj * s1 + p * s2
            second[j][j] += p * s2 - 2 * xi * s1
            cross = s + d * s1 - p * s2
            second[i][j] += cross
            second[j][i] += cross
            t, t1 = _value_and_slope(terms_t, d)
            excess_t += p * t
            first_t[i] += xj * t + p * t1
            first_t[j] += xi * t - p * t1
        base, base_t = excess, excess_t
        for k in span:
            base -= x[k] * first[k]
            base_t -= x[k] * first_t[k]
        gas = self.gas_j_molk
        rt = gas * self.temp_k
        logs = [math.log(v) for v in x]
        ends, d_ends = self.ends, self.d_ends
        mu = [ends[k] + rt * logs[k] + base + first[k] for k in span]
        mu_t = [d_ends[k] + gas * logs[k] + base_t + first_t[k] for k in span]
        return Look(mu, _log_slopes(x, second, rt), mu_t)

    def repulsions(self) -> list[tuple[int, int, float]]:
        """Pairs of elements with their leading excess term, J/mol, the strongest first."""
        return sorted(((i, j, terms[0]) for i, j, terms, _ in self.pairs), key=lambda p: -p[2])

    def energy(self, x: Sequence[float]) -> float:
        """Gibbs energy, J/mol of atoms."""
        mu = self.potentials(x)
        return sum(x[k] * mu[k] for k in range(len(x)))

    def enthalpy(self, x: Sequence[float]) -> float:
        """H = G - T dG/dT, J/mol of atoms."""
        look = self.look(x)
        temp = self.temp_k
        return sum(x[k] * (look.mu[k] - temp * look.mu_t[k]) for k in range(len(x)))


def _log_slopes(x: Sequence[float], second: list[list[float]], rt: float) -> list[list[float]]:
    """d mu_i / d ln x_k along the sum of one: the ideal part is RT (1 if i = k) - RT x_k."""
    span = range(len(x))
    rows_x = [sum(row[k] * x[k] for k in span) for row in second]
    total = sum(x[k] * rows_x[k] for k in span)
    slopes = []
    for i in span:
        row, mean = second[i], rows_x[i] - total
        line = [x[k] * (row[k] - rows_x[k] - mean - rt) for k in span]
        line[i] += rt
        slopes.append(line)
    return slopes


def _value_and_slope(terms: Sequence[float], d: float) -> tuple[float, float]:
    value = slope = 0.0
    for term in reversed(terms):
        slope = slope * d + value
        value = value * d + term
    return value, slope


def _value_and_slopes(terms: Sequence[float], d: float) -> tuple[float, float, float]:
    value = slope = bend = 0.0
    for term in reversed(terms):
        bend = bend * d + slope
        slope = slope * d + value
        value = value * d + term
    return value, slope, 2 * bend


class Phase:
    """One phase at any temperature."""

    __slots__ = ("branches", "name", "pairs")

    def __init__(
        self,
        name: str,
        branches: Sequence[Sequence[tuple[float, Coefficients]]],
        pairs: Sequence[PairTerms],
    ) -> None:
        self.name = name
        self.branches = branches
        self.pairs = pairs

    def at(self, temp_k: float, gas_j_molk: float) -> PhaseAt:
        """The phase with its coefficients worked out at one temperature."""
        log_t = math.log(temp_k)
        t2 = temp_k * temp_k
        t3, t6 = t2 * temp_k, t2 * t2 * t2
        t_log = temp_k * log_t
        t7, t_9 = t6 * temp_k, 1.0 / (t6 * t3)
        ends, d_ends = [], []
        for pieces in self.branches:
            c = next((c for below_k, c in pieces if temp_k < below_k), pieces[-1][1])
            ends.append(
                c[0] + c[1] * temp_k + c[2] * t_log + c[3] * t2 + c[4] * t3 + c[5] / temp_k
                + c[6] * t7 + c[7] * t_9
            )  # fmt: skip
            d_ends.append(
                c[1] + c[2] * (1 + log_t) + 2 * c[3] * temp_k + 3 * c[4] * t2 - c[5] / t2
                + 7 * c[6] * t6 - 9 * c[7] * t_9 / temp_k
            )  # fmt: skip
        pairs = [
            (
                i,
                j,
                [a + b * temp_k + e * t_log for a, b, e in terms],
                [b + e * (1 + log_t) for _, b, e in terms],
            )
            for i, j, terms in self.pairs
        ]
        return PhaseAt(self.name, temp_k, gas_j_molk, ends, d_ends, pairs)


class System:
    """The phases that these elements can form, ready to be asked at any temperature.

    `solids` excludes the liquid. `molar_mass` g/mol and `melts_k` are in the order of
    `elements`; `melts_k` are starting values for the solver, never answers.
    """

    __slots__ = ("elements", "gas_j_molk", "melts_k", "molar_mass", "phases", "solids")

    def __init__(
        self,
        elements: tuple[str, ...],
        phases: Mapping[str, Phase],
        gas_j_molk: float,
        molar_mass: tuple[float, ...],
        melts_k: tuple[float, ...],
    ) -> None:
        self.elements = elements
        self.phases = dict(phases)
        self.solids = tuple(name for name in phases if name != LIQUID)
        self.gas_j_molk = gas_j_molk
        self.molar_mass = molar_mass
        self.melts_k = melts_k

    def at(self, temp_k: float) -> dict[str, PhaseAt]:
        """Every phase at one temperature."""
        return {name: phase.at(temp_k, self.gas_j_molk) for name, phase in self.phases.items()}

    def phase(self, name: str, temp_k: float) -> PhaseAt:
        """One phase at one temperature."""
        return self.phases[name].at(temp_k, self.gas_j_molk)


@lru_cache(maxsize=64)
def system_of(elements: tuple[str, ...], phases: tuple[str, ...], tables: Tables) -> System:
    """Build a system from the tables `metal_unary` and `metal_excess`; NotKnown if a row lacks."""
    built = {}
    for phase in phases:
        branches = []
        for element in elements:
            row = tables.row("metal_unary", f"{element}.{phase}")
            branches.append(
                tuple((p["below_k"], tuple(p["coefficients"])) for p in row.cells["branches"])
            )
        built[phase] = Phase(phase, branches, _pairs(elements, phase, tables))
    element_rows = [tables.row("metal_element", element) for element in elements]
    return System(
        elements,
        built,
        tables.row("metal_constant", "gas_j_molk").number("value"),
        tuple(row.number("molar_mass_g") for row in element_rows),
        tuple(to_k(row.number("melts_c")) for row in element_rows),
    )


def _pairs(elements: tuple[str, ...], phase: str, tables: Tables) -> list[PairTerms]:
    rows = tables.table("metal_excess")
    found: list[PairTerms] = []
    for i, first in enumerate(elements):
        for second in elements[i + 1 :]:
            row = rows.get(f"{first}-{second}.{phase}")
            if row is None:
                raise NotKnown(
                    f"the mixing of {first} and {second} in the {phase}",
                    "no parameters are in the tables",
                    "Use a supplier's sheet for this alloy.",
                )
            found.append((i, elements.index(second), tuple(tuple(t) for t in row.cells["terms"])))
    return found
