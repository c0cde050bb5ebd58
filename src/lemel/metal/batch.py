"""Melting ranges of many alloys at once, for optimisers and maps.

The equations of `lemel.metal.bounds` solved for all rows together with numpy. A row
whose answer does not pass every test is handed to the scalar path, so the answers are
the same; there is a test that they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lemel.errors import BadInput
from lemel.metal.array_newton import dip_many, settle_many, slide_many, touch_many
from lemel.metal.arrays import Array, Index, Mask, PhaseMany, outlooks_many, potentials_many
from lemel.metal.bounds import PROBES_K, liquidus, solidus
from lemel.metal.gibbs import LIQUID, System, system_of
from lemel.metal.kelvin import to_k
from lemel.tables import Tables, shipped

__all__ = ["ManyMelting", "melting_many"]

_STABLE = -1e-9
_WIDEST = 0.72
_LEAN = 0.92
_OWN = 0.03
#: A slide that has not settled may be left out of account this far above the plane.
_UNSURE = 1e-3
_LEAST = 1e-12


@dataclass(frozen=True, slots=True)
class ManyMelting:
    """Liquidus and equilibrium solidus of each row, degC.

    `handed_over` is the number of rows that the scalar path had to solve.
    """

    liquidus_c: Array
    solidus_c: Array
    handed_over: int


def melting_many(
    elements: Sequence[str], mass_fractions: Array, *, tables: Tables | None = None
) -> ManyMelting:
    """Liquidus and solidus of each row of mass fractions over `elements`.

    The elements must be a system of the table `metal_system`; rows are normalised, and a
    share of zero counts as a trace too small to matter. Raises BadInput for other elements,
    for negative shares and for rows without metal.
    """
    tables = tables or shipped()
    order = np.argsort(np.array(list(elements)))
    names = tuple(sorted(elements))
    key = "-".join(names)
    if key not in tables.table("metal_system"):
        known = ", ".join(tables.table("metal_system"))
        raise BadInput("elements", list(elements), known, "Ask for one of these systems.")
    w = np.atleast_2d(np.asarray(mass_fractions, dtype=float))[:, order]
    if w.shape[1] != len(names) or not np.isfinite(w).all() or (w < 0).any():
        raise BadInput("mass_fractions", w.shape, "rows of shares of 0 or more", "Mend the rows.")
    if (w.sum(axis=1) <= 0).any():
        raise BadInput("mass_fractions", 0, "some metal in each row", "Mend the rows.")
    system = system_of(names, tuple(tables.row("metal_system", key).cells["phases"]), tables)
    x = w / np.array(system.molar_mass)
    x = np.maximum(x / x.sum(axis=1, keepdims=True), _LEAST)
    x = x / x.sum(axis=1, keepdims=True)
    return _Batch(system, x).run()


class _Batch:
    def __init__(self, system: System, x: Array) -> None:
        self.system, self.x = system, x

    def run(self) -> ManyMelting:
        x, count = self.x, len(self.x)
        top, name_at, sure = self._liquidus()
        bottom = np.full(count, np.nan)
        for k, solid in enumerate(self.system.solids):
            rows = np.flatnonzero(sure & (name_at == k))
            if len(rows):
                bottom[rows] = self._single_solidus(rows, solid, top[rows])
        rows = np.flatnonzero(sure & np.isnan(bottom))
        if len(rows) and x.shape[1] > 1:
            bottom[rows] = self._mixture_solidus(rows, top[rows])
        left = np.flatnonzero(~sure | np.isnan(bottom))
        for row in left:
            mix = [float(v) for v in x[row]]
            found = liquidus(self.system, mix)
            top[row] = found.temp_k
            bottom[row] = solidus(self.system, mix, found).temp_k
        bottom = np.minimum(bottom, top)
        zero = to_k(0.0)
        return ManyMelting(top - zero, bottom - zero, len(left))

    def _liquidus(self) -> tuple[Array, Index, Mask]:
        """Highest converged touch over solids and seeds; sure where it passes the test."""
        x, system = self.x, self.system
        count = len(x)
        start = x @ np.array(system.melts_k)
        top = np.full(count, -np.inf)
        name_at = np.zeros(count, dtype=np.int_)
        plane = potentials_many(system, LIQUID, start, x)
        for k, solid in enumerate(system.solids):
            phase = PhaseMany(system, solid, start)
            for seed in (x, *outlooks_many(system, solid, x, _LEAN)):
                y = slide_many(phase, plane, seed)
                temp_k, _, good = touch_many(system, (LIQUID, x), (solid, y), start)
                better = good & (temp_k > top)
                top = np.where(better, temp_k, top)
                name_at = np.where(better, k, name_at)
        found = np.isfinite(top)
        trial = np.where(found, top, start)
        plane = potentials_many(system, LIQUID, trial, x)
        sure = found & self._nothing_below(trial, plane, {}, x, system.solids)
        return trial, name_at, sure

    def _nothing_below(
        self, temp_k: Array, plane: Array, own: dict[str, list[Array]], x: Array,
        names: Sequence[str],
    ) -> Mask:  # fmt: skip
        """The tangent-plane test by rows; a row that cannot be decided does not pass."""
        good = np.ones(len(x), dtype=np.bool_)
        for name in names:
            phase = PhaseMany(self.system, name, temp_k)
            mine = own.get(name, [])
            seeds = [*([] if mine else [x]), *outlooks_many(self.system, name, x, _LEAN)]
            for seed in seeds:
                y = slide_many(phase, plane, seed)
                far = good.copy()
                for z in mine:
                    far &= np.abs(y - z).max(axis=1) >= _OWN
                rows = np.flatnonzero(far)
                if len(rows):
                    depth, settled = dip_many(phase.rows(rows), plane[rows], y[rows])
                    good[rows] = np.where(settled, depth > _STABLE, depth > _UNSURE)
        return good

    def _single_solidus(self, rows: Index, solid: str, top: Array) -> Array:
        x = self.x[rows]
        temp_k, melt, good = touch_many(self.system, (solid, x), (LIQUID, x), top)
        good &= (temp_k <= top + 1e-6) & (temp_k > _WIDEST * top)
        temp_k = np.where(good, temp_k, top)
        plane = potentials_many(self.system, solid, temp_k, x)
        good &= self._nothing_below(temp_k, plane, {solid: [x]}, x, self.system.solids)
        good &= self._no_colder_liquid(temp_k, solid, x, melt)
        return np.where(good, temp_k, np.nan)

    def _no_colder_liquid(self, temp_k: Array, solid: str, x: Array, melt: Array) -> Mask:
        """As `bounds._melts_colder`, turned round: a row that fails is solved as a mixture."""
        good = np.ones(len(x), dtype=np.bool_)
        if not outlooks_many(self.system, solid, x, _LEAN):
            return good
        for fall in PROBES_K:
            colder = temp_k - fall
            plane = potentials_many(self.system, solid, colder, x)
            depth, settled = dip_many(PhaseMany(self.system, LIQUID, colder), plane, melt)
            good &= settled & (depth > _STABLE)
        return good

    def _mixture_solidus(self, rows: Index, top: Array) -> Array:
        """Two unmixed solids and the first liquid, all unknowns at once."""
        system, x = self.system, self.x[rows]
        answer = np.full(len(rows), np.nan)
        mean = np.minimum(top, x @ np.array(system.melts_k))
        for solid in system.solids:
            pairs = outlooks_many(system, solid, x, _LEAN)
            for one, two in zip(pairs[::2], pairs[1::2], strict=True):
                for part in (0.88, 0.78, 0.95, 0.7):
                    todo = np.flatnonzero(np.isnan(answer))
                    if not len(todo):
                        return answer
                    answer[todo] = self._meet(
                        solid, x[todo], one[todo], two[todo], part * mean[todo], top[todo]
                    )
        return answer

    def _meet(
        self, solid: str, x: Array, one: Array, two: Array, start: Array, top: Array
    ) -> Array:
        system = self.system
        temp_k, xs, amounts, good = settle_many(system, solid, x, (one, two), start)
        good &= (amounts > -1e-9).all(axis=1) & (temp_k <= top + 1e-6) & (temp_k > 300)
        temp_k = np.where(good, temp_k, top)
        plane = potentials_many(system, solid, temp_k, xs[0])
        own = {solid: [xs[0], xs[1]], LIQUID: [xs[2]]}
        good &= self._nothing_below(temp_k, plane, own, x, tuple(system.phases))
        return np.where(good, temp_k, np.nan)
