"""Curves for drawings: a section through the system, and liquid share over temperature."""

from __future__ import annotations

import bisect
from typing import NamedTuple

from lemel.metal.faces import Freezing, LiquidData, SectionData
from lemel.metal.kelvin import to_c
from lemel.metal.model import model_of
from lemel.metal.ranges import liquid_fraction, melting, range_of
from lemel.metal.segregation import freeze_segregated
from lemel.tables import Tables, shipped
from lemel.values import Composition

__all__ = ["freezing", "liquid_fraction_data", "section_data"]


def freezing(body: Composition, *, steps: int = 60, tables: Tables | None = None) -> Freezing:
    """How a casting freezes if nothing evens out in the solid (Gulliver-Scheil).

    `liquid` is the mass share still liquid at each temperature, from 1 downwards;
    `together_share` what was left when two solids began to freeze side by side (None:
    never); `eutectic_share` what froze at the last temperature all at once.
    """
    tables = tables or shipped()
    model, span = model_of(body, tables), range_of(body, tables)
    path = freeze_segregated(model.system, model.x, span.top, steps=steps)
    masses = model.system.molar_mass
    whole = sum(v * m for v, m in zip(model.x, masses, strict=True))
    temps, liquid, moles = [], [], []
    for entry in path:
        mean = sum(v * m for v, m in zip(entry.x, masses, strict=True))
        temps.append(to_c(span.to_real_k(entry.temp_k)))
        liquid.append(entry.liquid * mean / whole)
        moles.append(entry.liquid)
    together = [i for i, entry in enumerate(path) if entry.together]
    last = path[-1]
    return Freezing(
        temps_c=tuple(temps),
        liquid=tuple(liquid),
        liquid_moles=tuple(moles),
        last_liquid=Composition.of(
            {e: v * m for e, v, m in zip(model.system.elements, last.x, masses, strict=True)}
        ),
        together_share=liquid[together[0]] if together else None,
        eutectic_share=liquid[-2] if last.liquid == 0 and len(path) > 2 else None,
    )


def liquid_fraction_data(
    body: Composition, *, points: int = 60, tables: Tables | None = None
) -> LiquidData:
    """Liquid mass share over temperature, at equilibrium and segregated, for a plot."""
    tables = tables or shipped()
    range_ = melting(body, tables=tables)
    cast = freezing(body, tables=tables)
    low = min(range_.segregated_solidus_c, range_.solidus_c) - 10
    high = range_.liquidus_c + 10
    temps = [low + (high - low) * n / (points - 1) for n in range(points)]
    temps = sorted({*temps, range_.solidus_c, range_.liquidus_c})
    rising = list(zip(reversed(cast.temps_c), reversed(cast.liquid), strict=True))
    return LiquidData(
        temps_c=tuple(temps),
        equilibrium=tuple(liquid_fraction(body, t, tables=tables) for t in temps),
        segregated=tuple(_share_at(rising, t) for t in temps),
    )


def _share_at(rising: list[tuple[float, float]], temp_c: float) -> float:
    """Linear between the moments of freezing; nothing below the last, all above the first."""
    temps = [t for t, _ in rising]
    i = bisect.bisect_right(temps, temp_c)
    if i == 0:
        return 0.0
    if i == len(rising):
        return 1.0
    (t0, f0), (t1, f1) = rising[i - 1], rising[i]
    return f1 if t1 == t0 else f0 + (f1 - f0) * (temp_c - t0) / (t1 - t0)


class _Axis(NamedTuple):
    """Which two elements trade places along the section, and what stays."""

    one: str
    two: str
    both: float
    fixed: dict[str, float]

    def body(self, share_of_two: float) -> Composition:
        parts = dict(self.fixed)
        parts[self.one] = self.both - share_of_two
        parts[self.two] = share_of_two
        return Composition.of({e: v for e, v in parts.items() if v > 1e-12})


def _axis(body: Composition) -> _Axis:
    """Two elements: the whole diagram. More: the main one stays, the two next trade."""
    parts = body.as_dict()
    if len(parts) == 1:
        main = body.main()
        other = "Ag" if main == "Cu" else "Cu"
        return _Axis(main, other, 1.0, {})
    if len(parts) == 2:
        main = body.main()
        other = next(e for e in parts if e != main)
        return _Axis(main, other, 1.0, {})
    main = body.main()
    one, two = sorted((e for e in parts if e != main), key=lambda e: -parts[e])[:2]
    one, two = sorted((one, two))
    fixed = {e: v for e, v in parts.items() if e not in (one, two)}
    return _Axis(one, two, parts[one] + parts[two], fixed)


def section_data(
    body: Composition, *, points: int = 61, tables: Tables | None = None
) -> SectionData:
    """Liquidus and solidus along a section through the body's system, with the body on it.

    Of two elements the section is the whole diagram; of three the main element stays at the
    body's fineness and the other two trade places. Shares are millesimal of `along`.
    """
    tables = tables or shipped()
    axis = _axis(body)
    here = body.share(axis.two)
    grid = sorted({axis.both * n / (points - 1) for n in range(points)} | {here})
    ranges = [melting(axis.body(share), tables=tables) for share in grid]
    mine = melting(body, tables=tables)
    return SectionData(
        along=axis.two,
        against=axis.one,
        shares=tuple(1000 * share for share in grid),
        liquidus_c=tuple(r.liquidus_c for r in ranges),
        solidus_c=tuple(r.solidus_c for r in ranges),
        segregated_c=tuple(r.segregated_solidus_c for r in ranges),
        here=1000 * here,
        here_liquidus_c=mine.liquidus_c,
        here_solidus_c=mine.solidus_c,
        fixed=tuple(sorted((e, 1000 * v) for e, v in axis.fixed.items())),
        band_k=mine.band_k,
        grade=mine.grade,
    )
