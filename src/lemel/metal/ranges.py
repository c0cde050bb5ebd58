"""Melting range, phases and liquid share of any composition: the questions of the bench."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

from lemel.metal.bounds import Touch, liquidus, solidus
from lemel.metal.equilibrium import equilibrium
from lemel.metal.faces import Melting, PhaseShare
from lemel.metal.gibbs import LIQUID
from lemel.metal.kelvin import to_c, to_k
from lemel.metal.model import Model, model_of
from lemel.metal.segregation import freeze_segregated
from lemel.metal.settle import Portion
from lemel.tables import Tables, shipped
from lemel.values import Composition

__all__ = ["Range", "liquid_fraction", "melting", "phases", "portions", "range_of"]

#: Computed ranges narrower than this count as one temperature.
NARROW_K = 2e-4


class Range(NamedTuple):
    """The computed range of the model, and the map from real temperatures to the model's."""

    top: Touch
    bottom_k: float
    real_top_k: float
    real_bottom_k: float

    def to_model_k(self, temp_k: float) -> float:
        """The model's temperature for a real one: scaled below and within the range."""
        if temp_k >= self.real_top_k:
            return self.top.temp_k + (temp_k - self.real_top_k)
        if temp_k >= self.real_bottom_k:
            width = self.real_top_k - self.real_bottom_k
            share = (temp_k - self.real_bottom_k) / width
            return self.bottom_k + share * (self.top.temp_k - self.bottom_k)
        cold = to_k(20.0)
        share = (temp_k - cold) / (self.real_bottom_k - cold)
        return cold + share * (self.bottom_k - cold)

    def to_real_k(self, model_k: float) -> float:
        """The real temperature that the model's stands for: the inverse, and below the range
        the same distance from the solidus."""
        if model_k >= self.top.temp_k:
            return self.real_top_k + (model_k - self.top.temp_k)
        if model_k >= self.bottom_k:
            share = (model_k - self.bottom_k) / (self.top.temp_k - self.bottom_k)
            return self.real_bottom_k + share * (self.real_top_k - self.real_bottom_k)
        return self.real_bottom_k + (model_k - self.bottom_k)


@lru_cache(maxsize=4096)
def range_of(body: Composition, tables: Tables) -> Range:
    """Liquidus and solidus of the model, and where the real ones are taken to lie."""
    model = model_of(body, tables)
    top = liquidus(model.system, model.x)
    bottom = solidus(model.system, model.x, top)
    bottom_k = min(bottom.temp_k, top.temp_k)
    if model.sheet:
        real_top, real_bottom = to_k(model.sheet.liquidus_c), to_k(model.sheet.solidus_c)
    else:
        real_top = _estimated(model, top.temp_k, model.liquidus_shift_k)
        real_bottom = min(real_top, _estimated(model, bottom_k, model.solidus_shift_k))
    return Range(top, bottom_k, real_top, real_bottom)


def _estimated(model: Model, temp_k: float, shift_k: float) -> float:
    """The model's temperature, moved for what it leaves out; unmoved if it leaves out nothing."""
    if model.exact:
        return temp_k
    if model.towards:
        melts_c, share = model.towards
        temp_k += share * (to_k(melts_c) - temp_k)
    return max(min(temp_k, model.floor_k), temp_k + shift_k)


def melting(body: Composition, *, tables: Tables | None = None) -> Melting:
    """Liquidus, equilibrium solidus and segregated solidus, degC, with grade and band.

    Computed from the Gibbs energies of the phases (see docs/metal.md); valid for the
    systems in the table `metal_system`, an estimate with a wide band for all else.

    >>> sterling = melting(Composition.from_millesimal({"Ag": 925, "Cu": 75}))
    >>> round(sterling.liquidus_c, 1), round(sterling.solidus_c, 1)
    (896.3, 802.8)
    >>> round(sterling.segregated_solidus_c, 1)
    779.1
    """
    return _melting(body, tables or shipped())


@lru_cache(maxsize=4096)
def _melting(body: Composition, tables: Tables) -> Melting:
    model = model_of(body, tables)
    span = range_of(body, tables)
    last = freeze_segregated(model.system, model.x, span.top)[-1]
    # A valley followed beyond the model's limits would lead below the true last eutectic.
    segregated = max(model.floor_k, span.to_real_k(min(last.temp_k, span.bottom_k)))
    real_segregated = min(span.real_bottom_k, segregated)
    return Melting(
        liquidus_c=to_c(span.real_top_k),
        solidus_c=to_c(span.real_bottom_k),
        segregated_solidus_c=to_c(real_segregated),
        band_k=model.band_k,
        grade=model.grade,
        model=model.name,
        sources=model.sources,
        notes=model.notes,
        solidus_margin_k=model.solidus_margin_k,
    )


@lru_cache(maxsize=8192)
def portions(body: Composition, temp_k: float, tables: Tables) -> tuple[Portion, ...]:
    """The model's phases at a real temperature."""
    model, span = model_of(body, tables), range_of(body, tables)
    at_k = span.to_model_k(temp_k)
    if at_k >= span.top.temp_k:
        return (Portion(LIQUID, 1.0, list(model.x)),)
    if span.top.temp_k - span.bottom_k < NARROW_K and at_k > span.bottom_k:
        share = (at_k - span.bottom_k) / NARROW_K
        return (
            Portion(LIQUID, min(1.0, share), list(model.x)),
            Portion(span.top.phase, max(0.0, 1 - share), list(model.x)),
        )
    system, x = model.system, model.x
    solid = at_k <= span.bottom_k
    names = system.solids if solid else tuple(system.phases)
    guess = [Portion(span.top.phase, 1.0, list(x))]
    if not solid:
        guess = [Portion(LIQUID, 0.7, list(x)), Portion(span.top.phase, 0.3, span.top.x)]
    return tuple(equilibrium(system, at_k, x, guess, only=names))


def phases(
    body: Composition, temp_c: float, *, tables: Tables | None = None
) -> tuple[PhaseShare, ...]:
    """The phases in equilibrium at `temp_c` by mass share, liquid first.

    Solids are named by the element that leads them, in brackets as in phase diagrams.
    """
    tables = tables or shipped()
    model = model_of(body, tables)
    masses = model.system.molar_mass
    found = portions(body, to_k(temp_c), tables)
    weights = [p.amount * sum(x * m for x, m in zip(p.x, masses, strict=True)) for p in found]
    total = sum(weights)
    shares = []
    for portion, weight in zip(found, weights, strict=True):
        made = {
            e: x * m
            for e, x, m in zip(model.system.elements, portion.x, masses, strict=True)
            if x * m > 1e-15
        }
        lead = max(zip(portion.x, model.system.elements, strict=True))[1]
        name = portion.phase
        if name != LIQUID:
            name = f"({lead})" if name == "fcc" else f"({lead}) {name}"
        shares.append(PhaseShare(name, weight / total, Composition.of(made)))
    return tuple(sorted(shares, key=lambda s: (s.name != LIQUID, -s.share)))


def liquid_fraction(body: Composition, temp_c: float, *, tables: Tables | None = None) -> float:
    """Mass share that is liquid at equilibrium at `temp_c`, 0 to 1."""
    tables = tables or shipped()
    span = range_of(body, tables)
    temp_k = to_k(temp_c)
    if temp_k >= span.real_top_k:
        return 1.0
    if temp_k <= span.real_bottom_k:
        return 0.0
    return sum(s.share for s in phases(body, temp_c, tables=tables) if s.name == LIQUID)
