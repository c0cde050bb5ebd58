"""Following one solid along the path of freezing, and watching for another to join."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from lemel.metal.bounds import Touch, touch
from lemel.metal.gibbs import LIQUID, PhaseAt, System
from lemel.metal.settle import Portion, settle
from lemel.metal.stability import Dip, apart, dip, is_bottom, shifted, slide, split

__all__ = ["Place", "drift_of", "exact", "further", "lengthen", "meeting", "rivals_of"]

#: Newton steps shorter than this end while the path is followed.
_FOLLOW = 0.02
#: The same for a place that was corrected or is checked.
_EXACT = 1e-3
#: The stride is chosen so that the drift changes by no more than this over one.
_BEND = 0.06
_SHORTEST = 1e-4
#: Compositions nearer than this belong to the valley of the present solid.
_NEAR = 0.05
#: A solid that moves farther than this in one stride was lost.
_LONGEST_JUMP = 0.1
_NOT_THERE = 0.01
_ACROSS = 0.9


class Place(NamedTuple):
    """A point of the path: -ln f, the liquid, the solid that forms from it, and the drift."""

    depth: float
    z: list[float]
    solid: Touch
    drift: list[float]


def drift_of(z: Sequence[float], y: Sequence[float]) -> list[float]:
    """d ln z / d(-ln f): what the forming solid leaves out gathers in the liquid."""
    return [1 - b / a for a, b in zip(z, y, strict=True)]


def further(
    system: System, here: Place, before: Place | None, stride: float
) -> tuple[Place | None, float]:
    """The next place, with a shorter stride where the solid cannot be followed."""
    while stride > _SHORTEST:
        found = _step(system, here, before, stride)
        if found is not None:
            return found, stride
        stride /= 2
    return None, stride


def lengthen(here: Place, following: Place) -> float:
    """How much longer the next stride may be, or must be shorter."""
    bend = max(abs(a - b) for a, b in zip(here.drift, following.drift, strict=True))
    return min(2.0, max(0.4, _BEND / max(bend * (following.depth - here.depth), 1e-9)))


def _step(system: System, here: Place, before: Place | None, stride: float) -> Place | None:
    """Adams' rules in ln z: predict over two places, look, correct over three.

    From a place with none before it: the midpoint rule.
    """
    if before is None:
        half = _place(system, here, stride / 2, here.drift, here.solid)
        if half is None:
            return None
        return _place(system, here, stride, half.drift, half.solid)
    r = stride / (here.depth - before.depth)
    drift = [a + r / 2 * (a - b) for a, b in zip(here.drift, before.drift, strict=True)]
    found = _place(system, here, stride, drift, _ahead(here, before, r))
    if found is None:
        return None
    ahead, now, then = (3 + 2 * r) / (6 * (1 + r)), (3 + r) / 6, -r * r / (6 * (1 + r))
    mean = [
        ahead * c + now * a + then * b
        for a, b, c in zip(here.drift, before.drift, found.drift, strict=True)
    ]
    z = shifted(here.z, [stride * d for d in mean], most=30)
    return Place(found.depth, z, found.solid, found.drift)


def _ahead(here: Place, before: Place, share: float) -> Touch:
    """Where the solid will be if it goes on as it went: the seed of the next solution."""
    raw = [
        max(a * (a / b) ** share if b > 0 else a, 1e-300)
        for a, b in zip(here.solid.x, before.solid.x, strict=True)
    ]
    total = sum(raw)
    temp_k = here.solid.temp_k + share * (here.solid.temp_k - before.solid.temp_k)
    return Touch(temp_k, here.solid.phase, [v / total for v in raw])


def _place(
    system: System, here: Place, stride: float, drift: Sequence[float], seed: Touch
) -> Place | None:
    z = shifted(here.z, [stride * d for d in drift], most=30)
    solid = touch(system, (LIQUID, z), (seed.phase, seed.x), seed.temp_k, sure=_FOLLOW)
    if solid is None or apart(solid.x, here.solid.x) > _LONGEST_JUMP:
        return None
    phase = system.phase(solid.phase, solid.temp_k)
    if any(p[2] > 0 for p in phase.repulsions()) and not is_bottom(phase, solid.x):
        return None
    return Place(here.depth + stride, z, solid, drift_of(z, solid.x))


def exact(system: System, place: Place) -> Place:
    """The place with its solid solved to the end."""
    mine = place.solid
    found = touch(system, (LIQUID, place.z), (mine.phase, mine.x), mine.temp_k, sure=_EXACT)
    solid = found or mine
    return Place(place.depth, place.z, solid, drift_of(place.z, solid.x))


def rivals_of(system: System, place: Place, known: Sequence[Dip] = ()) -> list[Dip]:
    """Other solids that might join, deepest first: one for each valley beside the present one."""
    temp_k, mine = place.solid.temp_k, place.solid
    plane = system.phase(LIQUID, temp_k).potentials(place.z)
    at = {name: system.phase(name, temp_k) for name in system.solids}
    seeds: list[tuple[str, Sequence[float]]] = [(d.phase, d.x) for d in known]
    # A short slide from afar shows whether another valley has opened.
    for name, start in _afar(at, mine):
        y = slide(at[name], plane, start)
        if all(n != name or apart(y, z) > _NEAR for n, z in [(mine.phase, mine.x), *seeds]):
            seeds.append((name, y))
    found: list[Dip] = []
    for name, seed in seeds:
        low = dip(at[name], plane, seed)
        if name == mine.phase and apart(low.x, mine.x) < _NEAR and low.depth > -1e-4:
            continue
        if all(d.phase != name or apart(d.x, low.x) > 0.01 for d in found):
            found.append(low)
    return sorted(found, key=lambda d: d.depth)


def _afar(at: Mapping[str, PhaseAt], mine: Touch) -> Iterator[tuple[str, Sequence[float]]]:
    """Where another solid could be: across each gap of the present phase, in each other phase."""
    for name, phase in at.items():
        if name != mine.phase:
            yield name, mine.x
        for i, j, repulsion in phase.repulsions():
            if repulsion > 0:
                lean = _ACROSS if mine.x[i] < mine.x[j] else 1 - _ACROSS
                yield name, split(mine.x, i, j, lean)


def meeting(system: System, low: Place, high: Place, rival: Dip) -> tuple[Place, Dip] | None:
    """Where between two places the rival first touches.

    Of two elements: the temperature at which both solids and the liquid meet. Of three:
    false position on the rival's depth, along the straight way between the places. None
    where the solid cannot be followed.
    """
    if len(low.z) == 2:
        met = _invariant(system, high, rival)
        if met is not None:
            return _on_path(low, *met)
    start, end = low, high
    depth_low = max(_depth_at(system, start, rival).depth, 1e-12)
    share_low, share_high, depth_high, here = 0.0, 1.0, rival.depth, end
    for turn in range(60):
        if abs(depth_high) < 1e-8 or share_high - share_low < 1e-10:
            break
        cut = depth_low / (depth_low - depth_high) if turn % 4 < 3 else 0.5
        share = share_low + cut * (share_high - share_low)
        middle = _between(system, start, end, share)
        if middle is None:
            return None
        found = _depth_at(system, middle, rival)
        if found.depth < 0:
            here, share_high, depth_high, rival = middle, share, found.depth, found
            depth_low /= 2  # the end that stays loses weight (Illinois rule)
        else:
            share_low, depth_low = share, found.depth
    return here, rival


def _invariant(system: System, near: Place, rival: Dip) -> tuple[Touch, list[float], Dip] | None:
    """Temperature, liquid and both solids where three phases of two elements meet."""
    y1, y2 = near.solid.x, rival.x
    settled = settle(
        system,
        near.solid.temp_k,
        [
            Portion(near.solid.phase, 0.5, y1),
            Portion(rival.phase, 0.5, y2),
            Portion(LIQUID, 0.0, near.z),
        ],
        [(a + b) / 2 for a, b in zip(y1, y2, strict=True)],
        last_appears=True,
    )
    if settled is None:
        return None
    one, two, liquid = settled.portions
    return Touch(settled.temp_k, one.phase, one.x), liquid.x, Dip(two.phase, 0.0, two.x)


def _on_path(low: Place, solid: Touch, z: list[float], rival: Dip) -> tuple[Place, Dip]:
    """The place on the path at which the liquid is `z`."""
    drift = drift_of(z, solid.x)
    i = max(range(len(z)), key=lambda k: abs(drift[k]))
    stride = math.log(z[i] / low.z[i]) / ((drift[i] + low.drift[i]) / 2)
    return Place(low.depth + max(stride, 0.0), z, solid, drift), rival


def _between(system: System, low: Place, high: Place, share: float) -> Place | None:
    z = shifted(low.z, [share * math.log(b / a) for a, b in zip(low.z, high.z, strict=True)], 30)
    temp_k = low.solid.temp_k + share * (high.solid.temp_k - low.solid.temp_k)
    guess = high.solid if share > 0.5 else low.solid
    solid = touch(system, (LIQUID, z), (guess.phase, guess.x), temp_k)
    if solid is None:
        return None
    return Place(low.depth + share * (high.depth - low.depth), z, solid, drift_of(z, solid.x))


def _depth_at(system: System, place: Place, rival: Dip) -> Dip:
    temp_k = place.solid.temp_k
    plane = system.phase(LIQUID, temp_k).potentials(place.z)
    low = dip(system.phase(rival.phase, temp_k), plane, rival.x)
    if rival.phase == place.solid.phase and apart(low.x, place.solid.x) < _NEAR:
        # Its valley has not opened here: the slide ended in that of the present solid.
        return Dip(rival.phase, _NOT_THERE, rival.x)
    return low
