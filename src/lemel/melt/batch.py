"""The same furnace for many parameter sets at once, with arrays: one column a set.

Imports numpy, so nothing that must start fast imports this module at its head.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lemel.melt.bath import Bath
from lemel.melt.model import FurnaceModel
from lemel.melt.rates import QUICK_SHARE, HeunStep, contact_w_k, furnace_terms

#: Longest step while nothing but shells and pot change, s.
IDLE_STEP_S = 10.0

__all__ = ["BatchRun", "Column", "columns_of"]

Column = NDArray[np.float64]


def columns_of(model: FurnaceModel, changed: Mapping[str, Column]) -> dict[str, Any]:
    """Every parameter as a number or, where it varies, as a column."""
    return {**model.values(), **changed}


@dataclass(slots=True)
class _Series:
    """What is kept of every step: whole states, so that bath and liquid cost nothing meanwhile."""

    t_s: list[float] = field(default_factory=list)
    state: list[NDArray[np.float64]] = field(default_factory=list)
    energy_j: list[Column] = field(default_factory=list)


class BatchRun:
    """Heats of `size` furnaces that differ in their parameters, stepped together by Heun.

    Same equations, states and thermostat as `Run`; `keep` False keeps no series. Parameters
    are those of `columns_of`.
    """

    def __init__(
        self,
        values: Mapping[str, Any],
        model: FurnaceModel,
        bath: Bath,
        charge_g: float,
        size: int,
        *,
        start_c: float = 18.0,
        ambient_c: float = 18.0,
        setpoint_c: float = 950.0,
        step_s: float = 2.0,
        keep: bool = True,
    ) -> None:
        self.values, self.pot, self.bath, self.size = dict(values), model.pot, bath, size
        self.ambient_c, self.mass_g, self.setpoint_c = ambient_c, charge_g, setpoint_c
        self.step_s, self.keep = step_s, keep
        self.t_s, self.lid_off, self.on = 0.0, False, True
        self.firing = np.ones(size, dtype=bool)
        self.energy_j = np.zeros(size)
        self.state = np.empty((6, size))
        self.state[:] = start_c
        self.state[1] = model.pot.enthalpy_at(start_c)
        self.state[2] = bath.enthalpy_at(start_c)
        self.drive: Callable[[float], float] | None = None
        self.series = _Series()
        self._grid = np.asarray(model.pot.by_enthalpy_c)
        self._heat = np.asarray(bath.enthalpy_j_g)
        self._temps = np.asarray(bath.temps_c)
        self._liquid = np.asarray(bath.liquid)
        self.refresh()
        self._keep()

    def refresh(self) -> None:
        """After `values` were changed by hand."""
        terms = furnace_terms(self.values, self.ambient_c)
        self._step = HeunStep(terms, self._pot, self._charge)

    def charge(self) -> tuple[Column, Column]:
        """Bath temperature and liquid share of every column."""
        return self._charge(self.state[2])

    def pot_c(self) -> Column:
        """Temperature of every pot."""
        return self._pot(self.state[1])

    def advance(self, seconds: float) -> None:
        """All columns on by so many seconds."""
        if seconds <= 0:
            return
        count = max(1, math.ceil(seconds / self._safe_step_s() - 1e-9))
        dt, t0, v = seconds / count, self.t_s, self.values
        half_k = 0.5 * np.asarray(v["hysteresis_k"])
        low, high = self.setpoint_c - half_k, self.setpoint_c + half_k
        step, mass, lid, contact = self._step, self.mass_g, self.lid_off, self._contact()
        for n in range(1, count + 1):
            if self.drive is not None:
                share: Any = self.drive(t0 + (n - 0.5) * dt)
            elif not self.on:
                share = 0.0
            else:
                display = self.state[5]
                self.firing = np.where(display < low, True, (display <= high) & self.firing)
                share = self.firing
            power = share * v["power_w"]
            after, _, _ = step(self.state, mass, contact, power, lid, dt)
            self.state = np.array(after)
            self.energy_j = self.energy_j + dt * power
            self.t_s = t0 + n * dt
            self._keep()

    def add(self, mass_g: float, temp_c: float) -> None:
        """Metal into every pot."""
        if mass_g <= 0:
            return
        total_g = self.mass_g + mass_g
        brought = mass_g * self.bath.enthalpy_at(temp_c)
        self.state = self.state.copy()
        self.state[2] = (self.mass_g * self.state[2] + brought) / total_g
        self.mass_g = total_g
        self._keep()

    def pour_out(self, left_g: float = 0.0) -> None:
        """Every pot is emptied down to `left_g`."""
        self.mass_g = min(self.mass_g, left_g)

    def display_at(self, times_s: Sequence[float]) -> NDArray[np.float64]:
        """The display at given times: times x columns, linear between steps."""
        t = np.asarray(self.series.t_s)
        wanted = np.asarray(times_s)
        i = np.clip(np.searchsorted(t, wanted, side="right") - 1, 0, len(t) - 2)
        span = t[i + 1] - t[i]
        part = np.where(span > 0, (wanted - t[i]) / np.where(span > 0, span, 1.0), 1.0)
        part = np.clip(part, 0.0, 1.0)[:, None]
        states = self.series.state
        low = np.array([states[k][5] for k in i])
        high = np.array([states[k + 1][5] for k in i])
        mixed: NDArray[np.float64] = low * (1 - part) + high * part
        return mixed

    def first_time(self, reached: Callable[[Column, Column], Any], after_s: float = 0.0) -> Column:
        """First kept time after `after_s` at which reached(bath, liquid) holds by column, else
        NaN."""
        found = np.full(self.size, np.nan)
        for t, state in zip(self.series.t_s, self.series.state, strict=True):
            if t >= after_s:
                bath, liquid = self._charge(state[2])
                found = np.where(np.isnan(found) & reached(bath, liquid), t, found)
                if not np.isnan(found).any():
                    break
        return found

    def _contact(self) -> Any:
        """Share of full contact between pot and charge, by the charge's mass."""
        return np.minimum(1.0, self.mass_g / np.asarray(self.values["full_contact_g"]))

    def _pot(self, heat: Column) -> Column:
        place = (heat - self.pot.start_j_g) / self.pot.step_j_g
        i = np.minimum(np.maximum(place.astype(np.intp), 0), len(self._grid) - 2)
        low = self._grid[i]
        found: Column = low + (self._grid[i + 1] - low) * (place - i)
        return found

    def _charge(self, heat: Column) -> tuple[Column, Column]:
        return np.interp(heat, self._heat, self._temps), np.interp(heat, self._heat, self._liquid)

    def _safe_step_s(self) -> float:
        v = self.values
        if self.mass_g <= 0:
            # An emptied pot that cools has no quick part but the display.
            slow_s = IDLE_STEP_S if not self.on or self.drive is not None else self.step_s
            return max(self.step_s, min(slow_s, 1.2 * float(np.min(v["display_lag_s"]))))
        quick = contact_w_k(v, self._contact())
        return min(
            self.step_s, QUICK_SHARE * self.mass_g * self.bath.liquid_j_gk / float(np.max(quick))
        )

    def _keep(self) -> None:
        if not self.keep:
            return
        self.series.t_s.append(self.t_s)
        self.series.state.append(self.state)
        self.series.energy_j.append(self.energy_j)
