"""A heat as it runs: readings come in one by one, and each gets an answer now.

Imports numpy; loaded only when it is asked.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lemel.errors import BadInput
from lemel.melt.batch import BatchRun, columns_of
from lemel.melt.bath import bath_of
from lemel.melt.events import AddMetal, Event, LidOpen, PourOut, PowerOff, SetTo, happen
from lemel.melt.figures import figure
from lemel.melt.fit import Calibration
from lemel.melt.foretell import Band
from lemel.melt.log import LogLine
from lemel.melt.model import FurnaceModel
from lemel.tables import Tables, shipped
from lemel.values import Composition, Quantity, Saying

__all__ = ["LiveAnswer", "LiveHeat", "start_live"]

Array = NDArray[np.float64]

NOISE_K = 4.0
#: A reading further off than this many spreads is doubted once; the second is believed.
ODD_Z = 6.0
LONGEST_S = 3600.0
CHUNK_S = 20.0
STEP_S = 4.0
NEAR_K = 4.0
#: The mould is warm by now; hands and way are made ready.
SOON_S = 180.0


@dataclass(frozen=True, slots=True)
class LiveAnswer:
    """Now: bath and liquid share as bands, time to all liquid and to the pour (None: not in
    sight within an hour), how far the display is off the expected one, and what to do."""

    t_s: float
    display_c: float
    bath_c: Band
    liquid: Band
    liquid_in_s: Band | None
    ready_in_s: Band | None
    deviation_k: float
    deviation_z: float
    advice: tuple[Saying, ...]


class LiveHeat:
    """What is known of a running heat; every reading or event gives a new one.

    A flock of furnaces that could be this one is carried along and corrected at every
    reading (an ensemble square-root filter on states and parameters together). Nothing here
    looks at a clock: times are seconds since light-up. Not a value to be kept: keep the
    readings and events, and play them again.
    """

    __slots__ = (
        "base", "doubted", "last_off_k", "last_z", "ln", "names", "planned_s", "pour_at_c",
        "prior_sd", "readings", "run", "still_g", "tables",
    )  # fmt: skip

    def __init__(
        self,
        run: BatchRun,
        ln: Array,
        names: tuple[str, ...],
        base: Array,
        prior_sd: Array,
        *,
        pour_at_c: float,
        still_g: tuple[float, ...],
        tables: Tables,
    ) -> None:
        self.run, self.ln, self.names, self.base, self.prior_sd = run, ln, names, base, prior_sd
        self.pour_at_c, self.still_g, self.tables = pour_at_c, still_g, tables
        self.planned_s: float | None = None
        self.readings: tuple[tuple[float, float], ...] = ()
        self.last_off_k = self.last_z = 0.0
        self.doubted = False

    def _with(self, **changes: Any) -> LiveHeat:
        other = copy(self)
        for name, value in changes.items():
            setattr(other, name, value)
        return other

    def happened(self, event: Event) -> LiveHeat:
        """A hand did something at the event's time, which must not lie before the last one."""
        run = self._run_until(event.at_s)
        happen(run, event)
        if isinstance(event, LidOpen) and event.until_s < float("inf"):
            run.advance(event.until_s - run.t_s)
            happen(run, event, begins=False)
        still = self.still_g[1:] if isinstance(event, AddMetal) else self.still_g
        changed = self._with(run=run, still_g=still)
        if isinstance(event, AddMetal | SetTo):
            # What was planned before no longer holds.
            ready = _band_or_none(changed._foresee()[1])
            return changed._with(planned_s=None if ready is None else run.t_s + ready.middle)
        return changed

    def lid_on(self, at_s: float) -> LiveHeat:
        """The lid is back."""
        run = self._run_until(at_s)
        run.lid_off = False
        return self._with(run=run)

    def follow(self, line: LogLine) -> LiveHeat:
        """One line of a log: what the hands did, then what the display showed."""
        heat, amount = self, line.amount or 0.0
        match line.event:
            case "charge" | "add":
                heat = heat.happened(AddMetal(line.t_s, amount))
            case "set":
                heat = heat.happened(SetTo(line.t_s, amount))
            case "lid_off":
                heat = heat.happened(LidOpen(line.t_s, float("inf")))
            case "lid_on":
                heat = heat.lid_on(line.t_s)
            case "off":
                heat = heat.happened(PowerOff(line.t_s))
            case "pour":
                heat = heat.happened(PourOut(line.t_s))
        return heat if line.display_c is None else heat.read(line.t_s, line.display_c)

    def read(self, t_s: float, display_c: float) -> LiveHeat:
        """One reading of the display."""
        if not -50 <= display_c <= 1700:
            raise BadInput("display_c", display_c, "-50 to 1700 degC", "Read the display again.")
        run = self._run_until(t_s)
        shown = run.state[5]
        off_k = display_c - float(shown.mean())
        spread = float(np.hypot(shown.std(), NOISE_K))
        z = off_k / spread
        heard = self._with(
            run=run,
            readings=(*self.readings, (t_s, display_c)),
            last_off_k=off_k,
            last_z=z,
            doubted=abs(z) > ODD_Z and not self.doubted,
        )
        return heard if heard.doubted else heard._with(ln=self._correct(run, display_c))

    def answer(self) -> LiveAnswer:
        """Where the heat stands and what comes next."""
        bath, liquid = self.run.charge()
        liquid_in, ready_in = self._foresee()
        display = self.readings[-1][1] if self.readings else float(self.run.state[5].mean())
        found = LiveAnswer(
            self.run.t_s,
            display,
            _band(bath),
            _band(liquid),
            _band_or_none(liquid_in),
            _band_or_none(ready_in),
            self.last_off_k,
            self.last_z,
            (),
        )
        return replace(found, advice=_advice(self, found))

    def _run_until(self, t_s: float) -> BatchRun:
        if t_s < self.run.t_s - 1e-9:
            raise BadInput("t_s", t_s, f"{self.run.t_s:g} or later", "Give readings in order.")
        run = copy(self.run)
        run.values = dict(self.run.values)
        run.advance(t_s - run.t_s)
        return run

    def _correct(self, run: BatchRun, display_c: float) -> Array:
        """Shift states and parameters of the whole flock by one reading; returns parameters."""
        size = run.size
        both = np.vstack([run.state, self.ln])
        mean = both.mean(axis=1, keepdims=True)
        apart = both - mean
        shown = apart[5]
        variance = float(shown @ shown) / (size - 1)
        total = variance + NOISE_K**2
        gain = (apart @ shown) / (size - 1) / total
        eased = 1.0 / (1.0 + np.sqrt(NOISE_K**2 / total))
        mean = mean + (gain * (display_c - float(mean[5, 0])))[:, None]
        both = mean + apart - eased * gain[:, None] * shown[None, :]
        run.state = both[:6].copy()
        limit = 3.5 * self.prior_sd[:, None]
        ln: Array = np.clip(both[6:], -limit, limit)
        theta = self.base[:, None] * np.exp(ln)
        for k, name in enumerate(self.names):
            run.values[name] = theta[k]
        run.refresh()
        return ln

    def _foresee(self) -> tuple[Array, Array]:
        run = copy(self.run)
        liquid_in = np.full(run.size, np.nan)
        ready_in = np.full(run.size, np.nan)
        begun = run.t_s
        if run.mass_g <= 0 or not run.on:
            return liquid_in, ready_in
        run.lid_off = False
        still = list(self.still_g)
        while True:
            bath, liquid = run.charge()
            now = run.t_s - begun
            molten = liquid >= 0.999
            liquid_in = np.where(np.isnan(liquid_in) & molten, now, liquid_in)
            hot = molten & (bath >= self._aim_c(still) - NEAR_K)
            ready_in = np.where(np.isnan(ready_in) & hot, now, ready_in)
            if now >= LONGEST_S or not (still or np.isnan(ready_in).any()):
                return liquid_in, ready_in
            if still and hot.mean() >= 0.5:
                # The whole flock is topped up when half of it could be.
                _top_up(run, still.pop(0), figure("lid_s", self.tables))
                liquid_in = np.full(run.size, np.nan)
                ready_in = np.full(run.size, np.nan)
            else:
                run.advance(CHUNK_S)

    def _aim_c(self, still: Sequence[float]) -> float:
        """How hot the bath must be: for the next filling, or for the pour."""
        over_c = self.run.bath.liquidus_c + figure("over_k", self.tables)
        return min(over_c, self.pour_at_c) if still else self.pour_at_c


