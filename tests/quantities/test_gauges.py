"""Gauges: a number with its system, both ways."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lemel.errors import BadInput
from lemel.quantities import GAUGE_SYSTEMS, from_gauge, gauge_sizes, to_gauge


@pytest.mark.outside
@pytest.mark.parametrize(
    ("gauge", "mm"),
    [
        ("0000", 11.684), ("0", 8.2515), ("4", 5.1894), ("8", 3.2636), ("10", 2.5882),
        ("12", 2.0525), ("14", 1.6277), ("16", 1.2908), ("18", 1.0237), ("20", 0.8118),
        ("22", 0.6438), ("24", 0.5106), ("26", 0.4049), ("28", 0.3211), ("30", 0.2546),
        ("36", 0.1270),
    ],
)  # fmt: skip
def test_american_gauge_sizes(gauge, mm):
    """ASTM B258, sizes as printed (to 0.0001 mm)."""
    assert from_gauge(gauge, "AWG").mm == pytest.approx(mm, abs=6e-5)


@pytest.mark.outside
def test_six_american_gauges_nearly_halve_the_diameter():
    """The ratio's sixth power is 2.0050 (ASTM B258, explanatory note)."""
    ratio = from_gauge(10, "AWG").mm / from_gauge(16, "AWG").mm
    assert ratio == pytest.approx(2.0050, abs=5e-5)


@pytest.mark.outside
@pytest.mark.parametrize(
    ("gauge", "mm"),
    [
        ("7/0", 12.700), ("6/0", 11.786), ("5/0", 10.973), ("4/0", 10.160), ("3/0", 9.449),
        ("2/0", 8.839), ("0", 8.230), ("1", 7.620), ("2", 7.010), ("3", 6.401),
    ],
)  # fmt: skip
def test_british_gauge_sizes(gauge, mm):
    """The mm column of a public table of BS 3737:1964 (general wiki of synthesiser builders)."""
    assert from_gauge(gauge, "SWG").mm == pytest.approx(mm, abs=6e-4)


@pytest.mark.outside
def test_british_gauge_runs_in_straight_steps_at_the_thin_end():
    """0.4 thou from 49 to 39 and 0.8 thou from 39 to 30 (public encyclopaedia on BS 3737)."""
    sizes = gauge_sizes("SWG")
    for last, first, thou in ((49, 39, 0.4), (39, 30, 0.8)):
        for n in range(first, last):
            step_mm = sizes[str(n)].mm - sizes[str(n + 1)].mm
            assert step_mm == pytest.approx(thou * 0.0254, rel=1e-9)


@pytest.mark.parametrize("system", GAUGE_SYSTEMS)
def test_every_gauge_is_found_again_from_its_thickness(system):
    for name, size in gauge_sizes(system).items():
        assert to_gauge(size.mm, system).gauge == name
        assert to_gauge(size.mm, system).off_mm == 0


@pytest.mark.parametrize("system", GAUGE_SYSTEMS)
def test_a_higher_number_is_thinner(system):
    thicknesses = [size.mm for size in gauge_sizes(system).values()]
    assert thicknesses == sorted(thicknesses, reverse=True)
    assert len(set(thicknesses)) == len(thicknesses)


@given(st.floats(0.05, 10.0), st.sampled_from(GAUGE_SYSTEMS))
def test_the_nearest_gauge_is_named_with_its_distance(mm, system):
    found = to_gauge(mm, system)
    assert found.mm + found.off_mm == pytest.approx(mm)
    assert 0.84 < mm / found.mm < 1.19


@pytest.mark.parametrize("call", [lambda: from_gauge(18), lambda: to_gauge(1.0)])
def test_a_bare_gauge_number_is_refused_with_the_choice(call):
    with pytest.raises(BadInput) as fault:
        call()
    assert fault.value.allowed.endswith("AWG or SWG")


@pytest.mark.parametrize("gauge", ["57", "00000", "-1", "18.5", "eighteen", ""])
def test_gauges_that_do_not_exist_are_refused(gauge):
    with pytest.raises(BadInput):
        from_gauge(gauge, "AWG")


@pytest.mark.parametrize("mm", [0, -1, 0.001, 50])
def test_thicknesses_outside_the_system_are_refused(mm):
    with pytest.raises(BadInput):
        to_gauge(mm, "SWG")


def test_an_unknown_system_is_refused():
    with pytest.raises(BadInput, match="Name one of these systems"):
        from_gauge(18, "XYZ")


def test_other_ways_to_write_the_same_gauge():
    sizes = {from_gauge(text, "b&s").mm for text in ("4/0", "0000", "#0000", "No. 0000")}
    assert len(sizes) == 1
