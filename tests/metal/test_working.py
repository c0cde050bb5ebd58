"""Hardness, flow stress, anneals, ageing and what heat the solid metal bears."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lemel.metal import (
    ageing,
    flow_stress_mpa,
    heat_limits,
    hv_at,
    melting,
    orders_when_slow,
    softening,
    strain_at_hv,
    working,
)
from lemel.values import Composition
from lemel.words import say
from tests.strategies import gold_alloys, silver_alloys

BODIES = st.one_of(silver_alloys(), gold_alloys())
STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})


@pytest.mark.outside
@pytest.mark.parametrize(
    ("parts", "bands"),
    [
        # Source: suppliers' hardness bands by temper, collected by a bench worker (2012).
        ({"Ag": 925, "Cu": 75}, [(66, 76), (78, 88), (90, 100), (102, 114), (116, 130)]),
        ({"Ag": 999, "Cu": 1}, [(54, 54), (62, 71), (77, 89), (84, 94), (89, 108)]),
        ({"Ag": 958, "Cu": 42}, [(55, 65), (70, 89), (90, 109), (110, 114), (115, 135)]),
    ],
)
def test_tempers_by_gauge_numbers_hit_the_suppliers_bands(parts, bands):
    # Each temper is so many B&S gauge numbers of thickness: q = 92^(1/39) a number.
    metal = working(Composition.from_millesimal(parts))
    for numbers, (low, high) in zip((0, 1, 2, 3, 4), bands, strict=True):
        strain = numbers * math.log(92) / 39
        assert low - 12 <= hv_at(metal, strain) <= high + 12


@pytest.mark.outside
def test_eighteen_carat_is_150_soft_and_230_after_75_percent():
    # Source: Workshop Notes, Gold Technology 24 (1998).
    metal = working(Composition.from_millesimal({"Au": 750, "Ag": 125, "Cu": 125}))
    assert hv_at(metal, 0) == pytest.approx(150, abs=2)
    assert hv_at(metal, math.log(4)) == pytest.approx(230, abs=5)


def test_flow_stress_of_sterling_follows_the_worked_figures():
    # Worked apart from the same rule: strain .12 to 1.39.
    metal = working(STERLING)
    found = [flow_stress_mpa(metal, e) for e in (0.12, 0.24, 0.34, 0.46, 0.69, 0.92, 1.39)]
    assert found == pytest.approx([247, 298, 336, 372, 424, 459, 502], abs=2)


@given(BODIES, st.floats(0, 3), st.floats(0.001, 0.5))
def test_metal_never_softens_by_working(body, strain, more):
    metal = working(body)
    assert hv_at(metal, strain + more) >= hv_at(metal, strain)
    assert flow_stress_mpa(metal, strain + more) >= flow_stress_mpa(metal, strain)
    assert metal.soft_hv <= hv_at(metal, strain) <= metal.full_hv


@given(BODIES)
def test_flow_stress_has_no_step_where_its_ramp_ends(body):
    metal = working(body)
    assert flow_stress_mpa(metal, 0.08 - 1e-9) == pytest.approx(
        flow_stress_mpa(metal, 0.08), rel=1e-6
    )


@given(BODIES, st.floats(0.01, 2))
def test_strain_and_hardness_invert_each_other(body, strain):
    metal = working(body)
    assert strain_at_hv(metal, hv_at(metal, strain)) == pytest.approx(strain, rel=1e-6)
    assert strain_at_hv(metal, metal.soft_hv - 5) == 0
    assert strain_at_hv(metal, metal.full_hv) == math.inf


@given(BODIES)
def test_an_anneal_stays_well_below_melting(body):
    metal, limits = working(body), heat_limits(body)
    assert metal.anneal_c[0] < metal.anneal_c[1] < melting(body).segregated_solidus_c
    assert metal.anneal_c[0] < limits.worked_c
    assert limits.cast_c <= limits.worked_c + 1e-9


def test_between_two_rows_the_figures_are_interpolated():
    middle = working(Composition.from_millesimal({"Ag": 941.5, "Cu": 58.5}))
    assert 60 < middle.soft_hv < 70
    assert middle.soft_hv == pytest.approx(65, abs=0.1)
    assert middle.confidence == "low"
    assert working(STERLING).confidence == "medium"


def test_lead_halves_the_work_between_anneals():
    clean, foul = working(STERLING), working(
        Composition.from_millesimal({"Ag": 925, "Cu": 74.8, "Pb": 0.2})
    )  # fmt: skip
    assert foul.strain_most == pytest.approx(clean.strain_most / 2)
    assert foul.notes[0].code == "metal.working.suspect"
    assert say(foul.notes[0])


def test_lead_makes_silver_hot_short_from_304_degrees():
    limits = heat_limits(Composition.from_millesimal({"Ag": 925, "Cu": 74.8, "Pb": 0.2}))
    assert limits.hot_short_from_c == 304
    assert say(limits.notes[0])


def test_red_gold_must_be_quenched_and_yellow_silver_need_not():
    red = Composition.from_millesimal({"Au": 750, "Ag": 45, "Cu": 205})
    assert working(red).cooling == "metal.cool.must_quench"
    assert orders_when_slow(red)
    assert not orders_when_slow(STERLING)
    assert not orders_when_slow(Composition.from_millesimal({"Au": 750, "Ag": 200, "Cu": 50}))


def test_the_anneal_can_be_said():
    for parts in ({"Ag": 925, "Cu": 75}, {"Ag": 999, "Cu": 1}, {"Au": 750, "Cu": 250},
                  {"Pt": 950, "Cu": 50}, {"Cu": 700, "Zn": 300}, {"Au": 750, "Pd": 150, "Ag": 100},
                  {"Au": 750, "Ni": 110, "Cu": 90, "Zn": 50}, {"Pd": 950, "Cu": 50},
                  {"Ag": 930, "Cu": 58, "Ge": 12}, {"Au": 999, "Ag": 1}):  # fmt: skip
        assert all(say(saying) for saying in softening(working(Composition.from_millesimal(parts))))


@pytest.mark.outside
def test_sterling_hardens_by_age_to_110_to_140():
    # Source: notes of a supplier and of the Santa Fe Symposium 2003.
    treatment = ageing(STERLING)
    assert treatment is not None
    assert treatment.hv == (110, 140)
    assert treatment.solution_c is not None
    assert treatment.solution_c[1] < melting(STERLING).segregated_solidus_c
    assert say(treatment.note)
    assert ageing(Composition.from_millesimal({"Ag": 800, "Cu": 200})) is None