def _top_up(run: BatchRun, mass_g: float, lid_s: float) -> None:
    run.lid_off = True
    run.add(mass_g, run.ambient_c)
    run.advance(lid_s)
    run.lid_off = False


def start_live(
    known: Calibration | FurnaceModel,
    body: Composition,
    charge_g: float,
    *,
    setpoint_c: float,
    pour_at_c: float,
    top_ups_g: Sequence[float] = (),
    start_c: float = 18.0,
    ambient_c: float = 18.0,
    flock: int = 100,
    seed: int = 1,
    ln_sd: Mapping[str, float] | None = None,
    tables: Tables | None = None,
) -> LiveHeat:
    """The estimator at light-up, from a calibration or from a furnace's figures alone.

    `top_ups_g` are the fillings still to come: the time to the pour counts them, and the answer
    says when each may go in. Without a calibration the figures are as unsure as the table says,
    save those whose relative spread `ln_sd` gives (a furnace that was calibrated before carries
    them).
    """
    tables = tables or shipped()
    chance = np.random.default_rng(seed)
    if isinstance(known, Calibration):
        model, names = known.model, known.names
        base = np.array(known.values)
        sd = np.array(known.ln_sd)
        root = np.linalg.cholesky(np.array(known.covariance) + 1e-12 * np.eye(len(names)))
        # A furnace is never quite as it was: a little of the table's spread stays.
        ln = root @ chance.standard_normal((len(names), flock))
        ln = ln + 0.02 * chance.standard_normal((len(names), flock))
        sd = np.hypot(sd, 0.02)
    else:
        model = known
        rows = tables.table("melt_furnace")
        names = tuple(n for n, row in rows.items() if row.text("fitted") == "yes")
        base = np.array([getattr(model, name) for name in names])
        own = ln_sd or {}
        sd = np.array([own.get(name, rows[name].number("ln_sd")) for name in names])
        ln = sd[:, None] * chance.standard_normal((len(names), flock))
    changed: dict[str, Any] = {name: base[k] * np.exp(ln[k]) for k, name in enumerate(names)}
    run = BatchRun(
        columns_of(model, changed), model, bath_of(body, tables), charge_g, flock,
        start_c=start_c, ambient_c=ambient_c, setpoint_c=setpoint_c, step_s=STEP_S, keep=False,
    )  # fmt: skip
    heat = LiveHeat(
        run, ln, names, base, sd, pour_at_c=pour_at_c, still_g=tuple(top_ups_g), tables=tables
    )
    ready = _band_or_none(heat._foresee()[1])
    heat.planned_s = None if ready is None else ready.middle
    return heat


