"""What the metal room answers."""

from __future__ import annotations

import bisect
from dataclasses import dataclass

from lemel.values import Composition, Saying

__all__ = [
    "Freezing", "HeatCurve", "HeatLimits", "LiquidData", "Melting", "PhaseShare", "SectionData",
    "Working",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Melting:
    """Melting range of one alloy.

    `solidus_c` is at equilibrium (worked, homogenised metal); `segregated_solidus_c` holds
    for metal as cast. `band_k` is how far off the figures may be either way; `grade` A to C
    as in the tables; `model` the parameter set, sheet or neighbour that answered.
    """

    liquidus_c: float
    solidus_c: float
    segregated_solidus_c: float
    band_k: float
    grade: str
    model: str
    sources: tuple[str, ...]
    notes: tuple[Saying, ...] = ()
    solidus_margin_k: float = 0.0

    @property
    def freezing_range_k(self) -> float:
        """Liquidus minus equilibrium solidus."""
        return self.liquidus_c - self.solidus_c

    @property
    def safe_solidus_c(self) -> float:
        """The solidus to hold a joint or an anneal under: lower where the model is known to
        come out high (solders with zinc)."""
        return self.solidus_c - self.solidus_margin_k


@dataclass(frozen=True, slots=True)
class PhaseShare:
    """One phase in equilibrium: its mass share and what it is made of."""

    name: str
    share: float
    composition: Composition


@dataclass(frozen=True, slots=True)
class HeatCurve:
    """Specific enthalpy over temperature, from 20 degC, as a fine table for simulators.

    Ascending in both; where the metal melts at one temperature the curve has a short steep
    step. `liquid` is the liquid mass share. Made once per alloy, then cheap to ask.
    """

    temps_c: tuple[float, ...]
    enthalpy_j_g: tuple[float, ...]
    liquid: tuple[float, ...]

    def enthalpy_at(self, temp_c: float) -> float:
        """J/g above 20 degC; linear between nodes, extended at the ends."""
        return _between(self.temps_c, self.enthalpy_j_g, temp_c)

    def temp_at(self, enthalpy_j_g: float) -> float:
        """The inverse of `enthalpy_at`."""
        return _between(self.enthalpy_j_g, self.temps_c, enthalpy_j_g)

    def liquid_at(self, enthalpy_j_g: float) -> float:
        """Liquid mass share at an enthalpy, 0 to 1."""
        share = _between(self.enthalpy_j_g, self.liquid, enthalpy_j_g)
        return min(1.0, max(0.0, share))


def _between(xs: tuple[float, ...], ys: tuple[float, ...], x: float) -> float:
    i = min(max(bisect.bisect_right(xs, x), 1), len(xs) - 1)
    x0, x1, y0, y1 = xs[i - 1], xs[i], ys[i - 1], ys[i]
    return y0 if x1 == x0 else y0 + (y1 - y0) * (x - x0) / (x1 - x0)


@dataclass(frozen=True, slots=True)
class Working:
    """How an alloy hardens and softens.

    HV(strain) = soft_hv + (full_hv - soft_hv) (1 - exp(-strain / strain_scale)).
    `strain_most` is the safe strain between anneals, `cast_strain_most` that of the first
    leg on metal as cast, `anneal_strain_least` the least work before an anneal pays.
    `anneal_c` is (lo, hi); `anneal_sign`, `cooling` are codes of the catalogue.
    """

    family: str
    soft_hv: float
    full_hv: float
    strain_scale: float
    strain_most: float
    cast_strain_most: float
    anneal_strain_least: float
    anneal_c: tuple[float, float]
    anneal_sign: str
    cooling: str
    confidence: str
    sources: tuple[str, ...]
    notes: tuple[Saying, ...] = ()


@dataclass(frozen=True, slots=True)
class Freezing:
    """A casting's way from liquid to solid: shares still liquid (mass, moles) and temperatures.

    `last_liquid` is what freezes last. `together_share`: liquid mass share at which two
    solids began to freeze side by side; `eutectic_share`: what froze all at once at the end.
    None where neither happens.
    """

    temps_c: tuple[float, ...]
    liquid: tuple[float, ...]
    liquid_moles: tuple[float, ...]
    last_liquid: Composition
    together_share: float | None
    eutectic_share: float | None


@dataclass(frozen=True, slots=True)
class LiquidData:
    """Liquid mass share over temperature: at equilibrium, and as castings freeze."""

    temps_c: tuple[float, ...]
    equilibrium: tuple[float, ...]
    segregated: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class SectionData:
    """A section through a phase diagram and the point of one alloy on it.

    `shares` are millesimal of the element `along`, which takes the place of `against`; the
    elements in `fixed` stay. Temperatures degC.
    """

    along: str
    against: str
    shares: tuple[float, ...]
    liquidus_c: tuple[float, ...]
    solidus_c: tuple[float, ...]
    segregated_c: tuple[float, ...]
    here: float
    here_liquidus_c: float
    here_solidus_c: float
    fixed: tuple[tuple[str, float], ...]
    band_k: float
    grade: str


@dataclass(frozen=True, slots=True)
class HeatLimits:
    """How hot the solid metal may become, degC.

    `worked_c` for rolled and annealed metal, `cast_c` for the first anneal of metal as cast
    (its last liquid froze lower); `hot_short_from_c`: from here up liquid films may lie
    between the grains: do not move, bend or quench it; contaminants lower it.
    """

    worked_c: float
    cast_c: float
    hot_short_from_c: float
    notes: tuple[Saying, ...] = ()
