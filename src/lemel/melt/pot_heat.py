"""Heat in the pot's own material: graphite stores nearly three times more hot than cold."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from lemel.melt.figures import pot_row
from lemel.tables import Tables, shipped

__all__ = ["PotHeat", "graphite_j_gk", "pot_heat"]

KELVIN = 273.15
J_PER_CAL = 4.184
GRID_LOW_C = -40.0
GRID_HIGH_C = 2400.0
GRID_STEP_C = 5.0


def graphite_j_gk(temp_c: float, tables: Tables | None = None) -> float:
    """Heat capacity of graphite, J/gK, valid from 250 to 3000 K.

    Polynomial in powers of the absolute temperature. Source: Butland and Maddison (1973), J.
    Nucl. Mater. 49, 45, as printed in the NIST Chemistry WebBook. A constant room
    temperature value would be wrong by 2.6 times at pouring heat.

    >>> round(graphite_j_gk(25), 2), round(graphite_j_gk(1000), 2)
    (0.71, 1.92)
    """
    kelvin = temp_c + KELVIN
    rows = (tables or shipped()).rows("melt_graphite")
    terms = (row.number("cal_gk") * math.pow(kelvin, row.number("power")) for row in rows)
    return J_PER_CAL * sum(terms)


@dataclass(frozen=True, slots=True)
class PotHeat:
    """Enthalpy (J/g above 20 degC) of the pot's material on an even grid of temperature,
    and temperature on an even grid of enthalpy (start, step, values) for simulators."""

    temps_c: tuple[float, ...]
    enthalpy_j_g: tuple[float, ...]
    start_j_g: float
    step_j_g: float
    by_enthalpy_c: tuple[float, ...]

    def enthalpy_at(self, temp_c: float) -> float:
        """J/g above 20 degC."""
        place = (temp_c - GRID_LOW_C) / GRID_STEP_C
        i = min(max(int(place), 0), len(self.temps_c) - 2)
        low, high = self.enthalpy_j_g[i], self.enthalpy_j_g[i + 1]
        return low + (high - low) * (place - i)

    def temp_at(self, enthalpy_j_g: float) -> float:
        """The temperature at an enthalpy, as the simulators see it."""
        place = (enthalpy_j_g - self.start_j_g) / self.step_j_g
        i = min(max(int(place), 0), len(self.by_enthalpy_c) - 2)
        low, high = self.by_enthalpy_c[i], self.by_enthalpy_c[i + 1]
        return low + (high - low) * (place - i)

    def lookup(self) -> Callable[[float], float]:
        """`temp_at` for inner loops: a function that trusts its enthalpy to lie on the grid."""
        grid, start, inv_step = self.by_enthalpy_c, self.start_j_g, 1 / self.step_j_g

        def at(enthalpy_j_g: float) -> float:
            place = (enthalpy_j_g - start) * inv_step
            i = int(place)
            low = grid[i]
            return low + (grid[i + 1] - low) * (place - i)

        return at


def pot_heat(material: str, tables: Tables | None = None) -> PotHeat:
    """The heat table of a pot's material; constant heat capacity where the table gives one."""
    return _made(material, tables or shipped())


@cache
def _made(material: str, tables: Tables) -> PotHeat:
    steps = round((GRID_HIGH_C - GRID_LOW_C) / GRID_STEP_C)
    temps = tuple(GRID_LOW_C + GRID_STEP_C * i for i in range(steps + 1))
    heat = [0.0]
    for low in temps[:-1]:
        # Simpson on each 5 K keeps the sum exact to 1e-9 of the polynomial's integral.
        ends = (low, low + GRID_STEP_C / 2, low + GRID_STEP_C)
        a, b, c = (_heat_capacity(material, t, tables) for t in ends)
        heat.append(heat[-1] + GRID_STEP_C / 6 * (a + 4 * b + c))
    at_20 = heat[round((20 - GRID_LOW_C) / GRID_STEP_C)]
    heat = [h - at_20 for h in heat]
    count = 2048
    step = (heat[-1] - heat[0]) / (count - 1)
    return PotHeat(temps, tuple(heat), heat[0], step, _inverse(temps, heat, step, count))


def _heat_capacity(material: str, temp_c: float, tables: Tables) -> float:
    if material == "graphite":
        return graphite_j_gk(temp_c, tables)
    return pot_row(material, tables).number("c_j_gk")


def _inverse(
    temps: tuple[float, ...], heat: list[float], step: float, count: int
) -> tuple[float, ...]:
    found = []
    i = 0
    for n in range(count):
        wanted = heat[0] + n * step
        while i < len(heat) - 2 and heat[i + 1] < wanted:
            i += 1
        share = (wanted - heat[i]) / (heat[i + 1] - heat[i])
        found.append(temps[i] + share * (temps[i + 1] - temps[i]))
    return tuple(found)
