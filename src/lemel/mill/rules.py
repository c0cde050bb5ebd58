"""The mill's own figures, read from the table `mill_rules`: each visible and editable."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import lru_cache

from lemel.errors import BadInput
from lemel.tables import Tables, shipped

__all__ = ["Rules", "rules_of"]


@dataclass(frozen=True, slots=True)
class Rules:
    """One field a row of `mill_rules`; the row says the unit, the meaning and the source."""

    corner_factor: float
    fin_reduction: float
    half_open_sizes: float
    groove_width_factor: float
    groove_wedge: float
    close_grooves: float
    groove_open_most: float
    constraint_from: float
    constraint_to: float
    flatten_c_mm2_n: float
    flatten_most: float
    steel_e_mpa: float
    least_gauge_times: float
    spread_factor: float
    spread_band_lo: float
    spread_band_hi: float
    spread_ends_at: float
    spread_reference_reduction: float
    hole_reduction_next: float
    hole_reduction_skip: float
    draw_least: float
    draw_half_angle_deg: float
    draw_mu: float
    draw_strength_share: float
    hand_pull_n: float
    hand_stroke_mm: float
    draw_feed_mm_s: float
    point_mm: float
    crop_mm: float
    trim_min_g: float
    edge_trim_mm: float
    file_share: float
    barrel_margin_mm: float
    grip_min: float
    pass_min: float
    hole_min: float
    anneal_min: float
    anneal_early_min: float
    turn_min: float
    turn_hard_min: float
    prepare_min: float
    crop_min: float
    saw_mm2_min: float
    shear_mm: float
    shear_mm_min: float
    saw_kerf_mm: float
    file_g_min: float
    anneal_in_passes: float
    cast_reduction: float
    anneal_cast_least: float
    anneal_below_solidus_k: float
    suspect_factor: float
    unknown_leg_factor: float
    hammer_j: float
    hammer_per_min: float
    hammer_min: float
    hammer_least_mm: float
    disc_trim_share: float
    effort_easy: float
    effort_firm: float
    entries_most: float
    width_over: float
    sound_times: float
    flat_last_reduction: float
    flat_wide_share: float
    binds_at: float


def rules_of(tables: Tables | None = None) -> Rules:
    """The figures of these tables (None: as shipped)."""
    return _read(tables or shipped())


@lru_cache(maxsize=8)
def _read(tables: Tables) -> Rules:
    rows = tables.table("mill_rules")
    names = {field.name for field in fields(Rules)}
    unknown = sorted(set(rows) - names)
    if unknown:
        raise BadInput(f"mill_rules.{unknown[0]}", "", ", ".join(sorted(names)), "Drop the row.")
    return Rules(**{name: rows[name].number("value") for name in names})
