"""One batch of linear evidence with normal errors, some shared: the posterior in full.

Each lot's metal has a true share theta. Evidence j on lot i is

    value_j = theta_i + loads_j . z + e_j,     e_j ~ N(0, var_j),   z ~ N(0, 1) each

with the shared errors z (classes, methods, instrument-days) in units of their own spread.
Given z the lots are independent, so each lot is first read relative to z (a weighted
mean), z is learnt from what is left over within the lots, and heats, which tie lots
together, come last. That is the same as the gain form K = S H' (H S H' + R)^-1 of
R. E. Kalman, "A new approach to linear filtering and prediction problems", 1960, with
all rows at once and no prior where a statement takes its place. The order of rows and
lots does not matter.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lemel.errors import Broken

__all__ = ["Derived", "PartRow", "Posterior", "Root", "WholeRow", "fuse"]

Array = NDArray[np.float64]
#: Factors that add less than this (mass fraction) to any lot's sd are dropped.
LEAST_FACTOR_SD = 1e-11
#: Correlations below this are rounding.
NO_CORRELATION = 1e-13


@dataclass(frozen=True, slots=True)
class Root:
    """A lot that is believed by its own evidence.

    `wide` is (mean, sd) of what is believed with no evidence at all; None where a
    statement sets the prior. whole = keep * part + add + error of variance `extra_var`:
    what solder does to the metal beside it.
    """

    id: str
    wide: tuple[float, float] | None
    keep: float = 1.0
    add: float = 0.0
    extra_var: float = 0.0


@dataclass(frozen=True, slots=True)
class PartRow:
    """Evidence about one lot's metal beside its solder."""

    id: str
    lot: str
    value: float
    var: float
    loads: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class WholeRow:
    """Evidence about a sum of whole lots: sum(weight * whole) + loads . z + e = value."""

    id: str
    on: tuple[tuple[str, float], ...]
    value: float
    var: float
    loads: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Derived:
    """A body that is a sum of whole lots and a constant: a bar of a heat."""

    id: str
    on: tuple[tuple[str, float], ...]
    constant: float


class _Lots:
    """What each lot's own evidence says relative to the shared errors z."""

    def __init__(self, roots: Sequence[Root], rows: Sequence[PartRow], factors: list[str]) -> None:
        index = {root.id: i for i, root in enumerate(roots)}
        pseudo = [
            PartRow(root.id, root.id, root.wide[0], root.wide[1] ** 2, {})
            for root in roots
            if root.wide is not None
        ]
        every = [*rows, *pseudo]
        self.given = len(rows)
        self.at = np.array([index[row.lot] for row in every], dtype=np.intp)
        self.value = np.array([row.value for row in every])
        self.info = 1 / np.array([row.var for row in every])
        self.loads = _matrix([row.loads for row in every], factors)
        n = len(roots)
        total = np.bincount(self.at, self.info, n)
        if np.any(total <= 0):
            raise Broken("a lot without evidence reached the fusion")
        self.part_var = 1 / total
        self.part = np.bincount(self.at, self.info * self.value, n) * self.part_var
        lean = np.zeros((n, len(factors)))
        np.add.at(lean, self.at, self.info[:, None] * self.loads)
        self.lean = lean * self.part_var[:, None]
        self.keep = np.array([root.keep for root in roots])
        extra = np.array([root.extra_var for root in roots])
        self.whole = self.keep * self.part + np.array([root.add for root in roots])
        self.whole_lean = self.keep[:, None] * self.lean
        self.own_var = self.keep**2 * self.part_var + extra
        self.own_sd = np.sqrt(self.own_var)

    def about_z(self) -> tuple[Array, Array]:
        """Information matrix and vector of z from what disagrees within lots."""
        apart = self.loads - self.lean[self.at]
        off = self.value - self.part[self.at]
        weighted = apart * self.info[:, None]
        return np.eye(apart.shape[1]) + weighted.T @ apart, weighted.T @ off


