"""From bar to stock: rolls, grooves, hammer, draws and anneals, in the fewest sound passes.

Comes in: a bar, the stock that is needed, the kit. Goes out: a `Route` with every step, its
limit, the metal accounted for, and the proven fewest passages; backwards a verdict per bar.
Knows no moulds and no orders. May ask: metal, tables, values.
"""

from lemel.mill.answer import do
from lemel.mill.backwards import need
from lemel.mill.calibrate import (
    HardnessRead,
    Learnt,
    PassRead,
    SettingRead,
    StandLearnt,
    TimeRead,
    learn_hardness,
    learn_lead,
    learn_pace,
    learn_spread,
    learn_stand,
)
from lemel.mill.cracks import CRACKS, CrackAdvice, crack, crack_in
from lemel.mill.drawing import (
    area_drawn_square_mm2,
    best_half_angle_deg,
    delta,
    draw_force_n,
    ideal_stress_mpa,
    sachs_most_reduction,
    sachs_stress_mpa,
    schey_factor,
    schey_stress_mpa,
    strain_most_one_draw,
    wright_stress_mpa,
)
from lemel.mill.faces import BarVerdict, MillKit, MillNeed, MillProblem, Route, Step
from lemel.mill.halfway import bar_after
from lemel.mill.lessons import Lessons, Measured, learn
from lemel.mill.rolling import (
    bearing_torque_nm,
    bite_angle_rad,
    contact_length_mm,
    draft_most_mm,
    exit_speed_mm_s,
    flattened_radius_mm,
    forward_slip,
    friction_factor,
    friction_hill_factor,
    hill_factor,
    least_gauge_mm,
    mean_power_law_mpa,
    passes_least,
    plane_strain_factor,
    roll_force_n,
    roll_power_w,
    roll_torque_nm,
    screw_gap_mm,
    slab_factor,
    sticking_factor,
    thick_work_factor,
    true_strain,
)
from lemel.mill.schedule import FlatCase, FlatSchedule, flat_schedule
from lemel.mill.spread import (
    ekelund_spread,
    hill_spread,
    sparling_spread,
    spread_share,
    width_rolled_mm,
    wusatowski_spread,
)

__all__ = [
    "BarVerdict", "CRACKS", "CrackAdvice", "FlatCase", "FlatSchedule", "HardnessRead", "Learnt",
    "Lessons", "Measured", "MillKit", "MillNeed", "MillProblem", "PassRead", "Route",
    "SettingRead", "StandLearnt", "Step", "TimeRead", "area_drawn_square_mm2", "bar_after",
    "bearing_torque_nm", "best_half_angle_deg", "bite_angle_rad", "contact_length_mm", "crack",
    "crack_in", "delta", "do", "draft_most_mm", "draw_force_n", "ekelund_spread",
    "exit_speed_mm_s", "flat_schedule", "flattened_radius_mm", "forward_slip", "friction_factor",
    "friction_hill_factor", "hill_factor", "hill_spread", "ideal_stress_mpa", "learn",
    "learn_hardness", "learn_lead", "learn_pace", "learn_spread", "learn_stand", "least_gauge_mm",
    "mean_power_law_mpa", "need", "passes_least", "plane_strain_factor", "roll_force_n",
    "roll_power_w", "roll_torque_nm", "sachs_most_reduction", "sachs_stress_mpa", "schey_factor",
    "schey_stress_mpa", "screw_gap_mm", "slab_factor", "sparling_spread", "spread_share",
    "sticking_factor", "strain_most_one_draw", "thick_work_factor", "true_strain",
    "width_rolled_mm", "wright_stress_mpa", "wusatowski_spread",
]  # fmt: skip
