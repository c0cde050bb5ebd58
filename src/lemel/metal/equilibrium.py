"""Which phases an alloy consists of at one temperature, how much of each, and of what.

Two steps. A search over tangent planes (the simplex method with the deepest dip as the
entering column) always ends at the lowest Gibbs energy, only slowly; Newton's method on
equal potentials and mass balance then finishes in a few steps, and the tangent-plane test
confirms. A set of phases known from a neighbouring temperature may skip the search.
Source of the search: W. B. White, S. M. Johnson and G. B. Dantzig, J. Chem. Phys. 28 (1958)
751-755, with Michelsen's dips as columns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lemel.errors import Broken
from lemel.metal.gibbs import Look, PhaseAt, System
from lemel.metal.linear import solve
from lemel.metal.stability import STABLE, Dip, corners, dip, lowest_dip, shifted

__all__ = ["Portion", "equilibrium", "plane_of", "refine"]

_SAME = 1e-4


@dataclass(frozen=True, slots=True)
class Portion:
    """One phase in an equilibrium: `amount` in moles of atoms per mole of alloy."""

    phase: str
    amount: float
    x: list[float]


def equilibrium(
    system: System,
    temp_k: float,
    x: Sequence[float],
    guess: Sequence[Portion] = (),
    only: Sequence[str] | None = None,
) -> list[Portion]:
    """The stable phases at `temp_k`, largest amount first; amounts sum to one.

    `guess` is the answer of a neighbouring temperature; `only` restricts the phases
    (solids alone, say). Raises Broken if no state passes the tangent-plane test.
    """
    names = tuple(only) if only is not None else tuple(system.phases)
    at = {name: system.phase(name, temp_k) for name in names}
    if len(x) == 1:
        name = min(names, key=lambda n: at[n].ends[0])
        return [Portion(name, 1.0, [1.0])]
    if guess:
        found = _checked(at, x, refine(at, guess, x))
        if found is not None:
            return found
    return _search(at, x)


def plane_of(system: System, temp_k: float, portions: Sequence[Portion]) -> list[float]:
    """Chemical potentials of the state, J/mol: those of its largest phase."""
    top = max(portions, key=lambda p: p.amount)
    return system.phase(top.phase, temp_k).potentials(top.x)


def refine(
    at: dict[str, PhaseAt], guess: Sequence[Portion], x: Sequence[float]
) -> list[Portion] | None:
    """Newton's method on equal potentials and mass balance for a given set of phases.

    A phase whose amount turns negative is dropped. None if it does not converge.
    """
    portions = [p for p in guess if p.phase in at]
    while portions:
        if len(portions) == 1:
            return [Portion(portions[0].phase, 1.0, list(x))]
        solved = _newton(at, portions, x)
        if solved is None:
            return None
        least = min(solved, key=lambda p: p.amount)
        if least.amount >= 0:
            return sorted(solved, key=lambda p: -p.amount)
        portions = [p for p in solved if p is not least]
    return None


def _newton(
    at: dict[str, PhaseAt], portions: list[Portion], x: Sequence[float]
) -> list[Portion] | None:
    size, count = len(x), len(portions)
    xs = [list(p.x) for p in portions]
    amounts = [p.amount for p in portions]
    phases = [at[p.phase] for p in portions]
    rt = phases[0].gas_j_molk * phases[0].temp_k
    for _ in range(40):
        looks = [phase.look(y) for phase, y in zip(phases, xs, strict=True)]
        refs = [max(range(size), key=y.__getitem__) for y in xs]
        matrix, right = _equations(looks, xs, refs, amounts, x, rt)
        wrong = max(map(abs, right))
        step = solve(matrix, right)
        if step is None:
            return None
        held = 1.0
        most = max(map(abs, step))
        if not most < 1e6:
            return None
        if most > 1:
            held = 1 / most
        for p in range(count):
            moves = [0.0] * size
            at_col = p * size
            for k in range(size):
                if k != refs[p]:
                    moves[k] = held * step[at_col]
                    at_col += 1
            xs[p] = shifted(xs[p], moves)
            amounts[p] += held * step[at_col]
        if wrong < 1e-11 and most < 1e-9:
            break
        if any(not -50 < a < 50 for a in amounts):
            return None
    else:
        return None
    if _merged(portions, xs):
        return None
    return [Portion(p.phase, a, y) for p, a, y in zip(portions, amounts, xs, strict=True)]


def _equations(
    looks: Sequence[Look],
    xs: Sequence[Sequence[float]],
    refs: Sequence[int],
    amounts: Sequence[float],
    x: Sequence[float],
    rt: float,
) -> tuple[list[list[float]], list[float]]:
    """Rows: potentials of each phase equal the first's; then the mass balance.

    Columns, per phase: ln x of all but the largest element, then the amount.
    """
    size, count = len(x), len(looks)
    width = size * count
    free = [[k for k in range(size) if k != ref] for ref in refs]
    matrix, right = [], []
    first = looks[0]
    for p in range(1, count):
        other = looks[p]
        for i in range(size):
            row = [0.0] * width
            for col, k in enumerate(free[0]):
                row[col] = first.slope[i][k] / rt
            for col, k in enumerate(free[p]):
                row[p * size + col] = -other.slope[i][k] / rt
            matrix.append(row)
            right.append((other.mu[i] - first.mu[i]) / rt)
    for i in range(size):
        row = [0.0] * width
        short = x[i]
        for p in range(count):
            y, amount = xs[p], amounts[p]
            for col, k in enumerate(free[p]):
                row[p * size + col] = amount * y[i] * ((1.0 if i == k else 0.0) - y[k])
            row[p * size + size - 1] = y[i]
            short -= amount * y[i]
        matrix.append(row)
        right.append(short)
    return matrix, right


def _merged(portions: Sequence[Portion], xs: Sequence[Sequence[float]]) -> bool:
    """Whether two portions of one phase have fallen on the same composition."""
    for p, one in enumerate(portions):
        for q in range(p):
            if portions[q].phase == one.phase and _apart(xs[p], xs[q]) < _SAME:
                return True
    return False


def _apart(x: Sequence[float], y: Sequence[float]) -> float:
    return max(abs(a - b) for a, b in zip(x, y, strict=True))


def _checked(
    at: dict[str, PhaseAt], x: Sequence[float], found: list[Portion] | None
) -> list[Portion] | None:
    """The state itself if nothing dips below its plane."""
    if found is None:
        return None
    plane = at[found[0].phase].potentials(found[0].x)
    seeds = [list(x), *corners(len(x))]
    if lowest_dip(at.values(), plane, seeds).depth < STABLE:
        return None
    return found


def _search(at: dict[str, PhaseAt], x: Sequence[float]) -> list[Portion]:
    """From the pure corners downwards, one column at a time."""
    size = len(x)
    basis = [_corner(at, i, size) for i in range(size)]
    seeds = [list(x), *corners(size)]
    goal = 1e-2
    for _ in range(200):
        plane = _plane(at, basis)
        deepest = lowest_dip(at.values(), plane, [*seeds, *(p.x for p in basis)])
        if deepest.depth > -goal:
            found = _checked(at, x, refine(at, _gathered(at, basis, plane), x))
            if found is not None:
                return found
            if deepest.depth > -1e-13:
                break
            goal *= 0.1
        _enter(basis, deepest, x)
    found = refine(at, _gathered(at, basis, _plane(at, basis)), x)
    if found is None:
        raise Broken(f"no equilibrium found at {next(iter(at.values())).temp_k} K for {list(x)}")
    return found


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
        if all(low.phase != d.phase or _apart(low.x, d.x) > 1e-3 for d in found):
            found.append(low)
    return [Portion(d.phase, 1 / len(found), d.x) for d in found]