@dataclass(frozen=True, slots=True)
class Posterior:
    """Everything believed: lots = whole - whole_lean z + own_sd eta, with (eta of `tied`, z)
    jointly normal of mean `mean` and covariance `cov`; eta of the other lots is N(0, 1)."""

    ids: tuple[str, ...]
    factors: tuple[str, ...]
    lots: _Lots
    tied: tuple[int, ...]
    slack: Array
    mean: Array
    cov: Array
    part_rows: tuple[PartRow, ...]
    whole_rows: tuple[WholeRow, ...]
    derived: tuple[Derived, ...]

    def whole_vectors(self) -> Array:
        """Rows: each lot's whole as a sum over (eta of tied, z)."""
        rows = np.zeros((len(self.ids), len(self.mean)))
        for column, i in enumerate(self.tied):
            rows[i, column] = self.lots.own_sd[i]
        rows[:, len(self.tied) :] = -self.lots.whole_lean
        return rows

    def means(self) -> dict[str, float]:
        """Mean share by lot and by derived body."""
        whole = self.lots.whole + self.whole_vectors() @ self.mean
        found = {name: float(m) for name, m in zip(self.ids, whole, strict=True)}
        for body in self.derived:
            found[body.id] = body.constant + sum(w * found[lot] for lot, w in body.on)
        return found

    def split(self) -> tuple[dict[str, float], dict[str, Array]]:
        """Own sd and loadings by body, so that covariance = diag(own^2) + L L^T exactly.

        Tied lots keep the share `slack` of their own variance that no heat took away;
        the rest goes into the factors.
        """
        tied = len(self.tied)
        rest = self.cov.copy()
        rest[np.arange(tied), np.arange(tied)] -= self.slack
        values, vectors = np.linalg.eigh((rest + rest.T) / 2)
        root = vectors * np.sqrt(np.clip(values, 0.0, None))
        loading = self.whole_vectors() @ root
        own = self.lots.own_sd.copy()
        own[list(self.tied)] *= np.sqrt(self.slack)
        index = {name: i for i, name in enumerate(self.ids)}
        below = [_combine(body.on, index, loading) for body in self.derived]
        names = [*self.ids, *(body.id for body in self.derived)]
        own, loading = _alone_to_own(
            np.concatenate([own, np.zeros(len(below))]), np.vstack([loading, *below])
        )
        factors = _few(loading)
        own_by = {name: float(sd) for name, sd in zip(names, own, strict=True)}
        return own_by, {name: factors[i] for i, name in enumerate(names)}

    def part_evidence(self) -> tuple[Array, Array, Array]:
        """Of each part row: mean and variance of what it measures, and its vector."""
        at, loads = self.lots.at[: self.lots.given], self.lots.loads[: self.lots.given]
        vectors = np.zeros((len(at), len(self.mean)))
        vectors[:, len(self.tied) :] = loads - self.lots.lean[at]
        spare = self.lots.part_var[at].copy()
        column = {i: c for c, i in enumerate(self.tied)}
        for row, i in enumerate(at):
            if int(i) in column:
                seen = self.lots.keep[i] * self.lots.part_var[i] / self.lots.own_sd[i]
                vectors[row, column[int(i)]] = seen
                spare[row] -= seen**2
        mean = self.lots.part[at] + vectors @ self.mean
        return mean, np.clip(spare, 0, None) + self._quadratic(vectors), vectors

    def part_beliefs(self) -> dict[str, tuple[float, float]]:
        """Mean and sd of each lot's metal beside its solder."""
        vectors = np.zeros((len(self.ids), len(self.mean)))
        vectors[:, len(self.tied) :] = -self.lots.lean
        spare = self.lots.part_var.copy()
        for column, i in enumerate(self.tied):
            seen = self.lots.keep[i] * self.lots.part_var[i] / self.lots.own_sd[i]
            vectors[i, column] = seen
            spare[i] -= seen**2
        mean = self.lots.part + vectors @ self.mean
        sd = np.sqrt(np.clip(spare, 0, None) + self._quadratic(vectors))
        return {name: (float(mean[i]), float(sd[i])) for i, name in enumerate(self.ids)}

    def whole_evidence(self) -> tuple[Array, Array, Array]:
        """Of each whole row: mean and variance of what it measures, and its vector."""
        vectors, constant = self.row_vectors(self.whole_rows)
        return constant + vectors @ self.mean, self._quadratic(vectors), vectors

    def row_vectors(self, rows: Sequence[WholeRow]) -> tuple[Array, Array]:
        """Vectors over (eta of tied, z) and constants of rows about tied lots."""
        return _row_vectors(rows, self.ids, self.lots, self.tied, list(self.factors))

    def whole_part_covariance(self, vectors: Array) -> Array:
        """Covariance of each part row's quantity with its own lot's whole."""
        at = self.lots.at[: self.lots.given]
        whole = self.whole_vectors()[at]
        shared: Array = np.sum((vectors @ self.cov) * whole, axis=1)
        loose = np.isin(at, self.tied, invert=True)
        alone: Array = loose * self.lots.keep[at] * self.lots.part_var[at]
        return shared + alone

    def _quadratic(self, vectors: Array) -> Array:
        found: Array = np.sum((vectors @ self.cov) * vectors, axis=1)
        return found