def _advice(heat: LiveHeat, now: LiveAnswer) -> tuple[Saying, ...]:
    said = []
    display = Quantity(now.display_c, "degC")
    if heat.doubted:
        said.append(Saying("melt.live.odd", {"display": display}))
    room_k = figure("glad_room_k", heat.tables)
    if now.display_c > heat.run.setpoint_c + room_k:
        said.append(Saying("melt.live.too_hot", {"display": display}))
    if _stuck(heat):
        said.append(Saying("melt.live.stuck"))
    if heat.run.mass_g <= 0:
        said.append(Saying("melt.live.poured"))
    elif now.ready_in_s is None:
        said += [Saying("melt.live.no_end")] if heat.run.on else []
    else:
        said += _next_step(heat, now, now.ready_in_s)
    return tuple(said)


def _next_step(heat: LiveHeat, now: LiveAnswer, ready: Band) -> Iterator[Saying]:
    """How late it runs, and what the hands do next."""
    late_s = heat.run.t_s + ready.middle - (heat.planned_s or 0.0)
    if heat.planned_s is not None and late_s > max(120.0, 0.15 * heat.planned_s):
        yield Saying("melt.live.slower", {"late": _about(late_s)})
    molten = now.liquid.low >= 0.999
    bath = Quantity(now.bath_c.middle, "degC")
    if heat.still_g:
        if molten and now.bath_c.middle >= heat._aim_c(heat.still_g) - NEAR_K:
            next_g = Quantity(heat.still_g[0], "g")
            yield Saying("melt.live.top_up", {"bath": bath, "mass": next_g})
        else:
            yield Saying("melt.live.wait_top_up", {"ready": _about(ready.middle)})
    elif ready.high <= 30 and molten:
        yield Saying("melt.live.pour", {"bath": bath})
    elif ready.middle <= SOON_S:
        yield Saying("melt.live.soon", {"ready": _about(ready.middle)})
    elif ready.middle <= 60 * figure("mould_warm_min", heat.tables):
        yield Saying("melt.live.mould", {"ready": _about(ready.middle)})
    else:
        yield Saying("melt.live.wait", {"ready": _about(ready.middle)})
    if now.liquid.middle < 0.98 and now.display_c > heat.run.bath.liquidus_c:
        share = Quantity(10 * round(10 * now.liquid.middle), "percent")
        yield Saying("melt.live.part_frozen", {"share": share})


def _about(seconds: float) -> Quantity:
    """A time as a hand needs it: whole minutes, under two of them tens of seconds."""
    if seconds >= 115:
        return Quantity(round(seconds / 60), "min")
    return Quantity(10 * max(1, round(seconds / 10)), "s")


def _stuck(heat: LiveHeat) -> bool:
    """The display stands still well below the setpoint although the power should be on."""
    if len(heat.readings) < 3 or not heat.run.on:
        return False
    (t0, first), (t1, last) = heat.readings[-3], heat.readings[-1]
    below = last < heat.run.setpoint_c - 60
    return below and t1 - t0 >= 90 and last - first < 0.02 * (t1 - t0) and heat.last_off_k < -8


def _band(values: Array) -> Band:
    low, middle, high = np.quantile(values, [0.05, 0.5, 0.95])
    return Band(float(low), float(middle), float(high))


def _band_or_none(values: Array) -> Band | None:
    return None if np.isnan(values).mean() > 0.05 else _band(values[~np.isnan(values)])
