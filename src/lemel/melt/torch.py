"""A torch and a dish: how long it takes, and from where on it never melts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from lemel.melt.bath import Bath
from lemel.melt.figures import torch_figure
from lemel.melt.rates import KELVIN, STEFAN_BOLTZMANN_W_M2K4
from lemel.tables import Tables

__all__ = ["TorchMelt", "torch_limit_g", "torch_melt"]


@dataclass(frozen=True, slots=True)
class TorchMelt:
    """A melt in a dish: seconds to the pouring heat, energy of the flame, the curve.

    `seconds` None: the dish loses what the flame brings before it is hot enough.
    """

    seconds: float | None
    liquid_s: float | None
    flame_j: float
    t_s: tuple[float, ...]
    bath_c: tuple[float, ...]
    liquid: tuple[float, ...]


def torch_melt(
    bath: Bath,
    mass_g: float,
    pour_c: float,
    flame_w: float,
    *,
    liquid_g_cm3: float,
    start_c: float = 18.0,
    tables: Tables | None = None,
) -> TorchMelt:
    """Pool and dish under a flame: dE/dt = eta P - A (eps sigma (T^4 - Ta^4) + h (T - Ta)).

    E is the metal's heat, the dish that warms with it and the dish's own start. A grows with
    the pool. Efficiency and area are set so that the limit falls near the bench's rule of
    thumb, so that agreement is calibration and not evidence; only the shape (time rises, then
    nothing melts at all) is a prediction. Steps of 1 s.
    """
    f = {
        name: torch_figure(name, tables)
        for name in (
            "efficiency", "emissivity", "air_w_m2k", "dish_per_metal", "dish_j_gk",
            "dish_start_j", "longest_s",
        )
    }  # fmt: skip
    area_m2 = _glowing_m2(mass_g, liquid_g_cm3, tables)
    dish_j_k = f["dish_per_metal"] * mass_g * f["dish_j_gk"]
    dish_j_k += f["dish_start_j"] / (pour_c - start_c)
    gain_w = f["efficiency"] * flame_w
    room4 = (start_c + KELVIN) ** 4
    at = bath.lookup()
    heat, temp_c = bath.enthalpy_at(start_c), start_c
    times, temps, shares = [0.0], [start_c], [0.0]
    liquid_s: float | None = None
    for second in range(1, int(f["longest_s"]) + 1):
        radiated = f["emissivity"] * STEFAN_BOLTZMANN_W_M2K4 * ((temp_c + KELVIN) ** 4 - room4)
        lost_w = area_m2 * (radiated + f["air_w_m2k"] * (temp_c - start_c))
        if gain_w - lost_w <= 0.01 * gain_w:
            break
        heat += _rise_j_g(at, heat, gain_w - lost_w, mass_g, dish_j_k)
        temp_c, share = at(heat)
        share = min(1.0, max(0.0, share))
        times.append(float(second))
        temps.append(temp_c)
        shares.append(share)
        if share >= 0.999 and liquid_s is None:
            liquid_s = float(second)
        if temp_c >= pour_c:
            return TorchMelt(
                float(second), liquid_s, flame_w * second, tuple(times), tuple(temps), tuple(shares)
            )
    return TorchMelt(None, liquid_s, flame_w * times[-1], tuple(times), tuple(temps), tuple(shares))


def _rise_j_g(
    at: Callable[[float], tuple[float, float]],
    heat_j_g: float,
    net_j: float,
    mass_g: float,
    dish_j_k: float,
) -> float:
    """What so many joules add to each gram while the dish keeps the metal's temperature."""
    slope_k = max(0.0, (at(heat_j_g + 0.01)[0] - at(heat_j_g)[0]) / 0.01)
    return net_j / (mass_g + dish_j_k * slope_k)


def _glowing_m2(mass_g: float, liquid_g_cm3: float, tables: Tables | None) -> float:
    pool_cm2 = mass_g / (liquid_g_cm3 * torch_figure("pool_mm", tables) / 10)
    return (
        1e-4
        * torch_figure("area_factor", tables)
        * (pool_cm2 + torch_figure("area_plus_cm2", tables))
    )


def torch_limit_g(
    pour_c: float,
    flame_w: float,
    *,
    liquid_g_cm3: float,
    room_c: float = 18.0,
    tables: Tables | None = None,
) -> float:
    """The mass from which the glowing dish loses as much as the flame brings, g.

    Closed form of `torch_melt` at the pouring heat; a little less is already very slow.
    """
    radiated = torch_figure("emissivity", tables) * STEFAN_BOLTZMANN_W_M2K4
    radiated *= (pour_c + KELVIN) ** 4 - (room_c + KELVIN) ** 4
    flux_w_m2 = radiated + torch_figure("air_w_m2k", tables) * (pour_c - room_c)
    glowing_cm2 = 1e4 * torch_figure("efficiency", tables) * flame_w / flux_w_m2
    pool_cm2 = glowing_cm2 / torch_figure("area_factor", tables)
    pool_cm2 -= torch_figure("area_plus_cm2", tables)
    return max(0.0, pool_cm2 * liquid_g_cm3 * torch_figure("pool_mm", tables) / 10)
