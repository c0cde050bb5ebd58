"""Drawing against printed examples."""

from __future__ import annotations

import math

import pytest

from lemel import mill

outside = pytest.mark.outside


@outside
def test_groover_wire_of_2_5():
    """M. P. Groover, Fundamentals of Modern Manufacturing, example 18.4 (read); 1.5 %."""
    strain = 2 * math.log(2.5 / 2.0)
    flow = mill.mean_power_law_mpa(205, 0.20, strain)
    stress = mill.schey_stress_mpa(flow, 2.5, 2.0, 0.07, 15)
    assert strain == pytest.approx(0.446, rel=0.015)
    assert flow == pytest.approx(145.4, rel=0.015)
    assert mill.schey_factor(2.5, 2.0, 15) == pytest.approx(1.16, rel=0.015)
    assert stress == pytest.approx(94.1, rel=0.015)
    assert mill.draw_force_n(stress, math.pi) == pytest.approx(295.5, rel=0.015)


@outside
def test_dieter_wire_of_10():
    """G. E. Dieter, Mechanical Metallurgy, example 19.1 (method read): 20 %, 12 degrees
    included, mu 0.09, flow 1300 e^0.3. The force uses the area that leaves; a public
    companion prints 12.08 kN because it squares the area ratio on the diameter."""
    flow = mill.mean_power_law_mpa(1300, 0.3, -math.log(0.8))
    stress = mill.sachs_stress_mpa(flow, 0.8, 0.09, 6)
    assert flow == pytest.approx(637.6, rel=0.01)
    assert stress == pytest.approx(240.4, rel=0.01)
    force = mill.draw_force_n(stress, 0.8 * math.pi / 4 * 100)
    assert force == pytest.approx(15_100, rel=0.01)
    assert force * 3 / 1000 == pytest.approx(45.3, rel=0.01)


@outside
def test_exam_questions_on_drawing():
    """Public examination questions (read), answers printed or computed from the data."""
    # 10 -> 7.5 mm, half angle 5, mu 0.1, 350 MPa: 315 to 317 MPa (GATE ME 2018).
    assert 315 <= mill.sachs_stress_mpa(350, 0.75**2, 0.1, 5) <= 317
    # 6.0 mm, mu 0.2, half angle 6, no hardening (GATE PI 1989).
    most = mill.sachs_most_reduction(0.2, 6)
    assert most == pytest.approx(0.4288, rel=0.01)
    assert 6 * (1 - most) == pytest.approx(3.43, rel=0.01)
    passes = math.log((6 / 1.34) ** 2) / -math.log(1 - most)
    assert passes == pytest.approx(5.35, rel=0.01)
    # 5 -> 4 mm at 5 m/s, 600 MPa, no losses: 267.8 MPa, 16.82 kW.
    stress = mill.ideal_stress_mpa(600, 2 * math.log(5 / 4))
    assert stress == pytest.approx(267.8, rel=0.01)
    assert stress * math.pi / 4 * 16 * 5 / 1000 == pytest.approx(16.82, rel=0.01)


@outside
def test_askeland_copper_wire():
    """D. R. Askeland, The Science and Engineering of Materials, example 8.5 (read): one draw
    from 0.40 to 0.20 in needs a stress that soft wire cannot carry. Inches and pounds."""
    area_in, area_out = math.pi / 4 * 0.4**2, math.pi / 4 * 0.2**2
    assert 1 - area_out / area_in == pytest.approx(0.75)
    force = 22_000 * area_in
    assert force == pytest.approx(2765, rel=0.01)
    assert force / area_out == pytest.approx(88_000, rel=0.01)


@outside
def test_kalpakjian_stainless_wire():
    """S. Kalpakjian, chapter 15 (from memory): 10 -> 8 mm, 1300 e^0.3, 0.5 m/s, 40 % losses."""
    strain = 2 * math.log(10 / 8)
    flow = mill.mean_power_law_mpa(1300, 0.3, strain)
    force = mill.draw_force_n(mill.ideal_stress_mpa(flow, strain), math.pi / 4 * 64)
    assert flow == pytest.approx(785, rel=0.01)
    assert force == pytest.approx(17_600, rel=0.01)
    assert force * 0.5 / 1000 == pytest.approx(8.8, rel=0.01)
    assert 1.4 * force * 0.5 / 1000 == pytest.approx(12.3, rel=0.01)


@outside
def test_one_draw_never_takes_more_than_63_percent():
    """Groover eq. 18.37: without hardening and losses the limit is 1 - 1/e."""
    assert 1 - math.exp(-mill.strain_most_one_draw(0)) == pytest.approx(0.632, abs=5e-4)


def test_two_opinions_on_the_same_hole_differ_by_a_fifth():
    """17.4 %, half angle 8, mu 0.08: Wright 0.44, Schey 0.37 of the flow stress."""
    out = 2.2 * math.sqrt(1 - 0.174)
    schey = mill.schey_stress_mpa(1.0, 2.2, out, 0.08, 8)
    assert mill.wright_stress_mpa(1.0, 0.174, 0.08, 8) == pytest.approx(0.44, abs=0.01)
    assert schey == pytest.approx(0.37, abs=0.01)
    assert mill.delta(0.174, 8) < 3


def test_sachs_tends_to_the_ideal_without_friction():
    assert mill.sachs_stress_mpa(100, 0.8, 1e-9, 8) == pytest.approx(
        mill.ideal_stress_mpa(100, -math.log(0.8)), rel=1e-6
    )


def test_a_square_in_a_round_hole_against_a_count_of_points():
    """Second way: the share of a fine raster that lies in both."""
    import numpy as np

    at = (np.arange(1000) + 0.5) / 1000 - 0.5
    apart = at[:, None] ** 2 + at[None, :] ** 2
    for side, hole in ((1.0, 1.35), (1.0, 1.2), (1.0, 1.05), (1.0, 0.9)):
        share = float((apart <= hole * hole / 4).mean())
        assert mill.area_drawn_square_mm2(side, hole) == pytest.approx(share, abs=1e-3)


def test_the_best_angle_grows_with_friction_and_reduction():
    flat = mill.best_half_angle_deg(0.05, 1.05, 1.0)
    assert 0 < flat < mill.best_half_angle_deg(0.1, 1.05, 1.0)
    assert flat < mill.best_half_angle_deg(0.05, 1.2, 1.0)
