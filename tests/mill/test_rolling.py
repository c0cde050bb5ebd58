"""Rolling against printed examples, and each short formula against a second way.

Tolerances: printed values come from rounded intermediates, so 1 % unless said.
"""

from __future__ import annotations

import math

import pytest

from lemel import mill
from lemel.tables import shipped

outside = pytest.mark.outside


def near(value: float, percent: float = 1.0):  # type: ignore[no-untyped-def]
    return pytest.approx(value, rel=percent / 100)


@outside
def test_groover_strip_of_300_by_25():
    """M. P. Groover, Fundamentals of Modern Manufacturing, example 18.1 (read)."""
    draft, radius = 25 - 22, 250
    contact = mill.contact_length_mm(draft, radius)
    flow = mill.mean_power_law_mpa(275, 0.15, math.log(25 / 22))
    force = mill.roll_force_n(flow, 300, contact, 1.0)
    torque_one_roll = mill.roll_torque_nm(force, contact) / 2
    assert mill.draft_most_mm(0.12, radius) == near(3.6)
    assert contact == near(27.4)
    assert flow == near(175.7)
    assert force == near(1_444_786)
    assert torque_one_roll == near(19_786)
    power = mill.roll_power_w(2 * torque_one_roll, 50)
    assert power == near(207_201)
    assert power / 745.7 == near(278)


@outside
def test_kalpakjian_annealed_copper():
    """S. Kalpakjian, Manufacturing Engineering and Technology, example 13.1 (read)."""
    contact = mill.contact_length_mm(5, 300)
    assert contact == near(38.7)
    assert mill.roll_force_n(180, 228, contact, 1.0) == near(1.59e6)
    force = mill.roll_force_n(180, 228, contact, 1.0)
    assert mill.roll_power_w(mill.roll_torque_nm(force, contact), 100) == near(645_000)
    older = mill.roll_force_n(180, 250, contact, 1.0)
    assert older == near(1.74e6)
    assert mill.roll_power_w(mill.roll_torque_nm(older, contact), 100) == near(705_000)


@outside
def test_dieter_largest_draft():
    """G. E. Dieter, Mechanical Metallurgy, example 17.1 (read), inches."""
    assert mill.draft_most_mm(0.08, 12) == near(0.0768)
    assert mill.draft_most_mm(0.5, 12) == near(3.0)


@outside
def test_ghosh_and_mallik_slab_and_bearings():
    """A. Ghosh, A. K. Mallik, Manufacturing Science, sample problems 3.1-3.3 (read); 3 %.

    150 x 6 mm, 20 %, D 400, mu 0.1; shear yield mean of 0.35 and 0.40 kN/mm2; 30 m/min.
    """
    draft, radius = 6 * 0.2, 200.0
    two_k = 2 * 375.0
    contact = mill.contact_length_mm(draft, radius)
    force = mill.roll_force_n(two_k, 150, contact, mill.slab_factor(6, 4.8, radius, 0.1))
    assert contact / radius == near(0.0775, 3)
    assert force == near(1_907_000, 3)
    turns = 30_000 / 60 / (2 * math.pi * radius) * 60
    bearings = mill.bearing_torque_nm(force, 0.005, 150)
    lost = mill.roll_power_w(bearings, turns)
    # Printed: 75.6 kW at the rolls, 79.18 kW at the mill, so 3.58 kW in the bearings.
    assert lost == near(3_580, 3)
    power = mill.roll_power_w(mill.roll_torque_nm(force, contact), turns)
    assert power == near(75_600, 5)


@outside
def test_exam_questions_on_passes_and_drafts():
    """Public examination questions (read); the answers printed or computed from the data."""
    # 30 -> 10 mm, D 600, mu 0.1: seven passes.
    assert mill.draft_most_mm(0.1, 300) == near(3.0)
    assert mill.passes_least(30, 10, mill.draft_most_mm(0.1, 300)) == 7
    # 4 mm sheet, D 300, mu 0.1: thinnest 2.5 mm.
    assert 4 - mill.draft_most_mm(0.1, 150) == near(2.5)
    # 40 mm, D 300, mu 0.3, 5 m/s: 26.5 mm and 7.55 m/s (GATE ME 1991).
    thin = 40 - mill.draft_most_mm(0.3, 150)
    assert thin == near(26.5)
    assert mill.exit_speed_mm_s(5, 40, thin) == near(7.55)
    # 12 mm, 10 %, D 800: 3.14 degrees (GATE PI 2017).
    assert math.degrees(mill.bite_angle_rad(1.2, 400)) == near(3.14)
    # 45 -> 20 mm in equal drafts, D 600, mu 0.15: four passes of 6.25 mm (after Groover).
    assert mill.draft_most_mm(0.15, 300) == near(6.75)
    assert mill.passes_least(45, 20, 6.75) == 4
    # 150 x 4.5, 20 %, D 450: 0.06 rad printed.
    assert mill.bite_angle_rad(0.9, 225) == near(0.063)
    # 200 wide, 10 -> 6, R 100, plane-strain flow 500: 2000 kN (GATE PI 2016).
    assert mill.roll_force_n(500, 200, mill.contact_length_mm(4, 100), 1) == near(2e6)
    # 10 -> 8 mm, D 600: contact 24.5 mm, friction 0.082 (GATE PI 2003).
    assert mill.contact_length_mm(2, 300) == near(24.5)
    assert mill.draft_most_mm(0.0816, 300) == near(2.0)


