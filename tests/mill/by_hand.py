"""A second, plain way to the cheapest schedule: every order of passes and anneals is tried."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache

from lemel import metal, mill
from lemel.mill import FlatCase
from lemel.tables import shipped

__all__ = ["every_way", "pass_allowed"]


def every_way(case: FlatCase, allowed: Callable[[float, float, float], bool]) -> float:
    """Least cost over all ways; `allowed(soft, thick_in, thick_out)` without the strain."""
    sizes, last = case.thickness_mm, len(case.thickness_mm) - 1

    @cache
    def from_here(i: int, soft: int, cast: bool) -> float:
        strain = math.log(sizes[soft] / sizes[i])
        best = math.inf
        if i == last and (
            case.window is None or case.window[0] - 1e-6 <= strain <= case.window[1] + 1e-6
        ):
            best = 0.0
        if i < last and strain >= case.anneal_least - 1e-9 and (soft, cast) != (i, False):
            best = min(best, case.anneal_cost + from_here(i, i, False))
        most = case.cast_strain_most if cast else case.strain_most
        for k in range(i + 1, last + 1):
            fits = math.log(sizes[soft] / sizes[k]) <= most + 1e-9
            if fits and allowed(sizes[soft], sizes[i], sizes[k]):
                best = min(best, case.pass_cost + from_here(k, soft, cast))
        return best

    return from_here(0, 0, case.as_cast)


def pass_allowed(case: FlatCase) -> Callable[[float, float, float], bool]:
    """Bite, torque, frame, spring and least gauge from the public formulas, one by one."""
    if case.mill is None:
        most = case.draft_most_mm or 0.0
        return lambda _, thick, thin: thick - thin <= most + 1e-9
    tool, width, working = case.mill, case.width_mm, case.working
    assert working is not None
    rule = {row.key: row.number("value") for row in shipped().rows("mill_rules")}

    def mean_stress(e0: float, e1: float) -> float:
        parts = 200
        at = [e0 + (e1 - e0) * (i + 0.5) / parts for i in range(parts)]
        return sum(metal.flow_stress_mpa(working, e) for e in at) / parts

    def allowed(soft: float, thick: float, thin: float) -> bool:
        draft, mean = thick - thin, (thick + thin) / 2
        if draft > mill.draft_most_mm(tool.roll_mu, tool.roll_r_mm) * (1 + 1e-9):
            return False
        e0, e1 = math.log(soft / thick), math.log(soft / thin)
        held = mill.plane_strain_factor(width, mean, rule["constraint_from"], rule["constraint_to"])
        stress = held * mean_stress(e0, e1)
        radius, force = tool.roll_r_mm, 0.0
        for _ in range(3):
            contact = mill.contact_length_mm(draft, radius)
            factor = mill.friction_factor(tool.roll_mu, contact, mean)
            factor += mill.thick_work_factor(contact, mean)
            force = mill.roll_force_n(stress, width, contact, factor)
            radius = mill.flattened_radius_mm(
                tool.roll_r_mm, force, width, draft, rule["flatten_c_mm2_n"], rule["flatten_most"]
            )
        torque = mill.roll_torque_nm(force, mill.contact_length_mm(draft, tool.roll_r_mm))
        torque += mill.bearing_torque_nm(force, tool.bearing_mu, tool.neck_mm)
        thinnest = rule["least_gauge_times"] * mill.least_gauge_mm(
            tool.roll_r_mm, tool.roll_mu, metal.flow_stress_mpa(working, e1), rule["steel_e_mpa"]
        )
        return (
            torque <= tool.torque_nm * case.comfort
            and force <= tool.frame_n
            and mill.screw_gap_mm(thin, force, tool.modulus_n_mm) >= 0
            and thin >= max(thinnest, tool.least_mm)
        )

    return allowed
