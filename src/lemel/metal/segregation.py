"""Freezing as castings do it: what has frozen no longer changes, the liquid stays mixed.

With f the share still liquid, z its composition and y the solid that forms from it,
d ln z_i = (1 - y_i / z_i) d(-ln f). Where a second solid joins, the liquid of two elements
freezes at one temperature; of three, it follows the valley between the two solids
(`lemel.metal.valley`). Metal counts as solid when a small stated share is left. Sources:
G.-M. Gulliver, J. Inst. Met. 9 (1913) 120-157; E. Scheil, Z. Metallkd. 34 (1942) 70-72.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from lemel.metal.bounds import Touch
from lemel.metal.equilibrium import equilibrium
from lemel.metal.follow import Place, drift_of, exact, further, lengthen, meeting, rivals_of
from lemel.metal.gibbs import LIQUID, System
from lemel.metal.settle import Portion
from lemel.metal.stability import Dip, apart
from lemel.metal.valley import Valley, down_the_valley, open_valley

__all__ = ["Frozen", "freeze_segregated"]

_CROSSED = -1e-9
#: Another solid is looked for this often, in -ln f, in systems of two and of more elements.
_LOOK_EVERY = {2: 0.15, 3: 0.05}
#: Valley strides are this much longer: there the temperature hardly moves.
_VALLEY_STRIDE = 3.0
#: Less than this (moles) of the third element cannot draw a eutectic out into a valley.
_TRACE = 1e-5
_APART = 0.1
_SLOW_FALL_K, _LEAST_FALL_K = 1.0, 0.01


class Frozen(NamedTuple):
    """One moment of a casting's freezing: share still liquid (moles), temperature, its liquid.

    `together` is True while two solids form side by side.
    """

    liquid: float
    temp_k: float
    x: list[float]
    together: bool = False


def freeze_segregated(
    system: System, x: Sequence[float], top: Touch, steps: int = 12, last: float = 0.005
) -> list[Frozen]:
    """From the liquidus until the share `last` is still liquid, in `steps` steps or more.

    Where all that is left freezes at one temperature (a eutectic), the last entry
    has liquid 0 at that temperature and the one before it the share that froze there.
    """
    if len(x) == 1:
        return [Frozen(1.0, top.temp_k, list(x)), Frozen(0.0, top.temp_k, list(x))]
    freezing = _Freezing(system, x, top, -math.log(last) / steps, -math.log(last))
    freezing.run()
    return freezing.path


class _Freezing:
    """The state of one run: where it is, where it was, and which other solids are near."""

    def __init__(
        self, system: System, x: Sequence[float], top: Touch, longest: float, bottom: float
    ) -> None:
        self.system = system
        self.longest, self.bottom = longest, bottom
        self.look_every = _LOOK_EVERY[min(len(x), 3)]
        self.path = [Frozen(1.0, top.temp_k, list(x))]
        self.slow = False
        self._start_at(Place(0.0, list(x), top, drift_of(x, top.x)))

    def _start_at(self, place: Place) -> None:
        self.here = place
        self.before: Place | None = None
        self.checked, self.rivals = place, rivals_of(self.system, place)
        self.stride = self.longest

    def run(self) -> None:
        """Follow one solid after the other until the last share is reached."""
        for _ in range(20_000):
            if self.here.depth > self.bottom - 1e-9:
                break
            following, self.stride = further(
                self.system, self.here, self.before, min(self.stride, self.bottom - self.here.depth)
            )
            if following is None:
                if self._enter_hidden_valley():
                    continue
                return
            following, rival = self._look_about(following)
            if rival is not None:
                if self._join(following, rival):
                    continue
                return
            self.stride = min(self.longest, self.stride * lengthen(self.here, following))
            self.before, self.here = self.here, following
            self._note(following)

    def _note(self, place: Place, *, together: bool = False) -> None:
        self.path.append(Frozen(math.exp(-place.depth), place.solid.temp_k, place.z, together))

    def _look_about(self, following: Place) -> tuple[Place, Dip | None]:
        """Now and then, at an exact place: has another solid come below the plane?"""
        at_end = following.depth > self.bottom - 1e-9
        if following.depth - self.checked.depth < self.look_every and not at_end:
            return following, None
        following = exact(self.system, following)
        self.rivals = rivals_of(self.system, following, self.rivals)
        if self.rivals and self.rivals[0].depth < _CROSSED:
            return following, self.rivals[0]
        self.checked = following
        return following, None

    def _join(self, following: Place, rival: Dip) -> bool:
        """A second solid joins between the last check and `following`. False if all is frozen."""
        start = self.checked
        limit = math.exp(-start.depth) - 1e-12
        self.path = [entry for entry in self.path if entry.liquid > limit]
        met = meeting(self.system, start, following, rival)
        if met is None:
            self._by_temperature()
            return False
        here, other = met
        self._note(here, together=True)
        if len(here.z) > 2 and min(here.z) > _TRACE:
            valley = Valley(
                here.solid.temp_k, here.z, (here.solid.phase, other.phase), here.solid.x, other.x
            )
            return self._through_valley(here.depth, valley)
        i = max(range(len(here.z)), key=lambda k: abs(here.solid.x[k] - other.x[k]))
        if (here.z[i] - here.solid.x[i]) * (here.z[i] - other.x[i]) < 0:
            self.path.append(Frozen(0.0, here.solid.temp_k, here.z, True))
            return False
        # A peritectic: the first solid is left behind, the second goes on alone.
        self._alone(here.depth, here.z, Touch(here.solid.temp_k, other.phase, other.x))
        return True

    def _alone(self, depth: float, z: list[float], solid: Touch) -> None:
        self._start_at(Place(depth, z, solid, drift_of(z, solid.x)))
        if len(z) == 2:
            self.rivals = []

    def _enter_hidden_valley(self) -> bool:
        """At the closed end of a valley the two solids are hard to tell apart: look just below.

        True if a single solid goes on afterwards.
        """
        found = None
        if len(self.here.z) > 2:
            found = open_valley(self.system, self.here.solid, self.here.z)
        if found is not None:
            return self._through_valley(self.here.depth, found)
        self._by_temperature()
        return False

    def _through_valley(self, depth: float, start: Valley) -> bool:
        """Down the valley. True if a single solid goes on from its end."""
        stride = _VALLEY_STRIDE * self.longest
        walk = down_the_valley(self.system, start, self.bottom - depth, stride)
        share = math.exp(-depth)
        self.path += [Frozen(share * f, temp_k, z, True) for f, temp_k, z in walk.path]
        if walk.end == "frozen":
            return False
        if walk.path:
            depth = -math.log(self.path[-1].liquid)
        if walk.end == "one_left" and walk.path:
            self._alone(depth, walk.valley.z, walk.one_left)
            return True
        self._by_temperature()
        return False

    def _by_temperature(self) -> None:
        """The slow way, for places where the path cannot be followed: small steps of temperature,
        each an equilibrium of what is still liquid, with the solid put aside."""
        start, last = self.path[-1], math.exp(-self.bottom)
        share, temp_k, z = start.liquid, start.temp_k, start.x
        fall, state = _SLOW_FALL_K, list[Portion]()
        while share > last * (1 + 1e-9) and len(self.path) < 3000:
            state = equilibrium(self.system, temp_k - fall, z, state)
            liquid = next((p for p in state if p.phase == LIQUID), None)
            if liquid is None:
                if fall > _LEAST_FALL_K:
                    fall /= 2
                    continue
                self.path.append(Frozen(0.0, temp_k, list(z), True))
                return
            temp_k -= fall
            share *= liquid.amount
            z = liquid.x
            self.path.append(Frozen(max(share, last), temp_k, z, len(state) > 2))
            solids = [p for p in state if p is not liquid]
            if len(solids) == 2 and len(z) > 2 and apart(solids[0].x, solids[1].x) > _APART:
                names = (solids[0].phase, solids[1].phase)
                valley = Valley(temp_k, z, names, solids[0].x, solids[1].x)
                if not self.slow:
                    self.slow = True
                    self._through_valley(-math.log(share), valley)
                    return
            fall = min(2 * fall, _SLOW_FALL_K)
