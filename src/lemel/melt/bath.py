"""The charge's heat curve, made ready for simulators: temperature and liquid by enthalpy."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass

from lemel import metal
from lemel.tables import Tables
from lemel.values import Composition

__all__ = ["Bath", "bath_of", "heat_to_pour_j"]


@dataclass(frozen=True, slots=True)
class Bath:
    """One alloy's heat curve, far beyond any melt at both ends; enthalpy rises strictly.

    `liquid_j_gk` is the liquid's heat capacity.
    """

    temps_c: tuple[float, ...]
    enthalpy_j_g: tuple[float, ...]
    liquid: tuple[float, ...]
    solidus_c: float
    liquidus_c: float
    liquid_j_gk: float

    def lookup(self) -> Callable[[float], tuple[float, float]]:
        """A function from enthalpy (J/g) to (degC, liquid share).

        Beyond the ends it goes on like the last piece.
        """
        hs, pieces = self.enthalpy_j_g, self._pieces()

        def at(enthalpy_j_g: float) -> tuple[float, float]:
            # Below the first node the place is -1: the piece kept last is made for that.
            h0, temp_c, slope, share, gain = pieces[bisect_right(hs, enthalpy_j_g) - 1]
            beyond = enthalpy_j_g - h0
            return temp_c + slope * beyond, share + gain * beyond

        return at

    def _pieces(self) -> tuple[tuple[float, float, float, float, float], ...]:
        """For each node: enthalpy, degC, K per J/g, liquid share, share per J/g."""
        hs, ts, fs = self.enthalpy_j_g, self.temps_c, self.liquid
        made = []
        for i in range(len(hs)):
            j = min(i, len(hs) - 2)
            span = hs[j + 1] - hs[j]
            made.append(
                (hs[i], ts[i], (ts[j + 1] - ts[j]) / span, fs[i], (fs[j + 1] - fs[j]) / span)
            )
        return (*made, made[0])

    def enthalpy_at(self, temp_c: float) -> float:
        """J/g at a temperature; at a single melting point the solid end."""
        ts, hs = self.temps_c, self.enthalpy_j_g
        i = min(max(bisect_right(ts, temp_c), 1), len(ts) - 1)
        t0, t1, h0, h1 = ts[i - 1], ts[i], hs[i - 1], hs[i]
        return h0 if t1 == t0 else h0 + (h1 - h0) * (temp_c - t0) / (t1 - t0)


def bath_of(body: Composition, tables: Tables | None = None) -> Bath:
    """The heat curve of a body from the metal room; enthalpy rises strictly."""
    curve = metal.heat_curve(body, tables=tables)
    melting = metal.melting(body, tables=tables)
    # Arrays clamp at their ends, plain floats extend: end nodes far out make both agree.
    ends = (min(-60.0, curve.temps_c[0] - 1), max(1700.0, curve.temps_c[-1] + 1))
    temps = [ends[0], *curve.temps_c, ends[1]]
    heat = [curve.enthalpy_at(ends[0]), *curve.enthalpy_j_g, curve.enthalpy_at(ends[1])]
    liquid = [curve.liquid[0], *curve.liquid, curve.liquid[-1]]
    kept = [0]
    for i in range(1, len(temps)):
        if heat[i] > heat[kept[-1]]:
            kept.append(i)
    hot = melting.liquidus_c + 20
    slope = (curve.enthalpy_at(hot + 40) - curve.enthalpy_at(hot)) / 40
    return Bath(
        tuple(temps[i] for i in kept),
        tuple(heat[i] for i in kept),
        tuple(min(1.0, max(0.0, liquid[i])) for i in kept),
        melting.solidus_c,
        melting.liquidus_c,
        slope,
    )


def heat_to_pour_j(
    mass_g: float,
    *,
    solid_j_gk: float,
    rise_k: float,
    fusion_j_g: float,
    liquid_j_gk: float = 0.0,
    over_k: float = 0.0,
) -> float:
    """Heat to warm, melt and superheat a mass with constant heat capacities, J.

    For hand checks; heats are computed from the metal room's curve. Source: any textbook, e.g.
    Groover, chapter 10. 5 kg of copper from 956 to 1356 K, melted (printed 1.85 MJ):

    >>> heat_to_pour_j(5000, solid_j_gk=0.4, rise_k=400, fusion_j_g=210)
    1850000.0
    """
    return mass_g * (solid_j_gk * rise_k + fusion_j_g + liquid_j_gk * over_k)
