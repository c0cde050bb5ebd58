"""Where an alloy begins and ends to melt, computed from the Gibbs energies.

Liquidus: the highest temperature at which some solid touches the tangent plane of the liquid.
Solidus: the lowest at which the liquid touches the plane of the solids. Where one solid
phase holds the whole alloy this is the same pair of equations with the roles exchanged;
where the alloy is a mixture of solids (a miscibility gap, a second lattice) the solids'
own equilibrium is followed in temperature until the liquid touches.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lemel.errors import Broken
from lemel.metal.equilibrium import Portion, equilibrium, plane_of, refine
from lemel.metal.gibbs import LIQUID, System
from lemel.metal.linear import solve
from lemel.metal.stability import STABLE, Dip, corners, dip, lowest_dip, shifted

__all__ = ["Touch", "liquidus", "pure_melting_k", "solidus", "touch"]

_COLDEST_K, _HOTTEST_K = 250.0, 3000.0


@dataclass(frozen=True, slots=True)
class Touch:
    """A phase of composition `x` just touching the plane of another at `temp_k`."""

    temp_k: float
    phase: str
    x: list[float]


def touch(
    system: System,
    host: str,
    host_x: Sequence[float],
    guest: str,
    seed: Sequence[float],
    temp_k: float,
) -> Touch | None:
    """Newton's method on equal potentials of all elements, in ln x of the guest and T.

    None if it does not converge. A converged answer still wants the tangent-plane test.
    """
    size = len(host_x)
    span = range(size)
    x = list(seed)
    gas = system.gas_j_molk
    for turn in range(40):
        mu, mu_t = system.phase(host, temp_k).tilt(host_x)
        look = system.phase(guest, temp_k).look(x)
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
        moves = [0.0] * size
        for k, move in zip(free, step, strict=False):
            moves[k] = held * move
        x = shifted(x, moves)
        temp_k += held * rise
        if not _COLDEST_K < temp_k < _HOTTEST_K:
            return None
        if wrong < 1e-12 or (most < 1e-10 and wrong < 1e-9):
            return Touch(temp_k, guest, x)
        # At a pure element's melting point the printed polynomials leave a step of some
        # 1e-3 J/mol between their branches, and Newton's method hops over it for ever.
        if turn > 12 and wrong < 1e-6 and most < 1e-3:
            return Touch(temp_k, guest, x)
    return None


def pure_melting_k(system: System) -> Touch:
    """Where liquid and solid of one element have the same Gibbs energy."""
    best = None
    for solid in system.solids:
        found = touch(system, LIQUID, [1.0], solid, [1.0], system.melts_k[0])
        if found and (best is None or found.temp_k > best.temp_k):
            best = found
    if best is None:
        raise Broken(f"no melting point for {system.elements}")
    return best


def liquidus(system: System, x: Sequence[float]) -> Touch:
    """The first solid on cooling, and its temperature."""
    if len(x) == 1:
        return pure_melting_k(system)
    temp_k = sum(v * t for v, t in zip(x, system.melts_k, strict=True))
    seeds = _seeds(system, x, temp_k)
    best = _highest(system, x, seeds, temp_k)
    for _ in range(6):
        if best is None:
            break
        # What dips below the plane here is a solid that forms still hotter.
        deeper = _solid_below(system, x, best.temp_k, seeds)
        if deeper.depth > STABLE:
            return best
        better = touch(system, LIQUID, x, deeper.phase, deeper.x, best.temp_k)
        if better is None or better.temp_k <= best.temp_k:
            break
        best = better
    return _liquidus_by_search(system, x)


def _seeds(system: System, x: Sequence[float], temp_k: float) -> list[Dip]:
    """Solids that lie near the plane of the liquid, one for each valley."""
    plane = system.phase(LIQUID, temp_k).potentials(x)
    found: list[Dip] = []
    for name in system.solids:
        phase = system.phase(name, temp_k)
        for seed in [list(x), *corners(len(x))]:
            low = dip(phase, plane, seed, tries=4)
            if all(d.phase != name or _apart(d.x, low.x) > 0.02 for d in found):
                found.append(low)
    return sorted(found, key=lambda d: d.depth)


def _highest(
    system: System, x: Sequence[float], seeds: Sequence[Dip], temp_k: float
) -> Touch | None:
    for seed in seeds:
        found = touch(system, LIQUID, x, seed.phase, seed.x, temp_k)
        if found is not None:
            return found
    return None


def _solid_below(system: System, x: Sequence[float], temp_k: float, seeds: Sequence[Dip]) -> Dip:
    plane = system.phase(LIQUID, temp_k).potentials(x)
    return min(
        (dip(system.phase(s.phase, temp_k), plane, s.x) for s in seeds), key=lambda d: d.depth
    )


def _apart(x: Sequence[float], y: Sequence[float]) -> float:
    return max(abs(a - b) for a, b in zip(x, y, strict=True))


def _liquidus_by_search(system: System, x: Sequence[float]) -> Touch:
    """Bisection on the sign of the deepest dip: slow, and never fooled."""
    low, high = _COLDEST_K + 50, max(system.melts_k) + 200
    seeds = [list(x), *corners(len(x))]
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


def solidus(system: System, x: Sequence[float], top: Touch) -> tuple[Touch, list[Portion]]:
    """The first liquid on heating, and the solids that it comes from.

    `top` is the liquidus. At the answer the solids hold the whole alloy.
    """
    if len(x) == 1:
        return Touch(top.temp_k, LIQUID, [1.0]), [Portion(top.phase, 1.0, [1.0])]
    single = touch(system, top.phase, x, LIQUID, x, top.temp_k)
    if single is not None and single.temp_k <= top.temp_k + 1e-6:
        plane = system.phase(top.phase, single.temp_k).potentials(x)
        solids = (system.phase(n, single.temp_k) for n in system.solids)
        if lowest_dip(solids, plane, corners(len(x))).depth > STABLE:
            return single, [Portion(top.phase, 1.0, list(x))]
    return _solidus_of_mixture(system, x, top)


def _solidus_of_mixture(
    system: System, x: Sequence[float], top: Touch
) -> tuple[Touch, list[Portion]]:
    """Follow the solids' own equilibrium until the liquid touches their plane.

    The depth of the liquid under that plane falls as T rises; its slope is taken by
    difference, so the root is found by guarded Newton steps. A quick run trusts its warm
    starts; if the tangent-plane test then fails, a careful run trusts nothing.
    """
    seeds = corners(len(x))
    for careful in (False, True):
        found = _follow_solids(system, x, top, careful)
        if found is None:
            continue
        melt, solids = found
        plane = plane_of(system, melt.temp_k, solids)
        at = system.at(melt.temp_k)
        if lowest_dip(at.values(), plane, [*seeds, list(x)]).depth > -1e-8:
            return found
    raise Broken(f"no solidus for {system.elements} at {list(x)}")


def _follow_solids(
    system: System, x: Sequence[float], top: Touch, careful: bool
) -> tuple[Touch, list[Portion]] | None:
    low, high = 400.0, top.temp_k
    temp_k = 0.5 * high + 0.5 * min(high, *system.melts_k) - 10
    solids = [] if careful else _parted(system, x, temp_k)
    melt = list(x)
    everywhere = corners(len(x))
    for turn in range(80):
        state = _solids_at(system, x, temp_k, solids, careful)
        if state is None:
            return None
        solids = state
        plane = plane_of(system, temp_k, solids)
        seeds = [melt, *everywhere] if careful or turn == 0 else [melt]
        found = lowest_dip([system.phase(LIQUID, temp_k)], plane, seeds)
        melt = found.x
        low, high = (temp_k, high) if found.depth > 0 else (low, temp_k)
        slope = _depth_slope(system, temp_k, solids, melt)
        following = temp_k - found.depth / slope if slope < 0 else low
        if not low < following < high:
            following = (low + high) / 2
        if abs(following - temp_k) < 1e-8 or high - low < 1e-8:
            return Touch(temp_k, LIQUID, melt), solids
        temp_k = following
    return None


def _solids_at(
    system: System, x: Sequence[float], temp_k: float, guess: list[Portion], careful: bool
) -> list[Portion] | None:
    if careful or not guess:
        return equilibrium(system, temp_k, x, guess, only=system.solids)
    at = {name: system.phase(name, temp_k) for name in system.solids}
    return refine(at, guess, x)


def _parted(system: System, x: Sequence[float], temp_k: float) -> list[Portion]:
    """A first guess of the solids that an unstable solid parts into."""
    name = system.solids[0]
    plane = system.phase(name, temp_k).potentials(x)
    found: list[Dip] = []
    for solid in system.solids:
        phase = system.phase(solid, temp_k)
        for seed in corners(len(x)):
            low = dip(phase, plane, seed)
            if low.depth < 0 and all(d.phase != solid or _apart(d.x, low.x) > 0.02 for d in found):
                found.append(low)
    found.sort(key=lambda d: d.depth)
    parts = [Portion(d.phase, 0.5, d.x) for d in found[:2]]
    return parts if len(parts) > 1 else [Portion(name, 0.5, list(x)), *parts]


def _depth_slope(
    system: System, temp_k: float, solids: Sequence[Portion], melt: Sequence[float]
) -> float:
    """d(depth)/dT by difference: the liquid and the plane half a kelvin hotter."""
    hotter = temp_k + 0.05
    at = {name: system.phase(name, hotter) for name in system.solids}
    total = [sum(p.amount * p.x[k] for p in solids) for k in range(len(melt))]
    moved = refine(at, solids, total)
    if moved is None:
        return 0.0
    depths = []
    for temp, state in ((temp_k, solids), (hotter, moved)):
        plane = system.phase(state[0].phase, temp).potentials(state[0].x)
        liquid = system.phase(LIQUID, temp)
        mu = liquid.potentials(melt)
        rt = liquid.gas_j_molk * temp
        depths.append(sum(m * (a - b) for m, a, b in zip(melt, mu, plane, strict=True)) / rt)
    return (depths[1] - depths[0]) / 0.05
