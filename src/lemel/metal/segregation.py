"""Freezing as castings do it: what has frozen no longer changes, the liquid stays mixed.

With f the share still liquid, z its composition and y the solid that forms from it,
d ln z_i = (1 - y_i / z_i) d(-ln f). Where a second solid joins, the liquid of two elements
freezes at one temperature; of three, it follows the valley between the two solids
(`lemel.metal.valley`). Metal counts as solid when a small stated share is left. Sources:
G.-M. Gulliver, J. Inst. Met. 9 (1913) 120-157; E. Scheil, Z. Metallkd. 34 (1942) 70-72.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from lemel.errors import Broken
from lemel.metal.equilibrium import equilibrium
from lemel.metal.freezing import Touch, touch
from lemel.metal.gibbs import LIQUID, PhaseAt, System
from lemel.metal.settle import Portion, settle
from lemel.metal.stability import Dip, apart, dip, is_bottom, shifted, slide, split
from lemel.metal.valley import down_the_valley

__all__ = ["Frozen", "freeze_segregated"]

_CROSSED = -1e-9
#: Newton steps shorter than this end while the path is followed; checked places are exact.
_FOLLOW = 0.02
#: The stride is chosen so that the drift changes by no more than this over one.
_BEND = 0.04
_SHORTEST = 1e-5
#: A second solid is looked for this often, in -ln f.
_LOOK_EVERY = 0.15
#: Compositions nearer than this belong to the valley of the present solid.
_NEAR = 0.05
#: A solid that moves farther than this in one stride was lost.
_LONGEST_JUMP = 0.1
_NOT_THERE = 0.01
_ACROSS = 0.9
#: Valley strides are this much longer: there the temperature hardly moves.
_VALLEY_STRIDE = 3.0
_SLOW_FALL_K, _LEAST_FALL_K = 1.0, 0.01


@dataclass(frozen=True, slots=True)
class Frozen:
    """One moment of a casting's freezing: share still liquid (moles), temperature, its liquid.

    `together` is True from the moment at which two solids form side by side.
    """

    liquid: float
    temp_k: float
    x: list[float]
    together: bool = False


@dataclass(frozen=True, slots=True)
class _Place:
    """A point of the path: -ln f, the liquid, the solid that forms from it, and the drift."""

    depth: float
    z: list[float]
    solid: Touch
    drift: list[float]


def freeze_segregated(
    system: System, x: Sequence[float], top: Touch, steps: int = 16, last: float = 0.005
) -> list[Frozen]:
    """From the liquidus until the share `last` is still liquid, in at least `steps` steps.

    Where all that is left freezes at one temperature (a eutectic), the last entry
    has liquid 0 at that temperature and the one before it the share that froze there.
    """
    path = [Frozen(1.0, top.temp_k, list(x))]
    if len(x) == 1:
        return [*path, Frozen(0.0, top.temp_k, list(x))]
    bottom = -math.log(last)
    longest = bottom / steps
    look_every = _LOOK_EVERY if len(x) == 2 else _LOOK_EVERY / 3
    here, before, stride = _Place(0.0, list(x), top, _drift(x, top.x)), None, longest
    checked, rivals = here, _rivals(system, here)
    while here.depth < bottom - 1e-12:
        following, stride = _onwards(system, here, before, min(stride, bottom - here.depth))
        if following is None:
            return path + _by_temperature(system, path[-1], last)
        late = following.depth - checked.depth >= look_every or following.depth > bottom - 1e-12
        if late:
            following = _exact(system, following)
            rivals = _rivals(system, following, rivals)
        if not (late and rivals and rivals[0].depth < _CROSSED):
            stride = min(longest, stride * _lengthen(here, following))
            before, here = here, following
            checked = here if late else checked
            path.append(_entry(here))
            continue
        path = [entry for entry in path if entry.liquid > math.exp(-checked.depth) - 1e-12]
        here, rival = crossing(system, checked, following, rivals[0])
        path.append(_entry(here, together=True))
        if len(x) > 2:
            path += _through_valley(system, here, rival, bottom, longest)
            done = path[-1].liquid < last * (1 + 1e-6)
            return path if done else path + _by_temperature(system, path[-1], last)
        if (here.z[0] - here.solid.x[0]) * (here.z[0] - rival.x[0]) < 0:
            return [*path, Frozen(0.0, here.solid.temp_k, here.z, True)]
        # A peritectic: the first solid is left behind, the second goes on alone.
        solid = Touch(here.solid.temp_k, rival.phase, rival.x)
        here = _Place(here.depth, here.z, solid, _drift(here.z, solid.x))
        before, checked, rivals = None, here, []
    return path


def _through_valley(
    system: System, here: _Place, rival: Dip, bottom: float, longest: float
) -> list[Frozen]:
    pair = ((here.solid.phase, here.solid.x), (rival.phase, rival.x))
    valley = down_the_valley(
        system, here.solid.temp_k, here.z, pair, bottom - here.depth, _VALLEY_STRIDE * longest
    )
    share = math.exp(-here.depth)
    return [Frozen(share * f, temp_k, z, True) for f, temp_k, z in valley]


def _lengthen(here: _Place, following: _Place) -> float:
    """How much longer the next stride may be, or must be shorter."""
    bend = max(abs(a - b) for a, b in zip(here.drift, following.drift, strict=True))
    return min(2.0, max(0.4, _BEND / max(bend * (following.depth - here.depth), 1e-9)))


def _by_temperature(system: System, start: Frozen, last: float) -> list[Frozen]:
    """The slow way, for places where the path cannot be followed: small steps of temperature,
    each an equilibrium of what is still liquid, with the solid put aside."""
    path: list[Frozen] = []
    share, temp_k, z = start.liquid, start.temp_k, start.x
    fall = _SLOW_FALL_K
    state: list[Portion] = []
    while share > last and len(path) < 2000:
        state = equilibrium(system, temp_k - fall, z, state)
        liquid = next((p for p in state if p.phase == LIQUID), None)
        if liquid is None:
            if fall > _LEAST_FALL_K:
                fall /= 2
                continue
            return [*path, Frozen(0.0, temp_k, list(z), True)]
        temp_k -= fall
        share *= liquid.amount
        z = liquid.x
        path.append(Frozen(max(share, last), temp_k, z, len(state) > 2))
        fall = min(2 * fall, _SLOW_FALL_K)
    return path


def _entry(place: _Place, *, together: bool = False) -> Frozen:
    return Frozen(math.exp(-place.depth), place.solid.temp_k, place.z, together)


def _drift(z: Sequence[float], y: Sequence[float]) -> list[float]:
    """d ln z / d(-ln f): what the forming solid leaves out gathers in the liquid."""
    return [1 - b / a for a, b in zip(z, y, strict=True)]


def _onwards(
    system: System, here: _Place, before: _Place | None, stride: float
) -> tuple[_Place | None, float]:
    """The next place, with a shorter stride where the solid cannot be followed."""
    while stride > _SHORTEST:
        found = _step(system, here, before, stride)
        if found is not None:
            return found, stride
        stride /= 2
    return None, stride


def _step(system: System, here: _Place, before: _Place | None, stride: float) -> _Place | None:
    """Two-step Adams rule in ln z; a midpoint start where there is no place before."""
    if before is None:
        half = _place(system, here, stride / 2, here.drift, here.solid)
        if half is None:
            return None
        return _place(system, here, stride, half.drift, half.solid)
    ratio = stride / (2 * (here.depth - before.depth))
    drift = [(1 + ratio) * a - ratio * b for a, b in zip(here.drift, before.drift, strict=True)]
    return _place(system, here, stride, drift, _ahead(here, before, 2 * ratio))


def _ahead(here: _Place, before: _Place, share: float) -> Touch:
    """Where the solid will be if it goes on as it went: the seed of the next solution."""
    x = [
        max(a * (a / b) ** share if b > 0 else a, 1e-300)
        for a, b in zip(here.solid.x, before.solid.x, strict=True)
    ]
    total = sum(x)
    temp_k = here.solid.temp_k + share * (here.solid.temp_k - before.solid.temp_k)
    return Touch(temp_k, here.solid.phase, [v / total for v in x])


def _place(
    system: System, here: _Place, stride: float, drift: Sequence[float], seed: Touch
) -> _Place | None:
    z = shifted(here.z, [stride * d for d in drift], most=30)
    solid = touch(system, (LIQUID, z), (seed.phase, seed.x), seed.temp_k, sure=_FOLLOW)
    if solid is None or apart(solid.x, here.solid.x) > _LONGEST_JUMP:
        return None
    if not is_bottom(system.phase(solid.phase, solid.temp_k), solid.x):
        return None
    return _Place(here.depth + stride, z, solid, _drift(z, solid.x))


def _exact(system: System, place: _Place) -> _Place:
    """The place with its solid solved to the end."""
    mine = place.solid
    solid = touch(system, (LIQUID, place.z), (mine.phase, mine.x), mine.temp_k) or mine
    return _Place(place.depth, place.z, solid, _drift(place.z, solid.x))


def _rivals(system: System, place: _Place, known: Sequence[Dip] = ()) -> list[Dip]:
    """Other solids that might join, deepest first: one for each valley beside the present one."""
    temp_k, mine = place.solid.temp_k, place.solid
    plane = system.phase(LIQUID, temp_k).potentials(place.z)
    at = {name: system.phase(name, temp_k) for name in system.solids}
    seeds: list[tuple[str, Sequence[float]]] = [(d.phase, d.x) for d in known]
    if not seeds:
        # No valley was known: a short slide from afar shows whether one has opened.
        slides = [(n, slide(at[n], plane, y)) for n, y in _afar(at, mine)]
        seeds = [(n, y) for n, y in slides if n != mine.phase or apart(y, mine.x) > _NEAR]
    found: list[Dip] = []
    for name, seed in seeds:
        low = dip(at[name], plane, seed)
        if name == mine.phase and apart(low.x, mine.x) < _NEAR and low.depth > -1e-7:
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


def crossing(system: System, low: _Place, high: _Place, rival: Dip) -> tuple[_Place, Dip]:
    """Where between two places the rival first touches.

    Of two elements: the temperature at which both solids and the liquid meet. Of three:
    false position on the rival's depth, along the straight way between the places.
    """
    if len(low.z) == 2:
        met = _meeting(system, high, rival)
        if met is not None:
            return _on_path(low, *met)
    ends = (low, high)
    depth_low = max(_depth_at(system, low, rival).depth, 1e-12)
    share_low, share_high, depth_high = 0.0, 1.0, rival.depth
    for turn in range(60):
        if abs(depth_high) < 1e-9 or share_high - share_low < 1e-12:
            break
        cut = depth_low / (depth_low - depth_high) if turn % 4 < 3 else 0.5
        share = share_low + cut * (share_high - share_low)
        middle = _between(system, ends[0], ends[1], share)
        found = _depth_at(system, middle, rival)
        if found.depth < 0:
            high, share_high, depth_high, rival = middle, share, found.depth, found
            depth_low /= 2  # the end that stays loses weight (Illinois rule)
        else:
            share_low, depth_low = share, found.depth
    return high, rival


def _meeting(system: System, near: _Place, rival: Dip) -> tuple[Touch, list[float], Dip] | None:
    """Temperature, liquid and both solids of a binary invariant."""
    y1, y2 = near.solid.x, rival.x
    middle = [(a + b) / 2 for a, b in zip(y1, y2, strict=True)]
    settled = settle(
        system,
        near.solid.temp_k,
        [
            Portion(near.solid.phase, 0.5, y1),
            Portion(rival.phase, 0.5, y2),
            Portion(LIQUID, 0.0, near.z),
        ],
        middle,
        last_appears=True,
    )
    if settled is None:
        return None
    one, two, liquid = settled.portions
    return (
        Touch(settled.temp_k, one.phase, one.x), liquid.x, Dip(two.phase, 0.0, two.x)
    )  # fmt: skip


def _on_path(low: _Place, solid: Touch, z: list[float], rival: Dip) -> tuple[_Place, Dip]:
    """The place on the path at which the liquid is `z`."""
    drift = _drift(z, solid.x)
    i = max(range(len(z)), key=lambda k: abs(drift[k]))
    stride = math.log(z[i] / low.z[i]) / ((drift[i] + low.drift[i]) / 2)
    return _Place(low.depth + max(stride, 0.0), z, solid, drift), rival


def _between(system: System, low: _Place, high: _Place, share: float) -> _Place:
    z = shifted(low.z, [share * math.log(b / a) for a, b in zip(low.z, high.z, strict=True)], 30)
    temp_k = low.solid.temp_k + share * (high.solid.temp_k - low.solid.temp_k)
    guess = high.solid if share > 0.5 else low.solid
    solid = touch(system, (LIQUID, z), (guess.phase, guess.x), temp_k)
    if solid is None:
        raise Broken("a path of freezing was lost between two of its own places")
    return _Place(low.depth + share * (high.depth - low.depth), z, solid, _drift(z, solid.x))


def _depth_at(system: System, place: _Place, rival: Dip) -> Dip:
    temp_k = place.solid.temp_k
    plane = system.phase(LIQUID, temp_k).potentials(place.z)
    low = dip(system.phase(rival.phase, temp_k), plane, rival.x)
    if rival.phase == place.solid.phase and apart(low.x, place.solid.x) < _NEAR:
        # Its valley has not opened here: the slide ended in that of the present solid.
        return Dip(rival.phase, _NOT_THERE, rival.x)
    return low
