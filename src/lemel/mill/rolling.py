"""Mechanics of cold flat rolling at bench size.

Every function takes plain numbers or numpy arrays alike: only arithmetic is used. Units:
mm, N, MPa, N m, rad. The mean height is (h0 + h1) / 2, the draft h0 - h1.
"""

from __future__ import annotations

import math
from typing import Any

__all__ = [
    "bearing_torque_nm", "bite_angle_rad", "contact_length_mm", "draft_most_mm",
    "exit_speed_mm_s", "flattened_radius_mm", "forward_slip", "friction_factor",
    "friction_hill_factor", "hill_factor", "least_gauge_mm", "mean_power_law_mpa",
    "passes_least", "plane_strain_factor", "roll_force_n", "roll_power_w", "roll_torque_nm",
    "screw_gap_mm", "slab_factor", "sticking_factor", "thick_work_factor", "true_strain",
]  # fmt: skip

#: A plain number or an array of them.
Number = Any


def true_strain(area_in_mm2: Number, area_out_mm2: Number) -> Number:
    """True strain ln(A0 / A1) of one or several passes; strains add, reductions do not.

    For wide sheet the thicknesses may stand for the areas. Source: Groover, chapter on
    bulk deformation.

    >>> round(float(true_strain(25, 22)), 4)
    0.1278
    """
    return -_log(area_out_mm2 / area_in_mm2)


def mean_power_law_mpa(k_mpa: float, n: float, strain: float) -> float:
    """Mean flow stress K e^n / (1 + n) from soft to `strain`. Source: Groover eq. 18.2.

    >>> round(mean_power_law_mpa(275, 0.15, 0.128), 1)
    175.7
    """
    return float(k_mpa * strain**n / (1 + n))


def draft_most_mm(mu: Number, roll_r_mm: Number) -> Number:
    """Largest draft that the rolls draw in unaided, mu^2 R.

    Unaided entry asks tan(bite angle) <= mu. Source: Groover eq. 18.8; Dieter ex. 17.1.

    >>> round(draft_most_mm(0.12, 250), 1)
    3.6
    """
    return mu * mu * roll_r_mm


def bite_angle_rad(draft_mm: float, roll_r_mm: float) -> float:
    """Angle of contact from cos(a) = 1 - draft / 2R, exact for round rolls.

    >>> round(math.degrees(bite_angle_rad(1.2, 400)), 2)
    3.14
    """
    return math.acos(1 - draft_mm / (2 * roll_r_mm))


def contact_length_mm(draft_mm: Number, roll_r_mm: Number) -> Number:
    """Length of the arc of contact, sqrt(R draft). Source: Groover eq. 18.11.

    >>> round(contact_length_mm(3, 250), 1)
    27.4
    """
    return (roll_r_mm * draft_mm) ** 0.5


def passes_least(thick_in_mm: float, thick_out_mm: float, draft_most: float) -> int:
    """Fewest passes that the bite alone allows, each with the largest draft.

    >>> passes_least(30, 10, draft_most_mm(0.1, 300))
    7
    """
    return math.ceil((thick_in_mm - thick_out_mm) / draft_most - 1e-9)


def plane_strain_factor(width_mm: Number, height_mm: Number, lo: float, hi: float) -> Number:
    """How much the width holds the metal: 1 for a bar (w / h <= lo), 2/sqrt3 for sheet (>= hi).

    Linear between: an assumption of this project.

    >>> plane_strain_factor(50, 4, 1, 5) > plane_strain_factor(8, 4, 1, 5) > 1
    True
    """
    share = _clip((width_mm / height_mm - lo) / (hi - lo))
    return 1 + (2 / math.sqrt(3) - 1) * share


def friction_factor(mu: Number, contact_mm: Number, mean_height_mm: Number) -> Number:
    """Pressure multiplier of friction, 1 + mu L / 2h.

    Source: the Siebel form in Kalpakjian and Hosford and Caddell. Within 4 % of the slab
    model over the bench's range (see `slab_factor`).

    >>> round(friction_factor(0.13, 0.67, 1.0), 2)
    1.04
    """
    return 1 + mu * contact_mm / (2 * mean_height_mm)


def friction_hill_factor(mu: float, contact_mm: float, mean_height_mm: float) -> float:
    """Pressure multiplier of the averaged friction hill, (e^q - 1) / q with q = mu L / h.

    Source: Dieter, chapter 17.

    >>> round(friction_hill_factor(0.13, 0.67, 1.0), 2)
    1.04
    """
    q = mu * contact_mm / mean_height_mm
    return math.expm1(q) / q


def sticking_factor(contact_mm: Number, mean_height_mm: Number) -> Number:
    """Upper bound of the pressure multiplier when the metal sticks to the rolls, 1 + L / 4h.

    Source: Dieter, chapter 17 (from memory).
    """
    return 1 + contact_mm / (4 * mean_height_mm)


def hill_factor(mu: float, reduction: float, roll_r_mm: float, height_in_mm: float) -> float:
    """Hill's fit to the theory of Bland and Ford; 0.1 < reduction < 0.6.

    Source: R. Hill, The Mathematical Theory of Plasticity, 1950 (from memory).
    """
    return 1.08 + 1.79 * reduction * mu * math.sqrt(roll_r_mm / height_in_mm) - 1.02 * reduction


