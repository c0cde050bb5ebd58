"""Mechanics of drawing wire through a plate. Units: mm, N, MPa; half angles in degrees.

Takes plain numbers or numpy arrays alike where only arithmetic is used.
"""

from __future__ import annotations

import math
from typing import Any

__all__ = [
    "area_drawn_square_mm2", "best_half_angle_deg", "delta", "draw_force_n", "ideal_stress_mpa",
    "sachs_most_reduction", "sachs_stress_mpa", "schey_factor", "schey_stress_mpa",
    "strain_most_one_draw", "wright_stress_mpa",
]  # fmt: skip

#: A plain number or an array of them.
Number = Any


def ideal_stress_mpa(flow_mpa: Number, strain: Number) -> Number:
    """Draw stress without friction or redundant work: mean flow stress x ln(A0 / A1).

    Source: Groover, chapter on drawing.

    >>> round(ideal_stress_mpa(600, 2 * math.log(5 / 4)), 1)
    267.8
    """
    return flow_mpa * strain


def sachs_stress_mpa(flow_mpa: float, area_ratio: float, mu: float, half_angle_deg: float) -> float:
    """Draw stress with friction, Y (1 + B) / B [1 - (A1 / A0)^B], B = mu cot(half angle).

    `area_ratio` is A1 / A0. Source: Sachs 1927 as printed in Dieter, chapter 19.

    >>> round(sachs_stress_mpa(350, (7.5 / 10) ** 2, 0.1, 5), 1)
    316.2
    """
    b = mu / math.tan(math.radians(half_angle_deg))
    return float(flow_mpa * (1 + b) / b * (1 - area_ratio**b))


def sachs_most_reduction(mu: float, half_angle_deg: float) -> float:
    """Largest reduction of a wire that does not harden, 1 - (1 + B)^(-1/B).

    Source: Dieter, example 19.2.

    >>> round(sachs_most_reduction(0.2, 6), 4)
    0.4288
    """
    b = mu / math.tan(math.radians(half_angle_deg))
    return float(1 - (1 + b) ** (-1 / b))


def strain_most_one_draw(n: float, efficiency: float = 1.0) -> float:
    """Largest true strain of one draw, efficiency x (n + 1), by draw stress = strength.

    Source: Groover eq. 18.37 for n = 0 (63.2 %); Hosford and Caddell for the efficiency
    (from memory).

    >>> round(1 - math.exp(-strain_most_one_draw(0)), 3)
    0.632
    """
    return efficiency * (n + 1)


def schey_factor(d_in_mm: Number, d_out_mm: Number, half_angle_deg: float) -> Number:
    """Redundant work, 0.88 + 0.12 D / Lc: mean diameter over contact length.

    Source: Schey in Groover eqs. 18.33-18.34.

    >>> round(schey_factor(2.5, 2.0, 15), 2)
    1.16
    """
    contact = (d_in_mm - d_out_mm) / (2 * math.sin(math.radians(half_angle_deg)))
    return 0.88 + 0.12 * (d_in_mm + d_out_mm) / 2 / contact


def schey_stress_mpa(
    flow_mpa: Number, d_in_mm: Number, d_out_mm: Number, mu: float, half_angle_deg: float
) -> Number:
    """Draw stress with friction and redundant work: the one that this room plans with.

    Y (1 + mu / tan a) phi ln(A0 / A1), a the half angle of the hole, Y the mean flow
    stress. For other shapes give diameters of equal area. Source: Groover eq. 18.35; the
    example prints 94.1 MPa from rounded intermediates.

    >>> round(float(schey_stress_mpa(145.4, 2.5, 2.0, 0.07, 15)), 1)
    94.9
    """
    strain = 2 * _log(d_in_mm / d_out_mm)
    friction = 1 + mu / math.tan(math.radians(half_angle_deg))
    return flow_mpa * friction * schey_factor(d_in_mm, d_out_mm, half_angle_deg) * strain


def delta(reduction: float, half_angle_deg: float) -> float:
    """Shape of the deformation zone, (a / r)(1 + sqrt(1 - r))^2; keep below about 3.

    Source: Wright, Wire Technology, 2011 (from memory).
    """
    return math.radians(half_angle_deg) / reduction * (1 + math.sqrt(1 - reduction)) ** 2


def wright_stress_mpa(flow_mpa: float, reduction: float, mu: float, half_angle_deg: float) -> float:
    """Draw stress by the zone's shape, Y (3.2 / D + 0.9)(a + mu): the second opinion.

    Source: Wright, Wire Technology, 2011 (from memory).

    >>> round(wright_stress_mpa(1, 0.174, 0.08, 8), 2)
    0.44
    """
    shape = delta(reduction, half_angle_deg)
    return flow_mpa * (3.2 / shape + 0.9) * (math.radians(half_angle_deg) + mu)


def best_half_angle_deg(friction_m: float, d_in_mm: float, d_out_mm: float) -> float:
    """Half angle of least draw stress, sqrt(1.5 m ln(R0 / R1)) rad (Avitzur, from memory)."""
    return math.degrees(math.sqrt(1.5 * friction_m * math.log(d_in_mm / d_out_mm)))


def draw_force_n(stress_mpa: Number, area_out_mm2: Number) -> Number:
    """Pull on the wire: draw stress x area that leaves.

    >>> round(draw_force_n(94.1, math.pi))
    296
    """
    return stress_mpa * area_out_mm2


def area_drawn_square_mm2(side_mm: float, hole_mm: float) -> float:
    """Area of a sharp square of side s pulled through a round hole d: the common part.

    d >= s sqrt2: untouched; d <= s: fully round; between, the corners are cut by four
    equal segments outside the sides. Geometry, derived here.

    >>> area_drawn_square_mm2(1.0, 1.5), round(area_drawn_square_mm2(1, 1), 4)
    (1.0, 0.7854)
    """
    s, d = side_mm, hole_mm
    if d >= s * math.sqrt(2):
        return s * s
    if d <= s:
        return math.pi / 4 * d * d
    half = math.acos(s / d)
    segment = d * d / 4 * (half - math.sin(half) * math.cos(half))
    return math.pi / 4 * d * d - 4 * segment


def _log(x: Number) -> Number:
    if isinstance(x, int | float):
        return math.log(x)
    import numpy as np

    return np.log(x)
