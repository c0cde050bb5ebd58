"""A heat as it runs: readings come in one by one, and each gets an answer now.

Imports numpy; loaded only when it is asked.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lemel.errors import BadInput
from lemel.melt.batch import BatchRun, columns_of
from lemel.melt.bath import bath_of
from lemel.melt.events import AddMetal, Event, LidOpen, SetTo, happen
from lemel.melt.figures import figure
from lemel.melt.fit import Calibration
from lemel.melt.foretell import Band
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
        "prior_sd", "readings", "run", "tables",
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
        tables: Tables,
    ) -> None:
        self.run, self.ln, self.names, self.base, self.prior_sd = run, ln, names, base, prior_sd
        self.pour_at_c, self.tables = pour_at_c, tables
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
        changed = self._with(run=run)
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
        while True:
            bath, liquid = run.charge()
            now = run.t_s - begun
            molten = liquid >= 0.999
            liquid_in = np.where(np.isnan(liquid_in) & molten, now, liquid_in)
            hot = molten & (bath >= self.pour_at_c - NEAR_K)
            ready_in = np.where(np.isnan(ready_in) & hot, now, ready_in)
            if not np.isnan(ready_in).any() or now >= LONGEST_S:
                return liquid_in, ready_in
            run.advance(CHUNK_S)


def start_live(
    known: Calibration | FurnaceModel,
    body: Composition,
    charge_g: float,
    *,
    setpoint_c: float,
    pour_at_c: float,
    start_c: float = 18.0,
    ambient_c: float = 18.0,
    flock: int = 100,
    seed: int = 1,
    tables: Tables | None = None,
) -> LiveHeat:
    """The estimator at light-up, from a calibration or from the table's figures alone."""
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
        sd = np.array([rows[name].number("ln_sd") for name in names])
        ln = sd[:, None] * chance.standard_normal((len(names), flock))
    changed: dict[str, Any] = {name: base[k] * np.exp(ln[k]) for k, name in enumerate(names)}
    run = BatchRun(
        columns_of(model, changed), model, bath_of(body, tables), charge_g, flock,
        start_c=start_c, ambient_c=ambient_c, setpoint_c=setpoint_c, step_s=STEP_S, keep=False,
    )  # fmt: skip
    heat = LiveHeat(run, ln, names, base, sd, pour_at_c=pour_at_c, tables=tables)
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
    if now.ready_in_s is None:
        if heat.run.on and heat.run.mass_g > 0:
            said.append(Saying("melt.live.no_end"))
        return tuple(said)
    late_s = heat.run.t_s + now.ready_in_s.middle - (heat.planned_s or 0.0)
    if heat.planned_s is not None and late_s > max(120.0, 0.15 * heat.planned_s):
        said.append(Saying("melt.live.slower", {"late": Quantity(late_s / 60, "min")}))
    ready_min = now.ready_in_s.middle / 60
    if now.ready_in_s.high <= 30 and now.liquid.low >= 0.999:
        said.append(Saying("melt.live.pour", {"bath": Quantity(now.bath_c.middle, "degC")}))
    elif ready_min <= figure("mould_warm_min", heat.tables):
        said.append(Saying("melt.live.mould", {"ready": Quantity(ready_min, "min")}))
    else:
        said.append(Saying("melt.live.wait", {"ready": Quantity(ready_min, "min")}))
    if now.liquid.middle < 0.98 and now.display_c > heat.run.bath.liquidus_c:
        share = Quantity(100 * now.liquid.middle, "percent")
        said.append(Saying("melt.live.part_frozen", {"share": share}))
    return tuple(said)


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