def thick_work_factor(contact_mm: Number, mean_height_mm: Number) -> Number:
    """What thick work adds to the pressure multiplier: max(0, (h / L - 1) / 4).

    Source: Backofen, Deformation Processing, 1972 (from memory).
    """
    over = mean_height_mm / contact_mm - 1
    return (over + abs(over)) / 8


def slab_factor(
    height_in_mm: float, height_out_mm: float, roll_r_mm: float, mu: float, steps: int = 2000
) -> float:
    """Mean roll pressure over 2k by von Karman's slab equation, integrated from both ends.

    The second way to `friction_factor`: parabolic arc, constant yield, Coulomb friction.
    It knows no thick work. Source: Dieter, chapter 17 (the differential equation).
    """
    length = contact_length_mm(height_in_mm - height_out_mm, roll_r_mm)
    dx = length / steps
    from_exit, from_entry = [1.0], [1.0]
    for i in range(steps):
        for side, at in ((from_exit, (i + 0.5) * dx), (from_entry, length - (i + 0.5) * dx)):
            height = height_out_mm + at * at / roll_r_mm
            widening = 2 * at / roll_r_mm * (1 if side is from_exit else -1)
            side.append(side[-1] + (widening + 2 * mu * side[-1]) / height * dx)
    pressures = [min(a, b) for a, b in zip(from_exit, reversed(from_entry), strict=True)]
    return sum(pressures) / len(pressures)


def roll_force_n(
    stress_mpa: Number, width_mm: Number, contact_mm: Number, factor: Number
) -> Number:
    """Separating force: mean flow stress x width x contact length x factor.

    The factor holds plane strain, friction and thick work. Source: Groover eq. 18.10
    (factor 1).

    >>> round(float(roll_force_n(175.7, 300, 27.39, 1.0)) / 1000)
    1444
    """
    return stress_mpa * width_mm * contact_mm * factor


def flattened_radius_mm(
    roll_r_mm: Number, force_n: Number, width_mm: Number, draft_mm: Number, c: float, most: float
) -> Number:
    """Radius of the flattened arc, R [1 + C F / (w draft)], at most `most` R.

    Source: Hitchcock 1935 as printed in Dieter, chapter 17; C of steel is 2.2e-5 mm2/N.
    """
    grown = c * force_n / (width_mm * draft_mm)
    return roll_r_mm * (1 + _least(grown, most - 1))


def roll_torque_nm(force_n: Number, contact_mm: Number) -> Number:
    """Torque on both rolls, F L: an arm of half the contact length on each.

    Source: Groover eq. 18.12 gives one roll, 0.5 F L.

    >>> round(roll_torque_nm(1444786, 27.4) / 2)
    19794
    """
    return force_n * contact_mm / 1000


def bearing_torque_nm(force_n: Number, mu: Number, neck_mm: Number) -> Number:
    """Torque lost in the necks of both rolls, mu F d. Source: Ghosh and Mallik, problem 3.3."""
    return mu * force_n * neck_mm / 1000


def roll_power_w(torque_both_nm: Number, rev_per_min: Number) -> Number:
    """Power at the rolls from the torque of both. Source: Groover eq. 18.13.

    >>> round(roll_power_w(2 * 19786, 50))
    207199
    """
    return torque_both_nm * 2 * math.pi * rev_per_min / 60


def screw_gap_mm(height_out_mm: Number, force_n: Number, modulus_n_mm: Number) -> Number:
    """Gap to set before the metal enters: exit height less the spring F / M of the stand."""
    return height_out_mm - force_n / modulus_n_mm


def least_gauge_mm(roll_r_mm: float, mu: float, stress_mpa: float, e_mpa: float) -> float:
    """Thinnest sheet that steel rolls can still reduce, 3.58 D mu s / E.

    Source: Stone 1953 (from memory).

    >>> round(least_gauge_mm(30, 0.13, 400, 206000), 3)
    0.054
    """
    return 3.58 * 2 * roll_r_mm * mu * stress_mpa / e_mpa


def exit_speed_mm_s(speed_in: Number, area_in_mm2: Number, area_out_mm2: Number) -> Number:
    """Speed after the pass by constant volume flow.

    >>> round(exit_speed_mm_s(5, 40, 26.5), 2)
    7.55
    """
    return speed_in * area_in_mm2 / area_out_mm2


def forward_slip(exit_speed: Number, roll_speed: Number) -> Number:
    """How much faster than the rolls the strip leaves, (v - vr) / vr. Source: Groover 18.7."""
    return (exit_speed - roll_speed) / roll_speed


def _least(a: Number, b: Number) -> Number:
    return (a + b - abs(a - b)) / 2


def _clip(x: Number) -> Number:
    low = (x + abs(x)) / 2
    return _least(low, 1.0)


def _log(x: Number) -> Number:
    if isinstance(x, int | float):
        return math.log(x)
    import numpy as np

    return np.log(x)
