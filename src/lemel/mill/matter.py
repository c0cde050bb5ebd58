"""The metal as the mill meets it: flow stress over strain, made once per alloy for arrays."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from lemel import metal
from lemel.metal import Working
from lemel.tables import Tables
from lemel.values import Composition, Temper

__all__ = ["Matter", "matter_of"]

#: Nodes of the stress curve: close where annealed metal yields, then every 0.01.
_STRAINS = np.concatenate([np.linspace(0, 0.1, 51)[:-1], np.linspace(0.1, 4.0, 391)])


@dataclass(frozen=True, slots=True, eq=False)
class Matter:
    """Hardening, density and the solidus values of one alloy.

    `work` is the integral of flow stress over strain (J/cm3 = MPa), node by node.
    """

    working: Working
    density_g_cm3: float
    solidus_c: float
    segregated_solidus_c: float
    stress: np.ndarray[Any, Any]
    work: np.ndarray[Any, Any]

    def stress_mpa(self, strain: Any) -> Any:
        """Flow stress at a strain since soft."""
        return np.interp(strain, _STRAINS, self.stress)

    def work_mpa(self, strain: Any) -> Any:
        """Plastic work per volume from soft to a strain, MPa (J/cm3)."""
        return np.interp(strain, _STRAINS, self.work)

    def mean_stress_mpa(self, strain_in: Any, strain_out: Any) -> Any:
        """Mean flow stress between two strains; the work over the step of strain."""
        step = np.maximum(strain_out - strain_in, 1e-6)
        return (self.work_mpa(strain_in + step) - self.work_mpa(strain_in)) / step

    def hv(self, strain: float) -> float:
        """Vickers hardness at a strain since soft."""
        return float(metal.hv_at(self.working, strain))

    def strain_of_hv(self, hv: float) -> float:
        """The strain since soft at which the metal has this hardness (infinite: never)."""
        w = self.working
        share = (hv - w.soft_hv) / (w.full_hv - w.soft_hv)
        if share >= 1:
            return math.inf
        return -w.strain_scale * math.log1p(-share) if share > 0 else 0.0

    def window(self, temper: Temper) -> tuple[float, float]:
        """A temper as a window of strain since soft."""
        if temper.kind == "hv":
            return self.strain_of_hv(temper.lo), self.strain_of_hv(temper.hi)
        return temper.lo, temper.hi

    def hardening_as(self, working: Working) -> Matter:
        """The same metal with a bench's own hardening figures."""
        return from_working(working, self.density_g_cm3, self.solidus_c, self.segregated_solidus_c)


def matter_of(body: Composition, tables: Tables | None = None) -> Matter:
    """The alloy as the metal room knows it."""
    return _made(body, tables)


@lru_cache(maxsize=64)
def _made(body: Composition, tables: Tables | None) -> Matter:
    working = metal.working(body, tables=tables)
    melting = metal.melting(body, tables=tables)
    density = metal.density_g_cm3(body, tables=tables)
    return from_working(working, density, melting.solidus_c, melting.segregated_solidus_c)


def from_working(
    working: Working, density_g_cm3: float, solidus_c: float, segregated_c: float
) -> Matter:
    """A matter from hardening figures alone (a supplier's, or a bench's own)."""
    stress = np.array([metal.flow_stress_mpa(working, float(e)) for e in _STRAINS])
    pieces = np.diff(_STRAINS) * (stress[1:] + stress[:-1]) / 2
    work = np.concatenate([[0.0], np.cumsum(pieces)])
    return Matter(working, density_g_cm3, solidus_c, segregated_c, stress, work)