def test_one_friction_formula_serves_the_bench_range():
    """Within 4 % of the integrated slab model from 6 mm bar to 0.3 mm sheet."""
    for h_in, h_out in ((6, 5.5), (4, 3.6), (2, 1.75), (1, 0.85), (0.5, 0.42), (0.3, 0.25)):
        contact = mill.contact_length_mm(h_in - h_out, 30)
        mean = (h_in + h_out) / 2
        slab = mill.slab_factor(h_in, h_out, 30, 0.13)
        assert mill.friction_factor(0.13, contact, mean) == near(slab, 4)
        assert mill.friction_hill_factor(0.13, contact, mean) == near(slab, 4)


def test_the_slab_model_against_a_second_integration():
    """The same differential equation by scipy, from both ends, averaged."""
    from scipy.integrate import solve_ivp

    h_in, h_out, radius, mu = 2.0, 1.75, 30.0, 0.13
    length = mill.contact_length_mm(h_in - h_out, radius)
    xs = [length * i / 4000 for i in range(4001)]

    def height(x: float) -> float:
        return h_out + x * x / radius

    def side(sign: int) -> list[float]:
        def slope(s: float, p: list[float]) -> list[float]:
            x = s if sign > 0 else length - s
            return [(sign * 2 * x / radius + 2 * mu * p[0]) / height(x)]

        run = solve_ivp(slope, (0, length), [1.0], t_eval=xs, rtol=1e-9, atol=1e-12)
        return list(run.y[0])

    pressures = [min(a, b) for a, b in zip(side(1), reversed(side(-1)), strict=True)]
    assert mill.slab_factor(h_in, h_out, radius, mu) == pytest.approx(
        sum(pressures) / len(pressures), rel=2e-3
    )


def test_thick_work_costs_more_and_thin_work_nothing_more():
    assert mill.thick_work_factor(2.0, 6.0) == pytest.approx(0.5)
    assert mill.thick_work_factor(6.0, 2.0) == 0.0


def test_flattened_rolls_are_rounder_than_the_cap():
    free = mill.flattened_radius_mm(30, 40_000, 50, 0.25, 2.25e-5, 1.5)
    assert 30 < free < 45
    assert mill.flattened_radius_mm(30, 4e6, 50, 0.01, 2.25e-5, 1.5) == pytest.approx(45)


def test_the_width_factor_runs_from_bar_to_sheet():
    assert mill.plane_strain_factor(4, 4, 1, 5) == 1
    assert mill.plane_strain_factor(40, 4, 1, 5) == pytest.approx(2 / math.sqrt(3))


def test_formulas_take_arrays_as_well():
    import numpy as np

    drafts = np.array([0.1, 0.2, 0.4])
    lengths = mill.contact_length_mm(drafts, 30.0)
    assert [mill.contact_length_mm(float(d), 30.0) for d in drafts] == pytest.approx(list(lengths))
    both = mill.thick_work_factor(lengths, 3.0)
    assert [mill.thick_work_factor(float(x), 3.0) for x in lengths] == pytest.approx(list(both))


def test_spread_formulas_disagree_as_much_as_the_books_say():
    """Width 6 from 6 to 5.5 mm on rolls of 60 mm: from 0.04 to 0.45 (computed from memory of
    the printed formulas)."""
    contact = mill.contact_length_mm(0.5, 30)
    assert mill.wusatowski_spread(6, 6, 60) == near(0.45, 2)
    assert mill.hill_spread(6, contact) == near(0.22, 2)
    assert mill.sparling_spread(6, 30, 6, 0.5) == near(0.27, 2)
    assert mill.ekelund_spread(6, 6, 5.5, 30, 0.13) == near(0.042, 2)
    assert mill.hill_spread(50, mill.contact_length_mm(0.4, 30)) < 0.001


def test_each_formula_has_its_source_in_the_tables():
    listed = set(shipped().table("mill_formulas"))
    public = {
        name
        for name in mill.__all__
        if getattr(getattr(mill, name), "__module__", "").split(".")[-1]
        in ("rolling", "drawing", "spread")
    }
    assert listed == public


@outside
def test_american_tempers_are_gauge_steps():
    """Ten printed reductions by temper (supplier's page on heat hardening, read) are steps of
    the gauge of ASTM B258, ratio 92^(1/39) each."""
    ratio = 92 ** (1 / 39)
    for row in shipped().rows("mill_tempers"):
        steps = row.number("numbers_hard")
        for column, power in (("sheet_reduction_printed", 1), ("wire_reduction_printed", 2)):
            printed = row.number_or(column, -1)
            if printed >= 0:
                assert round(1 - ratio ** (-power * steps), 2) == printed
