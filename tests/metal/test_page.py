"""The report on one alloy, the curves for drawings, and how fast the room starts."""

from __future__ import annotations

import subprocess
import sys
from itertools import pairwise

import pytest

from lemel.metal import (
    alloy_report,
    freezing,
    liquid_fraction_data,
    melting,
    section_data,
)
from lemel.tables import shipped
from lemel.values import Composition, to_plain
from lemel.words import say

OF = Composition.from_millesimal
KEYS = (
    "composition liquidus_c solidus_c segregated_solidus_c freezing_range_k band_k grade "
    "liquid_fraction phases density_20c_g_cm3 density_liquid_g_cm3 pour_c heat_to_pour_j_per_g "
    "vapour_pa fineness standards cautions sources"
).split()


def test_the_report_has_the_agreed_keys():
    plain = to_plain(alloy_report(OF({"Ag": 925, "Cu": 75}), at_c=850))
    assert set(KEYS) <= set(plain)
    assert plain["fineness"] == 925
    assert plain["liquid_fraction"] == pytest.approx(0.231, abs=0.001)


def test_every_source_of_a_report_is_listed():
    for parts in ({"Ag": 925, "Cu": 75}, {"Au": 585, "Ag": 255, "Pd": 160}, {"Cu": 700, "Zn": 300}):
        report = alloy_report(OF(parts))
        for key in report.sources:
            assert shipped().source(key).title
        for caution in report.cautions:
            assert shipped().source(caution.source).title
            assert say(caution)


@pytest.mark.outside
def test_the_freezing_of_sterling_ends_in_an_eighth_of_eutectic():
    # Source: Scheil integral computed apart: 12.9 mol% left at the eutectic.
    found = freezing(OF({"Ag": 925, "Cu": 75}))
    assert found.liquid_moles[-2] == pytest.approx(0.129, abs=0.001)
    assert found.eutectic_share == pytest.approx(0.1135, abs=0.001)
    assert found.last_liquid.share("Cu") == pytest.approx(0.284, abs=0.001)


@pytest.mark.parametrize(
    "parts",
    [{"Ag": 925, "Cu": 75}, {"Au": 750, "Ag": 125, "Cu": 125}, {"Au": 375, "Ag": 200, "Cu": 425},
     {"Au": 585, "Ag": 248, "Cu": 167}, {"Ag": 650, "Cu": 200, "Zn": 150},
     {"Ag": 463, "Cu": 229, "Zn": 308}, {"Cu": 650, "Zn": 350}],
)  # fmt: skip
def test_a_casting_s_path_does_not_depend_on_the_steps(parts):
    coarse, fine = freezing(OF(parts), steps=12), freezing(OF(parts), steps=300)
    assert coarse.temps_c[-1] == pytest.approx(fine.temps_c[-1], abs=1.0)
    for path in (coarse, fine):
        assert all(b <= a + 1e-9 for a, b in pairwise(path.liquid))
        assert all(b <= a + 1e-6 for a, b in pairwise(path.temps_c))


def test_the_segregated_curve_lies_right_of_the_equilibrium_one():
    data = liquid_fraction_data(OF({"Ag": 925, "Cu": 75}))
    assert len(data.temps_c) == len(data.equilibrium) == len(data.segregated)
    assert all(s >= e - 0.01 for e, s in zip(data.equilibrium, data.segregated, strict=True))
    assert data.segregated[0] == 0
    assert data.equilibrium[-1] == data.segregated[-1] == 1


def test_the_section_of_a_binary_is_the_whole_diagram():
    data = section_data(OF({"Ag": 925, "Cu": 75}), points=21)
    assert (data.along, data.against, data.here) == ("Cu", "Ag", 75)
    assert (data.shares[0], data.shares[-1]) == (0, 1000)
    assert data.here_liquidus_c == melting(OF({"Ag": 925, "Cu": 75})).liquidus_c
    assert min(data.liquidus_c) < 830


def test_the_section_of_a_gold_alloy_keeps_its_fineness():
    data = section_data(OF({"Au": 750, "Ag": 125, "Cu": 125}), points=11)
    assert data.fixed == (("Au", 750.0),)
    assert data.shares[-1] == pytest.approx(250)
    assert data.here == pytest.approx(125)


def test_a_pure_metal_has_a_section_too():
    assert section_data(Composition.pure("Ag"), points=5).here == 0


def test_asking_for_one_alloy_loads_no_arrays_and_no_plots():
    code = (
        "import sys; from lemel.metal import alloy_report; from lemel.values import Composition;"
        "alloy_report(Composition.from_millesimal({'Ag': 925, 'Cu': 75}), at_c=850);"
        "print([m for m in ('numpy', 'scipy', 'matplotlib', 'click') if m in sys.modules])"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"