def fuse(
    roots: Sequence[Root],
    part_rows: Sequence[PartRow],
    whole_rows: Sequence[WholeRow] = (),
    derived: Sequence[Derived] = (),
) -> Posterior:
    """The posterior of all lots from all rows in one batch. Rows must be sorted by the caller."""
    every: list[PartRow | WholeRow] = [*part_rows, *whole_rows]
    factors = sorted({factor for row in every for factor in row.loads})
    lots = _Lots(roots, part_rows, factors)
    ids = tuple(root.id for root in roots)
    index = {name: i for i, name in enumerate(ids)}
    sums = [row.on for row in whole_rows] + [body.on for body in derived]
    tied = tuple(sorted({index[lot] for on in sums for lot, _ in on}))
    info_z, push_z = lots.about_z()
    vectors, constant = _row_vectors(whole_rows, ids, lots, tied, factors)
    weight = np.array([1 / row.var for row in whole_rows])
    off = np.array([row.value for row in whole_rows]) - constant
    size = len(tied)
    info = np.eye(size + len(factors))
    info[size:, size:] = info_z
    push = np.concatenate([np.zeros(size), push_z])
    if whole_rows:
        info += (vectors * weight[:, None]).T @ vectors
        push += vectors.T @ (weight * off)
    cov = np.linalg.inv(info)
    cov = (cov + cov.T) / 2
    own_part = vectors[:, :size]
    bound = {index[lot] for body in derived for lot, _ in body.on}
    slack = _slack(own_part, weight, tied, bound)
    return Posterior(
        ids, tuple(factors), lots, tied, slack, cov @ push, cov,
        tuple(part_rows), tuple(whole_rows), tuple(derived),
    )  # fmt: skip


def _slack(own: Array, weight: Array, tied: tuple[int, ...], bound: set[int]) -> Array:
    """Share of each tied lot's own variance that can stay its own.

    Given z, heats leave the tied lots the covariance (I + own' w own)^-1; the largest
    multiple of I below it, group by group of heats that touch, is 1 / (1 + greatest
    eigenvalue). Lots with derived bodies keep nothing, since the body shares it.
    """
    slack = np.ones(len(tied))
    weighted = (own * weight[:, None]).T @ own
    for group in _groups(own):
        least = 1 / (1 + float(np.linalg.eigvalsh(weighted[np.ix_(group, group)])[-1]))
        slack[group] = least * (1 - 1e-12)
    slack[[column for column, i in enumerate(tied) if i in bound]] = 0.0
    return slack


def _groups(own: Array) -> list[list[int]]:
    """Columns that are tied by common rows."""
    parent = list(range(own.shape[1]))

    def root(i: int) -> int:
        while parent[i] != i:
            i = parent[i]
        return i

    for row in own:
        touched = [int(i) for i in np.flatnonzero(row)]
        for i in touched[1:]:
            parent[root(i)] = root(touched[0])
    found: dict[int, list[int]] = {}
    for i in range(len(parent)):
        found.setdefault(root(i), []).append(i)
    return list(found.values())


def _row_vectors(
    rows: Sequence[WholeRow],
    ids: tuple[str, ...],
    lots: _Lots,
    tied: tuple[int, ...],
    factors: list[str],
) -> tuple[Array, Array]:
    index = {name: i for i, name in enumerate(ids)}
    column = {i: c for c, i in enumerate(tied)}
    vectors = np.zeros((len(rows), len(tied) + len(factors)))
    vectors[:, len(tied) :] = _matrix([row.loads for row in rows], factors)
    constant = np.zeros(len(rows))
    for r, row in enumerate(rows):
        for lot, amount in row.on:
            i = index[lot]
            vectors[r, column[i]] += amount * lots.own_sd[i]
            vectors[r, len(tied) :] -= amount * lots.whole_lean[i]
            constant[r] += amount * lots.whole[i]
    return vectors, constant


def _combine(on: tuple[tuple[str, float], ...], index: Mapping[str, int], rows: Array) -> Array:
    total = np.zeros(rows.shape[1])
    for lot, amount in on:
        total += amount * rows[index[lot]]
    return total


def _alone_to_own(own: Array, loading: Array) -> tuple[Array, Array]:
    """Shared errors that only one body feels become its own."""
    cov = loading @ loading.T
    sd = np.sqrt(np.diag(cov))
    apart = np.abs(cov) - NO_CORRELATION * np.outer(sd, sd)
    np.fill_diagonal(apart, -1.0)
    alone: NDArray[np.bool_] = np.all(apart <= 0, axis=1)
    own = np.where(alone, np.sqrt(own**2 + sd**2), own)
    return own, np.where(alone[:, None], 0.0, loading)


def _few(loading: Array) -> Array:
    """The same L L^T in as few columns as there are directions, signs fixed."""
    if not loading.size:
        return np.zeros((loading.shape[0], 0))
    left, size, _ = np.linalg.svd(loading, full_matrices=False)
    kept = size > max(LEAST_FACTOR_SD, 1e-13 * float(size[0]))
    scaled: Array = left[:, kept] * size[kept]
    for column in range(scaled.shape[1]):
        if scaled[np.argmax(np.abs(scaled[:, column])), column] < 0:
            scaled[:, column] *= -1
    return scaled


def _matrix(loads: Sequence[Mapping[str, float]], factors: list[str]) -> Array:
    at = {name: k for k, name in enumerate(factors)}
    found = np.zeros((len(loads), len(factors)))
    for r, row in enumerate(loads):
        for name, load in row.items():
            found[r, at[name]] += load
    return found
