"""Where an alloy begins and ends to melt, computed from the Gibbs energies.

Liquidus: the highest temperature at which some solid touches the tangent plane of the liquid.
Solidus: the lowest at which the liquid touches the plane of the solids. Where one solid
phase holds the whole alloy this is the same pair of equations with the roles exchanged;
where the alloy is a mixture of solids (a miscibility gap, a second lattice) solids and
first liquid are solved together. Every answer has passed the tangent-plane test.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from lemel.errors import Broken
from lemel.metal.equilibrium import equilibrium, is_lowest, parted, plane_of, present
from lemel.metal.gibbs import LIQUID, System
from lemel.metal.linear import solve
from lemel.metal.settle import Portion, settle
from lemel.metal.stability import (
    STABLE,
    Dip,
    apart,
    corners,
    dip,
    lowest_dip,
    shifted,
    slide,
)

__all__ = ["PROBES_K", "Solidus", "Touch", "liquidus", "solidus", "touch"]

_COLDEST_K, _HOTTEST_K = 250.0, 3000.0
_SURE = 1e-5
_SAME_VALLEY = 0.05
#: No single solid begins to melt below this part of its liquidus (K).
_WIDEST = 0.72
#: How far below the solidus of a single solid a second look is taken.
PROBES_K = (30.0, 80.0, 150.0)


class Touch(NamedTuple):
    """A phase of composition `x` just touching the plane of another at `temp_k`."""

    temp_k: float
    phase: str
    x: list[float]


class Solidus(NamedTuple):
    """The first liquid on heating, and the solids that it comes from (they hold the alloy)."""

    temp_k: float
    liquid: list[float]
    solids: list[Portion]


def touch(
    system: System,
    host: tuple[str, Sequence[float]],
    guest: tuple[str, Sequence[float]],
    temp_k: float,
    *,
    sure: float = _SURE,
    coldest_k: float = _COLDEST_K,
) -> Touch | None:
    """Where the guest phase touches the plane of the host, which has a fixed composition.

    Newton's method on equal potentials of all elements, in ln x of the guest and in T, from
    the guest composition and temperature given. The error squares at each step, so a
    step shorter than `sure` is the last. None if it does not converge or falls below
    `coldest_k`. A converged answer still wants the tangent-plane test.
    """
    host_name, host_x = host
    guest_name, x = guest[0], list(guest[1])
    gas, span = system.gas_j_molk, range(len(host_x))
    for turn in range(40):
        mu, mu_t = system.phase(host_name, temp_k).tilt(host_x)
        look = system.phase(guest_name, temp_k).look(x)
        ref = max(span, key=x.__getitem__)
        free = [k for k in span if k != ref]
        rt = gas * temp_k
        right = [(mu[i] - look.mu[i]) / rt for i in span]
        wrong = max(map(abs, right))
        matrix = [
            [look.slope[i][k] / rt for k in free] + [(look.mu_t[i] - mu_t[i]) / gas] for i in span
        ]
        step = solve(matrix, right)
        if step is None:
            return None
        rise = step[-1] * temp_k
        most = max(max(map(abs, step[:-1]), default=0.0) / 0.8, abs(rise) / 80)
        if not most < 1e9:
            return None
        held = 1 / most if most > 1 else 1.0
        moves = [0.0] * len(x)
        for k, move in zip(free, step, strict=False):
            moves[k] = held * move
        x = shifted(x, moves)
        temp_k += held * rise
        if not coldest_k < temp_k < _HOTTEST_K:
            return None
        # At a pure element's melting point the printed polynomials leave a step of some
        # 1e-3 J/mol between their branches, and Newton's method hops over it for ever.
        if most < sure or wrong < 1e-12 or (turn > 12 and wrong < 1e-6 and most < 1e-3):
            return Touch(temp_k, guest_name, x)
    return None


Seed = tuple[str, Sequence[float]]


def liquidus(system: System, x: Sequence[float]) -> Touch:
    """The first solid on cooling, and its temperature."""
    if len(x) == 1:
        return _pure_melting(system)
    temp_k = sum(v * t for v, t in zip(x, system.melts_k, strict=True))
    seeds = _solids_near(system, x, temp_k)
    best = _first(system, x, seeds, temp_k)
    for _ in range(6):
        if best is None:
            break
        # What dips below the plane here is a solid that forms still hotter.
        deeper = _solid_below(system, x, best, seeds)
        if deeper.depth > STABLE:
            return best
        better = touch(system, (LIQUID, x), (deeper.phase, deeper.x), best.temp_k)
        if better is None or better.temp_k <= best.temp_k:
            break
        best = better
    return _liquidus_by_search(system, x)


def _pure_melting(system: System) -> Touch:
    """Where liquid and solid of one element have the same Gibbs energy."""
    found = [
        touch(system, (LIQUID, [1.0]), (solid, [1.0]), system.melts_k[0]) for solid in system.solids
    ]
    melts = [one for one in found if one is not None]
    if not melts:
        raise Broken(f"no melting point for {system.elements}")
    return max(melts, key=lambda one: one.temp_k)


def _solids_near(system: System, x: Sequence[float], temp_k: float) -> list[Seed]:
    """Solids near the plane of the liquid, one for each valley, the deepest first."""
    plane = system.phase(LIQUID, temp_k).potentials(x)
    found: list[tuple[float, str, list[float]]] = []
    for name in system.solids:
        phase = system.phase(name, temp_k)
        for seed in (x, *corners(len(x))):
            y = slide(phase, plane, seed)
            if all(n != name or apart(z, y) > _SAME_VALLEY for _, n, z in found):
                mu = phase.potentials(y)
                depth = sum(v * (a - b) for v, a, b in zip(y, mu, plane, strict=True))
                found.append((depth, name, y))
    return [(name, y) for _, name, y in sorted(found)]


def _first(
    system: System, x: Sequence[float], seeds: Sequence[Seed], temp_k: float
) -> Touch | None:
    for seed in seeds:
        found = touch(system, (LIQUID, x), seed, temp_k)
        if found is not None:
            return found
    return None


def _solid_below(system: System, x: Sequence[float], best: Touch, seeds: Sequence[Seed]) -> Dip:
    """The deepest of the solids under the plane of the liquid at the trial liquidus."""
    at = {name: system.phase(name, best.temp_k) for name in system.solids}
    plane = system.phase(LIQUID, best.temp_k).potentials(x)
    return min((dip(at[name], plane, y) for name, y in seeds), key=lambda d: d.depth)


def _liquidus_by_search(system: System, x: Sequence[float]) -> Touch:
    """Bisection on the sign of the deepest dip: slow, and never fooled."""
    low, high = _COLDEST_K + 50, max(system.melts_k) + 200
    seeds = [x, *corners(len(x))]
    best = None
    for _ in range(60):
        middle = (low + high) / 2
        plane = system.phase(LIQUID, middle).potentials(x)
        deepest = lowest_dip((system.phase(n, middle) for n in system.solids), plane, seeds)
        if deepest.depth < 0:
            low, best = middle, deepest
        else:
            high = middle
    if best is None:
        raise Broken(f"no liquidus for {system.elements} at {list(x)}")
    return Touch(high, best.phase, best.x)


def solidus(system: System, x: Sequence[float], top: Touch) -> Solidus:
    """Where the alloy begins to melt; `top` is its liquidus."""
    if len(x) == 1:
        return Solidus(top.temp_k, [1.0], [Portion(top.phase, 1.0, [1.0])])
    coldest_k = _WIDEST * top.temp_k
    single = touch(system, (top.phase, x), (LIQUID, x), top.temp_k, coldest_k=coldest_k)
    if single is not None and single.temp_k <= top.temp_k + 1e-6:
        solids = [Portion(top.phase, 1.0, list(x))]
        if is_lowest(system, single.temp_k, solids, system.solids):
            melting = Solidus(min(single.temp_k, top.temp_k), single.x, solids)
            if _melts_colder(system, x, melting):
                starts = [melting.temp_k - fall for fall in PROBES_K[1:]]
                colder = _of_mixture(system, x, top, starts)
                if colder and colder.temp_k < melting.temp_k:
                    return colder
            return melting
    # Too hot or too cold, and one of two solids is not there; so several starts follow.
    mean = min(top.temp_k, sum(v * t for v, t in zip(x, system.melts_k, strict=True)))
    starts = [0.95 * mean, top.temp_k - 20, 0.86 * mean, 0.76 * mean, 0.68 * mean]
    return _of_mixture(system, x, top, starts) or _solidus_by_search(system, x, top)


def _melts_colder(system: System, x: Sequence[float], melting: Solidus) -> bool:
    """Whether liquid appears at a lower temperature and is dissolved again on the way up.

    Near the foot of a gap the solid may hold most at a temperature above the eutectic (a
    retrograde solidus); the alloy then begins to melt at the eutectic all the same.
    """
    name = melting.solids[0].phase
    if not any(p[2] > 0 for p in system.phase(name, melting.temp_k).repulsions()):
        return False
    melt: Sequence[float] = melting.liquid
    for fall in PROBES_K:
        temp_k = melting.temp_k - fall
        plane = system.phase(name, temp_k).potentials(x)
        found = dip(system.phase(LIQUID, temp_k), plane, melt)
        if found.depth < STABLE:
            return True
        melt = found.x
    return False


def _of_mixture(
    system: System, x: Sequence[float], top: Touch, starts: Sequence[float]
) -> Solidus | None:
    """The solidus of two solids, from guesses of them; None if none passes the test."""
    for temp_k, solids in _mixtures(system, x, starts):
        found = _first_liquid(system, x, solids, temp_k)
        if found is None or found.temp_k > top.temp_k + 1e-6:
            continue
        if any(p.amount < 0 for p in found.solids):
            # One of the solids is gone at this temperature: ask again from here.
            kept = present(system, found.temp_k, found.solids, x)
            found = _first_liquid(system, x, kept, found.temp_k) if kept else None
        if found is None or any(p.amount < 0 for p in found.solids):
            continue
        if is_lowest(system, found.temp_k, found.solids, tuple(system.phases)):
            return found
    return None


def _mixtures(
    system: System, x: Sequence[float], starts: Sequence[float]
) -> Iterator[tuple[float, list[Portion]]]:
    """Mixtures of two solids to start from, with their temperatures."""
    for temp_k in starts:
        for guess in parted(system, x, temp_k):
            solids = present(system, temp_k, guess, x)
            if solids and len(solids) > 1:
                yield temp_k, solids


def _first_liquid(
    system: System, x: Sequence[float], solids: Sequence[Portion], temp_k: float
) -> Solidus | None:
    """Heat these solids until a liquid touches their plane: all unknowns in one system."""
    plane = plane_of(system, temp_k, solids)
    liquid = system.phase(LIQUID, temp_k)
    melt = lowest_dip([liquid], plane, [x, *corners(len(x))])
    settled = settle(system, temp_k, [*solids, Portion(LIQUID, 0.0, melt.x)], x, last_appears=True)
    if settled is None:
        return None
    *kept, first = settled.portions
    return Solidus(settled.temp_k, first.x, kept)


def _solidus_by_search(system: System, x: Sequence[float], top: Touch) -> Solidus:
    """Bisection on whether the liquid lies below the plane of the solids' own equilibrium."""
    low, high = 400.0, top.temp_k
    seeds = [x, *corners(len(x))]
    state: list[Portion] = []
    melt: Sequence[float] = x
    while high - low > 1e-9:
        middle = (low + high) / 2
        if middle in (low, high):
            break
        state = equilibrium(system, middle, x, state, only=system.solids)
        plane = plane_of(system, middle, state)
        found = lowest_dip([system.phase(LIQUID, middle)], plane, [*seeds, melt])
        melt = found.x
        low, high = (middle, high) if found.depth > 0 else (low, middle)
    return Solidus(low, list(melt), state)
