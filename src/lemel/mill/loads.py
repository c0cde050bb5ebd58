"""How hard one step is: each limit as a share, 1 being all that is allowed.

The same functions serve one step and arrays of steps; a step is allowed when no share
exceeds 1.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from lemel.mill import drawing, rolling
from lemel.mill.matter import Matter
from lemel.mill.rules import Rules
from lemel.values import Mill

__all__ = ["Load", "draw_load", "groove_load", "roll_load", "worst"]

#: Numbers or arrays.
Number = Any


@dataclass(frozen=True, slots=True)
class Load:
    """Force, torque, and the share of each limit: bite, torque, frame, spring, gauge, fin,
    pull. `screw_mm` is the gap to set."""

    force_n: Number
    torque_nm: Number
    shares: dict[str, Number]
    screw_mm: Number = 0.0


def worst(load: Load) -> Number:
    """The largest share."""
    most: Number = 0.0
    for share in load.shares.values():
        most = np.maximum(most, share)
    return most


def roll_load(
    mill: Mill,
    comfort: float,
    matter: Matter,
    rules: Rules,
    h_in: Number,
    h_out: Number,
    width: Number,
    strain_in: Number,
    strain_out: Number,
) -> Load:
    """A pass between the flats."""
    draft = np.maximum(h_in - h_out, 1e-9)
    load = _load(
        mill, comfort, matter, rules, mill.roll_r_mm, draft, (h_in + h_out) / 2, width,
        strain_in, strain_out,
    )  # fmt: skip
    load.shares["bite"] = draft / rolling.draft_most_mm(mill.roll_mu, mill.roll_r_mm)
    _spring(load, mill, h_out)
    stress = matter.stress_mpa(strain_out)
    thin = rules.least_gauge_times * rolling.least_gauge_mm(
        mill.roll_r_mm, mill.roll_mu, stress, rules.steel_e_mpa
    )
    load.shares["gauge"] = np.maximum(thin, mill.least_mm) / h_out
    return load


def groove_load(
    mill: Mill,
    comfort: float,
    matter: Matter,
    rules: Rules,
    side_in: Number,
    side_out: Number,
    area_in: Number,
    area_out: Number,
    strain_in: Number,
    strain_out: Number,
    grooved: bool,
) -> Load:
    """A passage through a square groove, or of a square bar between the flats, then turned.

    The groove is read as a flat pass of equal area taken on the projected width; its rolls
    work at a radius smaller by a third of the square.
    """
    wide = rules.groove_width_factor if grooved else 1.0
    width = wide * side_out
    draft = np.maximum((area_in - area_out) / width, 1e-9)
    radius = mill.roll_r_mm - side_out / 3 if grooved else mill.roll_r_mm
    load = _load(
        mill, comfort, matter, rules, radius, draft, (side_in + side_out) / 2, width,
        strain_in, strain_out,
    )  # fmt: skip
    grip = mill.roll_mu * (rules.groove_wedge if grooved else 1.0)
    load.shares["bite"] = draft / rolling.draft_most_mm(grip, radius)
    load.shares["fin"] = (1 - area_out / area_in) / rules.fin_reduction
    _spring(load, mill, side_out)
    return load


def _load(
    mill: Mill,
    comfort: float,
    matter: Matter,
    rules: Rules,
    radius: Number,
    draft: Number,
    height: Number,
    width: Number,
    strain_in: Number,
    strain_out: Number,
) -> Load:
    held = rolling.plane_strain_factor(width, height, rules.constraint_from, rules.constraint_to)
    stress = held * matter.mean_stress_mpa(strain_in, strain_out)
    flat = radius
    arm = rolling.contact_length_mm(draft, radius)
    force: Number = 0.0
    for _ in range(3):
        contact = rolling.contact_length_mm(draft, flat)
        factor = rolling.friction_factor(mill.roll_mu, contact, height)
        factor = factor + rolling.thick_work_factor(contact, height)
        force = rolling.roll_force_n(stress, width, contact, factor)
        flat = rolling.flattened_radius_mm(
            radius, force, width, draft, rules.flatten_c_mm2_n, rules.flatten_most
        )
    # The arm is that of the round roll: flattening adds force before and behind the exit plane.
    torque = rolling.roll_torque_nm(force, arm)
    torque = torque + rolling.bearing_torque_nm(force, mill.bearing_mu, mill.neck_mm)
    shares = {
        "torque": torque / (mill.torque_nm * comfort),
        "frame": force / mill.frame_n,
    }
    return Load(force, torque, shares)


def _spring(load: Load, mill: Mill, exit_mm: Number) -> None:
    """The screw cannot be set below closed: force / modulus may take all of the exit height."""
    load.shares["spring"] = load.force_n / (mill.modulus_n_mm * exit_mm)


def draw_load(
    pull_n: float,
    matter: Matter,
    rules: Rules,
    area_in: Number,
    area_out: Number,
    strain_in: Number,
    strain_out: Number,
    reduction_most: Number,
) -> Load:
    """A hole of the drawplate, by Schey's stress on rounds of equal area."""
    d_in, d_out = 2 * (area_in / math.pi) ** 0.5, 2 * (area_out / math.pi) ** 0.5
    flow = matter.mean_stress_mpa(strain_in, strain_out)
    stress = drawing.schey_stress_mpa(flow, d_in, d_out, rules.draw_mu, rules.draw_half_angle_deg)
    force = drawing.draw_force_n(stress, area_out)
    strength = matter.stress_mpa(strain_out)
    shares = {
        "pull": force / pull_n,
        "break": stress / (rules.draw_strength_share * strength),
        "size": (1 - area_out / area_in) / reduction_most,
    }
    return Load(force, 0.0 * force, shares)
