"""Heat: what a gram of the alloy holds at a temperature, and what it takes to pour it.

H = G - T dG/dT of the phases in equilibrium, counted from 20 degC. The cold metal is taken
as fully precipitated, which is the safe side: solution-treated 925 silver starts up to
37 J/g higher. Ordering of red golds below 410 degC is not in the model.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from lemel.metal.equilibrium import equilibrium
from lemel.metal.faces import HeatCurve
from lemel.metal.gibbs import LIQUID, System
from lemel.metal.kelvin import to_c, to_k
from lemel.metal.melting import NARROW_K, Range, portions, range_of
from lemel.metal.model import model_of
from lemel.metal.settle import Portion
from lemel.tables import Tables, shipped
from lemel.values import Composition

__all__ = ["enthalpy_j_g", "heat_curve", "heat_to_pour_j_g"]

COLD_C = 20.0
_SOLID_NODES, _MUSHY_NODES, _LIQUID_NODES = 20, 40, 8
_ABOVE_K = 600.0


def _state_h(system: System, temp_k: float, state: Sequence[Portion]) -> float:
    """J per mole of atoms of a set of phases."""
    return sum(p.amount * system.phase(p.phase, temp_k).enthalpy(p.x) for p in state)


@lru_cache(maxsize=1024)
def _cold_h(body: Composition, tables: Tables) -> float:
    model = model_of(body, tables)
    span = range_of(body, tables)
    at_k = span.to_model_k(to_k(COLD_C))
    return _state_h(model.system, at_k, portions(body, to_k(COLD_C), tables))


def enthalpy_j_g(body: Composition, temp_c: float, *, tables: Tables | None = None) -> float:
    """J/g above 20 degC at equilibrium; latent heat included. Rises with temperature.

    >>> sterling = Composition.from_millesimal({"Ag": 925, "Cu": 75})
    >>> 395 < enthalpy_j_g(sterling, 996.3) < 410
    True
    """
    tables = tables or shipped()
    model, span = model_of(body, tables), range_of(body, tables)
    state = portions(body, to_k(temp_c), tables)
    at_k = span.to_model_k(to_k(temp_c))
    if span.top.temp_k - span.bottom_k < NARROW_K:
        at_k = min(at_k, span.bottom_k) if at_k < span.top.temp_k else at_k
    high = _state_h(model.system, at_k, state)
    return (high - _cold_h(body, tables)) / model.grams_per_mole


def heat_curve(body: Composition, *, tables: Tables | None = None) -> HeatCurve:
    """The enthalpy from 20 degC to 600 K above the liquidus as a fine table; cached per alloy."""
    return _heat_curve(body, tables or shipped())


@lru_cache(maxsize=512)
def _heat_curve(body: Composition, tables: Tables) -> HeatCurve:
    model, span = model_of(body, tables), range_of(body, tables)
    system, x = model.system, model.x
    masses = system.molar_mass
    cold = _cold_h(body, tables)
    temps, heats, liquid = [], [], []
    state: Sequence[Portion] = ()
    for temp_k in _node_temps(span):
        at_k = span.to_model_k(temp_k)
        if temp_k >= span.real_top_k:
            state = [Portion(LIQUID, 1.0, list(x))]
        elif temp_k <= span.real_bottom_k:
            solid = state if state and state[0].phase != LIQUID else ()
            state = equilibrium(system, at_k, x, solid, only=system.solids)
        else:
            start = state or [
                Portion(LIQUID, 0.9, list(x)), Portion(span.top.phase, 0.1, span.top.x)
            ]  # fmt: skip
            if len(start) == 1:
                start = [Portion(LIQUID, 0.9, list(x)), Portion(span.top.phase, 0.1, span.top.x)]
            state = equilibrium(system, at_k, x, start)
        temps.append(to_c(temp_k))
        heats.append((_state_h(system, at_k, state) - cold) / model.grams_per_mole)
        liquid.append(_liquid_mass(state, masses))
    order = range(len(temps) - 1, -1, -1)
    return _strictly_rising(
        [temps[i] for i in order], [heats[i] for i in order], [liquid[i] for i in order]
    )


def _node_temps(span: Range) -> list[float]:
    """Hot to cold; the range itself gets the finest nodes, with both ends exact."""
    top, bottom, cold = span.real_top_k, span.real_bottom_k, to_k(COLD_C)
    hot = [top + _ABOVE_K * (1 - n / _LIQUID_NODES) for n in range(_LIQUID_NODES)]
    solid = [bottom - (bottom - cold) * n / _SOLID_NODES for n in range(1, _SOLID_NODES + 1)]
    if top - bottom < NARROW_K:
        return [*hot, top, top - NARROW_K, *solid]
    mushy = [top - (top - bottom) * n / _MUSHY_NODES for n in range(1, _MUSHY_NODES)]
    # The liquid's last share may vanish in a step at the solidus (a eutectic).
    edge = bottom + min(1e-3, (top - bottom) / 1000)
    return [*hot, top, *mushy, edge, bottom, *solid]


def _liquid_mass(state: Sequence[Portion], masses: Sequence[float]) -> float:
    weights = [
        (p.phase, p.amount * sum(x * m for x, m in zip(p.x, masses, strict=True))) for p in state
    ]
    total = sum(weight for _, weight in weights)
    return sum(weight for phase, weight in weights if phase == LIQUID) / total


def _strictly_rising(temps: list[float], heats: list[float], liquid: list[float]) -> HeatCurve:
    """Drop nodes that rounding put out of order, so that the curve can be inverted."""
    kept = [0]
    for i in range(1, len(temps)):
        if temps[i] > temps[kept[-1]] and heats[i] > heats[kept[-1]]:
            kept.append(i)
    return HeatCurve(
        tuple(temps[i] for i in kept),
        tuple(heats[i] for i in kept),
        tuple(min(1.0, max(0.0, liquid[i])) for i in kept),
    )


def heat_to_pour_j_g(body: Composition, pour_c: float, *, tables: Tables | None = None) -> float:
    """J/g from the cold metal (20 degC) to the pour."""
    return enthalpy_j_g(body, pour_c, tables=tables)
