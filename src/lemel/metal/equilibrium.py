"""Which phases an alloy consists of at one temperature, how much of each, and of what.

Two steps. A search over tangent planes (the simplex method with the deepest dip as the
entering column) always ends at the lowest Gibbs energy, only slowly; Newton's method on
equal potentials and mass balance then finishes in a few steps, and the tangent-plane test
confirms. A set of phases known from a neighbouring temperature may skip the search.
Source of the search: W. B. White, S. M. Johnson and G. B. Dantzig, J. Chem. Phys. 28 (1958)
751-755, with Michelsen's dips as columns.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations

from lemel.errors import Broken
from lemel.metal.gibbs import LIQUID, PhaseAt, System
from lemel.metal.linear import solve
from lemel.metal.settle import Portion, settle
from lemel.metal.stability import (
    STABLE,
    Dip,
    apart,
    corners,
    dip,
    lowest_dip,
    outlooks,
    slide,
    split,
)

#: Nearer than this (mole fraction) to a phase of the state lies its own valley.
_OWN = 0.03
#: How far a guess of unmixed solids leans to its leading element at least.
_RICH = 0.92

__all__ = ["confirmed", "equilibrium", "is_lowest", "parted", "plane_of", "present"]


def equilibrium(
    system: System,
    temp_k: float,
    x: Sequence[float],
    guess: Sequence[Portion] = (),
    *,
    only: Sequence[str] | None = None,
) -> list[Portion]:
    """The stable phases at `temp_k`, largest amount first; amounts sum to one.

    `guess` is the answer of a neighbouring temperature; `only` restricts the phases
    (solids alone, say). Raises Broken if no state passes the tangent-plane test.
    """
    names = tuple(only) if only is not None else tuple(system.phases)
    if len(x) == 1:
        name = min(names, key=lambda n: system.phase(n, temp_k).ends[0])
        return [Portion(name, 1.0, [1.0])]
    found = confirmed(system, temp_k, x, guess, names)
    liquid = [p for p in guess if p.phase == LIQUID]
    if found is None and (liquid or LIQUID not in names):
        for solids in parted(system, x, temp_k):
            found = found or confirmed(system, temp_k, x, [*liquid, *solids], names)
    return found or _search(system, temp_k, x, names)


def confirmed(
    system: System,
    temp_k: float,
    x: Sequence[float],
    guess: Sequence[Portion],
    names: Sequence[str],
) -> list[Portion] | None:
    """The state that a guess leads to, if it passes the tangent-plane test."""
    known = [p for p in guess if p.phase in names]
    found = present(system, temp_k, known, x) if known else None
    if found is not None and is_lowest(system, temp_k, found, names):
        return found
    return None


def plane_of(system: System, temp_k: float, portions: Sequence[Portion]) -> list[float]:
    """Chemical potentials of the state, J/mol: those of its largest phase."""
    top = max(portions, key=lambda p: p.amount)
    return system.phase(top.phase, temp_k).potentials(top.x)


def present(
    system: System, temp_k: float, guess: Sequence[Portion], x: Sequence[float]
) -> list[Portion] | None:
    """Settle a set of phases and drop those whose amount turns negative.

    None if it does not converge.
    """
    portions = list(guess)
    while len(portions) > 1:
        settled = settle(system, temp_k, portions, x)
        if settled is None:
            return None
        least = min(settled.portions, key=lambda p: p.amount)
        if least.amount >= 0:
            return sorted(settled.portions, key=lambda p: -p.amount)
        portions = [p for p in settled.portions if p is not least]
    return [Portion(portions[0].phase, 1.0, list(x))] if portions else None


def is_lowest(
    system: System, temp_k: float, state: Sequence[Portion], names: Sequence[str]
) -> bool:
    """The tangent-plane test of a state against the named phases.

    A phase can have a valley on either side of each gap between two elements that repel
    each other, and one anywhere if it is not in the state at all: from there slides lead
    down. Those that end in a valley of the state itself touch the plane; every other is
    followed to its bottom.
    """
    plane = plane_of(system, temp_k, state)
    whole = [sum(p.amount * p.x[k] for p in state) for k in range(len(plane))]
    for name in names:
        phase = system.phase(name, temp_k)
        own = [p.x for p in state if p.phase == name]
        for seed in outlooks(phase, whole, absent=not own):
            y = slide(phase, plane, seed)
            if all(apart(y, z) > _OWN for z in own) and dip(phase, plane, y).depth < STABLE:
                return False
    return True


def parted(system: System, x: Sequence[float], temp_k: float) -> Iterator[list[Portion]]:
    """Guesses of the two solids that an alloy may consist of, the likeliest first.

    One solid that unmixes: rich in one and in the other of two elements that repel each
    other. Two lattices: each where it lies lowest under the plane of the first.
    """
    rt = system.gas_j_molk * temp_k
    for name in system.solids:
        for i, j, repulsion in system.phase(name, temp_k).repulsions():
            if repulsion > 0:
                # Far from the critical point a regular solution dissolves exp(-repulsion / RT).
                little = max(1e-12, min(1 - _RICH, 1.5 * math.exp(-repulsion / rt)))
                yield [Portion(name, 0.5, split(x, i, j, lean)) for lean in (1 - little, little)]
    for one, other in combinations(system.solids, 2):
        plane = system.phase(one, temp_k).potentials(x)
        low = lowest_dip([system.phase(other, temp_k)], plane, [x, *corners(len(x))])
        yield [Portion(one, 0.5, list(x)), Portion(other, 0.5, low.x)]


def _search(
    system: System, temp_k: float, x: Sequence[float], names: Sequence[str]
) -> list[Portion]:
    """From the pure corners downwards, one column at a time."""
    size = len(x)
    at = {name: system.phase(name, temp_k) for name in names}
    basis = [_corner(at, i, size) for i in range(size)]
    seeds = [x, *corners(size)]
    goal = 3e-2
    for _ in range(200):
        plane = _plane(at, basis)
        deepest = lowest_dip(at.values(), plane, seeds)
        if deepest.depth > -goal:
            found = present(system, temp_k, _gathered(at, basis, plane), x)
            if found is not None and is_lowest(system, temp_k, found, names):
                return found
            if deepest.depth > -1e-13:
                break
            goal *= 0.1
        _enter(basis, deepest, x)
    return _as_searched(basis, x)


def _as_searched(basis: Sequence[Portion], x: Sequence[float]) -> list[Portion]:
    """The search's own end state, where Newton's method finds no footing (deep, cold gaps)."""
    size = len(x)
    amounts = solve([[basis[p].x[i] for p in range(size)] for i in range(size)], list(x))
    if amounts is None:
        raise Broken("the search lost a dimension")
    merged: list[Portion] = []
    for point, amount in sorted(zip(basis, amounts, strict=True), key=lambda pair: -pair[1]):
        if amount <= 0:
            continue
        for n, own in enumerate(merged):
            if own.phase == point.phase and apart(own.x, point.x) < _OWN:
                whole = own.amount + amount
                mean = [
                    (own.amount * a + amount * b) / whole
                    for a, b in zip(own.x, point.x, strict=True)
                ]
                merged[n] = Portion(own.phase, whole, mean)
                break
        else:
            merged.append(Portion(point.phase, amount, [max(v, 1e-300) for v in point.x]))
    return merged


def _corner(at: dict[str, PhaseAt], i: int, size: int) -> Portion:
    name = min(at, key=lambda n: at[n].ends[i])
    return Portion(name, 0.0, [1.0 if k == i else 0.0 for k in range(size)])


def _plane(at: dict[str, PhaseAt], basis: Sequence[Portion]) -> list[float]:
    energies = []
    for point in basis:
        if max(point.x) == 1.0:
            energies.append(at[point.phase].ends[point.x.index(1.0)])
        else:
            energies.append(at[point.phase].energy(point.x))
    plane = solve([list(point.x) for point in basis], energies)
    if plane is None:
        raise Broken("the search lost a dimension")
    return plane


def _enter(basis: list[Portion], deepest: Dip, x: Sequence[float]) -> None:
    """Put the new point in the place of the one that would first run out."""
    size = len(x)
    columns = [[basis[p].x[i] for p in range(size)] for i in range(size)]
    amounts = solve([list(row) for row in columns], list(x))
    shares = solve(columns, list(deepest.x))
    if amounts is None or shares is None:
        raise Broken("the search lost a dimension")
    leaving = min(
        (p for p in range(size) if shares[p] > 1e-12),
        key=lambda p: amounts[p] / shares[p],
        default=0,
    )
    basis[leaving] = Portion(deepest.phase, 0.0, deepest.x)


def _gathered(
    at: dict[str, PhaseAt], basis: Sequence[Portion], plane: Sequence[float]
) -> list[Portion]:
    """The distinct valleys that the points of the basis lie in, with equal amounts to start."""
    found: list[Dip] = []
    for point in basis:
        low = dip(at[point.phase], plane, point.x)
        if all(low.phase != d.phase or apart(low.x, d.x) > 1e-3 for d in found):
            found.append(low)
    return [Portion(d.phase, 1 / len(found), d.x) for d in found]
