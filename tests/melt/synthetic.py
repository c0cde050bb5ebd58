"""Furnaces and logs that the tests make up: from the same model, and from a richer one."""

from __future__ import annotations

import math

from lemel import melt
from lemel.tables import shipped

SIGMA, KELVIN = 5.670374419e-8, 273.15


def fitted_names():
    return [n for n, row in shipped().table("melt_furnace").items() if row.text("fitted") == "yes"]


def truth_from_prior(base, chance):
    """A furnace drawn from the prior; the pot is taken as weighed."""
    rows = shipped().table("melt_furnace")
    spread = {n: rows[n].number("ln_sd") for n in fitted_names()}
    spread["pot_g"] = 0.03
    return base.with_values(
        {n: getattr(base, n) * math.exp(s * chance.standard_normal()) for n, s in spread.items()}
    )


def log_of(model, bath, body, chance, *, cool_s=0.0, noise_k=3.0, step_s=15.0):
    """Heat-up, hold and one top-up in 22 minutes, then perhaps the cool-down; relay written."""
    events = [melt.LidOpen(1080, 1110), melt.AddMetal(1080, 100)]
    if cool_s:
        events += [melt.PourOut(1320), melt.PowerOff(1320)]
    run = melt.Run(model, bath, 250.0, setpoint_c=950.0, sample_s=step_s)
    trace = melt.simulate(run, events, 1320.0 + cool_s).trace
    readings, used_j, seen_s = [melt.LogReading(0.0, 18.0, 0.0)], 0.0, 0.0
    for t_s, shown, energy_j in zip(trace.t_s, trace.display_c, trace.energy_j, strict=True):
        if t_s < seen_s + step_s - 1e-6:
            continue
        share = (energy_j - used_j) / (model.power_w * (t_s - seen_s))
        used_j, seen_s = energy_j, t_s
        read_c = shown + noise_k * chance.standard_normal()
        readings.append(melt.LogReading(t_s, read_c, min(1.0, share)))
    return melt.MeltLog("made", body, 250.0, 950.0, tuple(readings), tuple(events))


class RicherFurnace:
    """Six lining cells whose conductivity rises with heat, another graphite, another sensor.

    Written for the tests only, with nothing from the room under test but the heat curve.
    """

    def __init__(self, bath, chance):
        self.bath, self.at = bath, bath.lookup()
        self.power_w = 1300 * math.exp(0.05 * chance.standard_normal())
        self.element_j_k = 250 * math.exp(0.3 * chance.standard_normal())
        self.radiation_m2 = 0.011 * math.exp(0.25 * chance.standard_normal())
        self.shell_j_k = 170 * math.exp(0.25 * chance.standard_normal())
        self.shell_w_k = 2.4 * math.exp(0.2 * chance.standard_normal())
        self.weight, self.lag_s = 0.15, 14 * math.exp(0.3 * chance.standard_normal())
        self.pot_g = 277.0

    def run(self, charge_g, setpoint_c, end_s, events=(), *, stop=None, step_s=0.5):
        """Readings every 15 s, rounded to 1 K, with the relay's share; ends early at `stop`."""
        element, pot, charge = 18.0, 18.0, self.bath.enthalpy_at(18.0)
        shell, display, on, mass = [18.0] * 6, 18.0, True, charge_g
        rows, used = [(0.0, 18.0, 0.0)], 0.0
        opened = [e for e in events if isinstance(e, melt.LidOpen)]
        adds = [e for e in events if isinstance(e, melt.AddMetal)]
        steps_per_row = round(15 / step_s)
        for k in range(1, round(end_s / step_s) + 1):
            now = (k - 1) * step_s
            lid = any(e.at_s <= now < e.until_s for e in opened)
            while adds and adds[0].at_s <= now:
                more = adds.pop(0).mass_g
                cold = more * self.bath.enthalpy_at(20.0)
                charge = (mass * charge + cold) / (mass + more)
                mass += more
            on = (display < setpoint_c + 3) if on else (display < setpoint_c - 3)
            bath_c, liquid = self.at(charge)
            kelvin = pot + KELVIN
            pot_j_gk = 4.184 / 12.011 * (4.03 + 1.14e-3 * kelvin - 2.04e5 / kelvin**2)
            to_pot = SIGMA * self.radiation_m2 * ((element + KELVIN) ** 4 - kelvin**4)
            to_pot += 0.6 * (element - pot)
            into = (4 + 21 * liquid + 8e-3 * SIGMA * kelvin**3) * (pot - bath_c)
            off = 0.05 * (pot - 18)
            if lid:
                off = 0.002 * (0.85 * SIGMA * (kelvin**4 - 291**4) + 25 * (pot - 18))
            flow = [self.shell_w_k * 1.2 * (element - shell[0])]
            for a, b in zip(shell, [*shell[1:], 18.0], strict=True):
                flow.append(self.shell_w_k * (1 + (a + b) / 1600) * (a - b))
            flow[-1] = 0.6 * (shell[-1] - 18)
            element += step_s * (self.power_w * on - to_pot - flow[0]) / self.element_j_k
            pot += step_s * (to_pot - into - off) / (self.pot_g * max(pot_j_gk, 0.7))
            charge += step_s * into / mass
            shell = [s + step_s * (flow[i] - flow[i + 1]) / self.shell_j_k
                     for i, s in enumerate(shell)]  # fmt: skip
            felt = self.weight * element + (1 - self.weight) * pot
            display += step_s * (felt - display) / self.lag_s
            used += on
            if k % steps_per_row == 0:
                rows.append((k * step_s, round(display), used / steps_per_row))
                used = 0.0
            if stop is not None and stop(k * step_s, *self.at(charge)):
                break
        return rows, k * step_s
