"""Heat: what a gram of the alloy holds at a temperature, and what it takes to pour it.

H = G - T dG/dT of the phases in equilibrium, counted from 20 degC. The cold metal is taken
as fully precipitated, which is the safe side: solution-treated 925 silver starts up to
37 J/g higher. Ordering of red golds below 410 degC is not in the model.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

from lemel.metal.equilibrium import equilibrium, is_lowest, present
from lemel.metal.faces import HeatCurve
from lemel.metal.gibbs import LIQUID, System
from lemel.metal.kelvin import to_c, to_k
from lemel.metal.model import Model, model_of
from lemel.metal.ranges import NARROW_K, Range, portions, range_of
from lemel.metal.settle import Portion
from lemel.tables import Tables, shipped
from lemel.values import Composition

__all__ = ["enthalpy_j_g", "heat_curve", "heat_to_pour_j_g"]

COLD_C = 20.0
_SOLID_NODES, _MUSHY_NODES, _LIQUID_NODES = 20, 40, 8
_ABOVE_K = 600.0
_TEST_EVERY = 6


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
    cold = _cold_h(body, tables)
    temps, heats, liquid = [], [], []
    for temp_k, at_k, state in _states(model, span):
        temps.append(to_c(temp_k))
        heats.append((_state_h(model.system, at_k, state) - cold) / model.grams_per_mole)
        liquid.append(_liquid_mass(state, model.system.molar_mass))
    return _strictly_rising(temps[::-1], heats[::-1], liquid[::-1])


def _states(model: Model, span: Range) -> Iterator[tuple[float, float, Sequence[Portion]]]:
    """Real temperature, the model's, and the phases there, from hot to cold.

    The melting range gets the finest nodes, with both its ends.
    """
    system, x = model.system, list(model.x)
    top, bottom, cold = span.real_top_k, span.real_bottom_k, to_k(COLD_C)
    melt = [Portion(LIQUID, 1.0, x)]
    for n in range(_LIQUID_NODES + 1):
        temp_k = top + _ABOVE_K * (1 - n / _LIQUID_NODES)
        yield temp_k, span.to_model_k(temp_k), melt
    solids = [Portion(span.top.phase, 1.0, x)]
    if top - bottom >= NARROW_K:
        # The last liquid may vanish in a step at the solidus (a eutectic).
        edge = bottom + min(1e-3, (top - bottom) / 1000)
        step = (top - bottom) / _MUSHY_NODES
        nodes = [*(top - step * n for n in range(1, _MUSHY_NODES)), edge]
        guess = [Portion(LIQUID, 0.9, x), Portion(span.top.phase, 0.1, span.top.x)]
        for node in _chain(system, x, span, nodes, guess, tuple(system.phases)):
            yield node
            solids = [p for p in node[2] if p.phase != LIQUID] or solids
    else:
        bottom = top - NARROW_K
    nodes = [bottom - (bottom - cold) * n / _SOLID_NODES for n in range(_SOLID_NODES + 1)]
    yield from _chain(system, x, span, nodes, solids, system.solids)


def _chain(
    system: System,
    x: Sequence[float],
    span: Range,
    temps_k: Sequence[float],
    guess: Sequence[Portion],
    names: Sequence[str],
) -> Iterator[tuple[float, float, Sequence[Portion]]]:
    """Each state from the one before; every few nodes the tangent-plane test, and where it
    fails the nodes since the last test are done again with care."""
    state: Sequence[Portion] = guess
    for first in range(0, len(temps_k), _TEST_EVERY):
        block = [(t, span.to_model_k(t)) for t in temps_k[first : first + _TEST_EVERY]]
        found = _quickly(system, x, block, state)
        if found is None or not is_lowest(system, block[-1][1], found[-1], names):
            found, careful = [], state
            for _, at_k in block:
                careful = equilibrium(system, at_k, x, careful, only=names)
                found.append(careful)
        state = found[-1]
        yield from ((t, at_k, one) for (t, at_k), one in zip(block, found, strict=True))


def _quickly(
    system: System,
    x: Sequence[float],
    block: Sequence[tuple[float, float]],
    state: Sequence[Portion],
) -> list[Sequence[Portion]] | None:
    found: list[Sequence[Portion]] = []
    for _, at_k in block:
        settled = present(system, at_k, state, x) if len(x) > 1 else None
        if settled is None:
            return None
        state = settled
        found.append(settled)
    return found


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
