"""One furnace, one charge, stepped by Heun's method with plain floats."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

from lemel.melt.bath import Bath
from lemel.melt.model import FurnaceModel
from lemel.melt.rates import QUICK_SHARE, HeunStep, contact_w_k, furnace_terms

__all__ = ["Ledger", "Run", "Trace"]

#: element degC, pot J/g, charge J/g, inner shell degC, outer shell degC, display degC
State = tuple[float, ...]

#: Stop test: (seconds, display degC, bath degC, liquid share) -> stop now?
Stop = Callable[[float, float, float, float], bool]


@dataclass(slots=True)
class Trace:
    """The heat as it went: time, display, bath, element, liquid share, power, energy so far."""

    t_s: list[float] = field(default_factory=list)
    display_c: list[float] = field(default_factory=list)
    bath_c: list[float] = field(default_factory=list)
    element_c: list[float] = field(default_factory=list)
    liquid: list[float] = field(default_factory=list)
    power: list[float] = field(default_factory=list)
    energy_j: list[float] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Ledger:
    """Where the heat went, J: what was put in and what holds it now."""

    put_in_j: float
    with_metal_j: float
    element_j: float
    pot_j: float
    charge_j: float
    poured_j: float
    lining_j: float
    off_top_j: float
    off_outside_j: float

    @property
    def residual_j(self) -> float:
        """What does not close: all in minus all found."""
        return (
            self.put_in_j
            + self.with_metal_j
            - self.element_j
            - self.pot_j
            - self.charge_j
            - self.poured_j
            - self.lining_j
            - self.off_top_j
            - self.off_outside_j
        )


class Run:
    """A heat in progress: advance it, open the lid, add metal, set, switch off, pour.

    Fixed step of at most `step_s`, shortened where a small molten charge answers faster.
    The pot's and the charge's states are enthalpies, so the energy balance closes to rounding
    at any step. The thermostat looks at the display once a step. All times in s, from 0.
    """

    def __init__(
        self,
        model: FurnaceModel,
        bath: Bath,
        charge_g: float,
        *,
        start_c: float = 18.0,
        ambient_c: float = 18.0,
        setpoint_c: float = 950.0,
        step_s: float = 1.0,
        sample_s: float = 10.0,
    ) -> None:
        self.model, self.bath, self.ambient_c = model, bath, ambient_c
        self.mass_g, self.setpoint_c = charge_g, setpoint_c
        self.step_s, self.sample_s = step_s, sample_s
        self.t_s, self.lid_off, self.on, self.firing = 0.0, False, True, True
        charge_h = bath.enthalpy_at(start_c)
        self.state: State = (
            start_c, model.pot.enthalpy_at(start_c), charge_h, start_c, start_c, start_c
        )  # fmt: skip
        self._start = self.state
        self._start_charge_j = charge_g * charge_h
        self.put_in_j = self.with_metal_j = self.poured_j = 0.0
        self.off_top_j = self.off_outside_j = 0.0
        self.drive: Callable[[float], float] | None = None
        self.trace = Trace()
        self._next_sample_s = 0.0
        self._at, self._step = self._stepper()
        self._sample()

    @property
    def display_c(self) -> float:
        """What the controller shows."""
        return self.state[5]

    @property
    def bath_c(self) -> float:
        """The charge's own temperature, which is not what is shown."""
        return self._at(self.state[2])[0]

    @property
    def liquid(self) -> float:
        """Liquid share of the charge."""
        return self._at(self.state[2])[1]

    @property
    def pot_c(self) -> float:
        """The pot's temperature."""
        return self.model.pot.temp_at(self.state[1])

    def advance(self, seconds: float, stop: Stop | None = None) -> bool:
        """Run on for at most so long; True if `stop` asked for the end."""
        if seconds <= 0:
            return False
        count = max(1, math.ceil(seconds / self._safe_step_s() - 1e-9))
        dt = seconds / count
        step, mass, lid, state, t0 = self._step, self.mass_g, self.lid_off, self.state, self.t_s
        contact = self._contact()
        watts, drive, on, firing = self.model.power_w, self.drive, self.on, self.firing
        low = self.setpoint_c - self.model.hysteresis_k / 2
        high = self.setpoint_c + self.model.hysteresis_k / 2
        for n in range(1, count + 1):
            if drive is not None:
                share = drive(t0 + (n - 0.5) * dt)
            else:
                if state[5] < low:
                    firing = True
                elif state[5] > high:
                    firing = False
                share = 1.0 if firing and on else 0.0
            state, off_top_j, off_outside_j = step(state, mass, contact, watts * share, lid, dt)
            self.put_in_j += watts * share * dt
            self.off_top_j += off_top_j
            self.off_outside_j += off_outside_j
            t_s = t0 + n * dt
            if t_s >= self._next_sample_s or stop is not None or n == count:
                self.state, self.t_s, self.firing = state, t_s, firing
                if t_s >= self._next_sample_s:
                    self._sample(share)
                if stop is not None and stop(t_s, state[5], *self._at(state[2])):
                    return True
        return False

    def add(self, mass_g: float, temp_c: float) -> None:
        """Metal into the pot, mixed at once."""
        if mass_g <= 0:
            return
        brought = self.bath.enthalpy_at(temp_c)
        mixed = (self.mass_g * self.state[2] + mass_g * brought) / (self.mass_g + mass_g)
        self.mass_g += mass_g
        self.with_metal_j += mass_g * brought
        self.state = (*self.state[:2], mixed, *self.state[3:])
        self._sample()

    def pour_out(self, left_g: float = 0.0) -> None:
        """The pot is emptied down to `left_g`."""
        gone_g = max(0.0, self.mass_g - left_g)
        self.poured_j += gone_g * self.state[2]
        self.mass_g -= gone_g

    def next_pot(self, model: FurnaceModel, bath: Bath, *, same_pot: bool) -> None:
        """An empty pot is made ready for another metal, or a cold one is set in its place.

        Heat that leaves with the old pot counts as poured.
        """
        if not same_pot:
            cold = model.pot.enthalpy_at(self.ambient_c)
            self.poured_j += self.model.pot_g * (self.state[1] - self._start[1])
            self.state = (self.state[0], cold, *self.state[2:])
            self._start = (self._start[0], cold, *self._start[2:])
            self.model = model
        self.bath = bath
        self._at, self._step = self._stepper()

    def ledger(self) -> Ledger:
        """The heat balance from the start until now."""
        model, now, was = self.model, self.state, self._start
        return Ledger(
            put_in_j=self.put_in_j,
            with_metal_j=self.with_metal_j,
            element_j=model.element_j_k * (now[0] - was[0]),
            pot_j=model.pot_g * (now[1] - was[1]),
            charge_j=self.mass_g * now[2] - self._start_charge_j,
            poured_j=self.poured_j,
            lining_j=model.lining_inner_j_k * (now[3] - was[3])
            + model.lining_outer_j_k * (now[4] - was[4]),
            off_top_j=self.off_top_j,
            off_outside_j=self.off_outside_j,
        )

    def _stepper(self) -> tuple[Callable[[float], tuple[float, float]], HeunStep]:
        """The charge's lookup, and the step of this furnace with this charge."""
        at = self.bath.lookup()
        terms = furnace_terms(self.model.values(), self.ambient_c)
        return at, HeunStep(terms, self.model.pot.lookup(), at)

    def _contact(self) -> float:
        """Share of full contact between pot and charge, by the charge's mass."""
        return min(1.0, self.mass_g / self.model.full_contact_g)

    def _safe_step_s(self) -> float:
        if self.mass_g <= 0:
            return self.step_s
        quick = contact_w_k(self.model.values(), self._contact())
        return min(self.step_s, QUICK_SHARE * self.mass_g * self.bath.liquid_j_gk / float(quick))

    def _sample(self, share: float = 0.0) -> None:
        bath_c, liquid = self._at(self.state[2])
        log = self.trace
        log.t_s.append(self.t_s)
        log.display_c.append(self.state[5])
        log.bath_c.append(bath_c)
        log.element_c.append(self.state[0])
        log.liquid.append(liquid)
        log.power.append(share)
        log.energy_j.append(self.put_in_j)
        while self._next_sample_s <= self.t_s:
            self._next_sample_s += self.sample_s
