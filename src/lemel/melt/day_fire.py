"""The day's heats played on one furnace: when metal is ready for a hand, and what it took."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass

from lemel.melt.figures import figure
from lemel.melt.fire import cool_down_h
from lemel.melt.run import Run
from lemel.melt.settle import Heat
from lemel.tables import Tables
from lemel.values import Crucible

__all__ = ["FireAct", "FireDay", "Pouring", "play_day"]


@dataclass(frozen=True, slots=True)
class Pouring:
    """How a heat is emptied: so many fillings, with a wait between them."""

    pours: int
    wait_s: float


@dataclass(frozen=True, slots=True)
class FireAct:
    """One act of the hands at the furnace: what (a code), of which heat (its place in the day),
    how long, and how long after it the furnace is ready for the next one."""

    code: str
    heat: int
    minutes: float
    lag_min: float


@dataclass(frozen=True, slots=True)
class FireDay:
    """All acts in order, the run at the last pour, and how long the pot then takes to cool."""

    acts: tuple[FireAct, ...]
    run: Run
    cool_min: float


class _Player:
    """Plays act after act on one run, each when it is ready or at its given moment."""

    def __init__(self, run: Run, starts: Sequence[float] | None, tables: Tables) -> None:
        self.run, self.starts, self.tables = run, starts, tables
        self.acts: list[FireAct] = []
        self.ended_s = 0.0

    def minutes(self, name: str) -> float:
        return figure(name, self.tables)

    def moments_s(self, count: int) -> list[float]:
        """Given moments of the next acts; none where they come as soon as they can."""
        at = len(self.acts)
        return [] if self.starts is None else [60 * m for m in self.starts[at : at + count]]

    def hold(self) -> None:
        """Until the moment of the next act."""
        for moment_s in self.moments_s(1):
            self.run.advance(moment_s - self.run.t_s)

    def note(self, code: str, heat: int, start_s: float, minutes: float, ready_s: float) -> None:
        """An act from `start_s`; the one before it was ready for it at `ready_s`."""
        if self.acts:
            last = self.acts[-1]
            lag_min = max(0.0, (ready_s - self.ended_s) / 60)
            self.acts[-1] = FireAct(last.code, last.heat, last.minutes, lag_min)
        self.acts.append(FireAct(code, heat, minutes, 0.0))
        self.ended_s = start_s + 60 * minutes

    def swap(self, n: int, heat: Heat, *, same: bool) -> None:
        """The pot of the next heat into the furnace."""
        run = self.run
        if not same:
            ready_s = run.t_s
            self.hold()
            self.note("melt.day.swap", n, run.t_s, self.minutes("swap_min"), ready_s)
            run.lid_off = True
            run.advance(60 * self.minutes("swap_min"))
            run.lid_off = False
        run.next_pot(heat.model, heat.bath, same_pot=same)

    def charge_and_melt(self, n: int, heat: Heat) -> None:
        """Charge, top up, stir; the run ends at the moment of the pour."""
        run, minutes, ready_s = self.run, self.minutes("charge_min"), self.run.t_s
        self.hold()
        self.note("melt.day.charge", n, run.t_s, minutes, ready_s)
        if n:
            # Into a hot pot the metal goes through the open mouth; then the hands tidy up.
            run.lid_off = True
            run.advance(self.minutes("lid_s"))
            run.lid_off = False
        played = heat.play(run, self.tables, self.moments_s(len(heat.fills())))
        begun_s = self._begun_s(played.ready_s)
        for at_s, ready_s in list(zip(begun_s, played.ready_s, strict=True))[:-1]:
            self.note("melt.day.top_up", n, at_s, self.minutes("lid_s") / 60, ready_s)
        stood = (played.pour_s - begun_s[-1]) / 60
        self.note("melt.day.pour", n, begun_s[-1], stood + self._tip_min(), played.ready_s[-1])

    def _begun_s(self, ready_s: Sequence[float]) -> list[float]:
        """When top-ups and stir were really begun: never before the bath was ready."""
        wanted = self.moments_s(len(ready_s)) or ready_s
        return [max(a, b) for a, b in zip(wanted, ready_s, strict=False)]

    def _tip_min(self) -> float:
        return self.minutes("pour_s") / 60 + self.minutes("turn_out_min")

    def empty(self, n: int, how: Pouring) -> None:
        """One filling of the mould after the other, the pot back in the fire between them."""
        run, each_g = self.run, self.run.mass_g / how.pours
        for k in range(how.pours):
            if k:
                ready_s = self.ended_s + max(how.wait_s, self.minutes("lift_back_s"))
                run.advance(ready_s - run.t_s)
                self.hold()
                self.note("melt.day.pour_again", n, run.t_s, self._tip_min(), ready_s)
            run.advance(self.minutes("pour_s"))
            run.pour_out(run.mass_g - each_g if k < how.pours - 1 else 0.0)
            run.advance(self.ended_s - run.t_s)


def play_day(
    heats: Sequence[Heat],
    pourings: Sequence[Pouring],
    tables: Tables,
    starts: Sequence[float] | None = None,
) -> FireDay:
    """Every heat after the first starts from the hot furnace, with the pot hot too if it is the
    same one. `starts` are the minutes at which the acts are begun, in their order (None: each
    as soon as it can), the first of them being the light-up; a bath that is ready before is held
    at heat.
    """
    if starts is not None:
        starts = [start - starts[0] for start in starts]
    first = heats[0].problem
    run = Run(heats[0].model, heats[0].bath, 0.0, start_c=first.start_c, ambient_c=first.ambient_c)
    player = _Player(run, starts, tables)
    pot: Crucible | None = None
    for n, (heat, how) in enumerate(zip(heats, pourings, strict=True)):
        if pot is not None:
            player.swap(n, heat, same=pot == heat.pot)
        player.charge_and_melt(n, heat)
        player.empty(n, how)
        pot = heat.pot
    cool_min = 60 * cool_down_h(copy(run), figure("attend_c", tables))
    return FireDay(tuple(player.acts), run, cool_min)
