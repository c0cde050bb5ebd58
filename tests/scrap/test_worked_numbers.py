"""Printed worked numbers of the fusion and of blend statistics, to the printed digits.

Source of the fusion's numbers: worked by hand with the gain form of R. E. Kalman, "A new
approach to linear filtering and prediction problems", 1960; the blend statistics are the
rules of error propagation (JCGM 100:2008, 5.2, correlated inputs).
"""

from __future__ import annotations

import numpy as np
import pytest

from lemel.scrap import ScrapProblem, believe, report

EVIDENCE = [
    ("plain-test", 915, 10),
    ("plain-xrf", 929, None),
    ("plain-test", 910, 12),
    ("plain-test", 921.4, 0.6),
]


@pytest.mark.outside
@pytest.mark.parametrize(
    ("readings", "gain", "mean", "sd"),
    [
        (0, 1.0, 920.00, 4.717),
        (1, 0.182, 919.09, 4.266),
        (2, 0.421, 921.16, 3.245),
        (3, 0.068, 920.40, 3.133),
        (4, 0.965, 921.36, 0.589),
    ],
)
def test_one_lot_gains_as_worked_by_hand(plain, silver_lot, read, readings, gain, mean, sd):
    lot = silver_lot("A", scrap_class="one_of_a_kind")
    given = tuple(
        read(str(k), "A", method, said, **({} if own is None else {"sd_own": own}))
        for k, (method, said, own) in enumerate(EVIDENCE[:readings])
    )
    answer = believe(ScrapProblem((lot,), given), tables=plain)
    found = report(answer, "A")
    assert found.mean == pytest.approx(mean, abs=0.006)
    assert found.sd == pytest.approx(sd, abs=0.0006)
    last = found.readings[readings - 1] if readings else found.readings[0]
    assert last.weight == pytest.approx(gain, abs=0.0006)


@pytest.fixture
def two_lots(silver_lot, read):
    lots = (silver_lot("A"), silver_lot("B", 923, mass_g=30.0))
    readings = (
        read("ra", "A", "plain-xrf", 929, source="gun"),
        read("rb", "B", "plain-xrf", 927, source="gun"),
    )
    return lots, readings


@pytest.mark.outside
def test_two_lots_of_one_gun_stay_correlated(plain, two_lots, covariance):
    answer = believe(ScrapProblem(*two_lots), tables=plain)
    cov = covariance(answer) * 1e6
    assert [m.fineness("Ag") for m in answer.beliefs.mean] == pytest.approx(
        [921.82, 919.82], abs=0.006
    )
    assert np.sqrt(np.diag(cov)) == pytest.approx([3.43, 3.43], abs=0.006)
    assert cov[0, 1] / cov[0, 0] == pytest.approx(0.32, abs=0.006)
    bias, sd = answer.biases["gun/plain-xrf"]
    assert (bias * 1e3, sd * 1e3) == pytest.approx((6.15, 2.53), abs=0.006)
    half = np.array([0.5, 0.5])
    assert np.sqrt(half @ cov @ half) == pytest.approx(2.78, abs=0.006)


@pytest.mark.outside
def test_taking_the_gun_as_independent_claims_too_much(plain, silver_lot, read, covariance):
    lots = (silver_lot("A"), silver_lot("B", 923))
    readings = (
        read("ra", "A", "plain-xrf", 929, source="one gun"),
        read("rb", "B", "plain-xrf", 927, source="another"),
    )
    answer = believe(ScrapProblem(lots, readings), tables=plain)
    cov = covariance(answer) * 1e6
    assert [m.fineness("Ag") for m in answer.beliefs.mean] == pytest.approx(
        [922.13, 920.13], abs=0.006
    )
    assert np.sqrt(np.diag(cov)) == pytest.approx([3.40, 3.40], abs=0.006)
    assert cov[0, 1] / cov[0, 0] == pytest.approx(0.15, abs=0.006)
    half = np.array([0.5, 0.5])
    assert np.sqrt(half @ cov @ half) == pytest.approx(2.58, abs=0.006)


@pytest.mark.outside
def test_an_assayed_heat_teaches_what_is_left_and_the_gun(plain, two_lots, read, covariance):
    lots, readings = two_lots
    heat = ("H1", (("A", 60.0), ("B", 30.0)), 9.99, 100.0)
    assay = read("assay", "H1", "plain-test", 924.0, sd_own=0.8)
    answer = believe(ScrapProblem(lots, (*readings, assay), (heat,)), tables=plain)
    cov = covariance(answer) * 1e6
    assert [m.fineness("Ag") for m in answer.beliefs.mean] == pytest.approx(
        [916.27, 915.90], abs=0.006
    )
    assert np.sqrt(np.diag(cov)) == pytest.approx([1.60, 2.68], abs=0.006)
    assert cov[0, 1] / np.sqrt(cov[0, 0] * cov[1, 1]) == pytest.approx(-0.64, abs=0.006)
    bias, sd = answer.biases["gun/plain-xrf"]
    assert (bias * 1e3, sd * 1e3) == pytest.approx((8.66, 2.13), abs=0.006)
    heat_now = answer.heats["H1"]
    assert (heat_now.mean * 1e3, heat_now.sd * 1e3) == pytest.approx((924.43, 0.76), abs=0.006)
    assert answer.health is not None
    assert dict(answer.health.z)["H1"] == pytest.approx(-1.8, abs=0.05)


@pytest.mark.outside
def test_br1_a_blend_of_hallmarked_and_read_metal(plain, silver_lot, read, covariance):
    """418.20 g at 920.2 (own 2.0) with 47.90 g at 897 (shared 3, own 4): 917.816, sd 1.867."""
    lots = (
        silver_lot("S5", None, scrap_class="exact", mass_g=418.20),
        silver_lot("S15", None, scrap_class="exact", mass_g=47.90),
    )
    wide = plain.with_overrides(
        {"scrap_figures": {"wide_sd/Ag": {"value": 1e6}, "gross_error_z": {"value": 99}}}
    )
    readings = (
        read("h", "S5", "plain-test", 920.2, sd_own=2.0),
        read("x", "S15", "plain-test", 897, sd_own=4, sd_shared=3, source="gun"),
    )
    answer = believe(ScrapProblem(lots, readings), tables=wide)
    share = np.array([418.20, 47.90]) / 466.10
    mean = share @ [m.fineness("Ag") for m in answer.beliefs.mean]
    sd = np.sqrt(share @ covariance(answer) @ share) * 1e3
    assert mean == pytest.approx(917.816, abs=0.0006)
    assert sd == pytest.approx(1.867, abs=0.0006)


@pytest.mark.outside
@pytest.mark.parametrize(("second", "sd"), [("gun", 3.518), ("other gun", 3.041)])
def test_br2_two_equal_lots_on_one_gun_or_two(plain, silver_lot, read, covariance, second, sd):
    """Two equal lots at 920, shared 2.5, own 3.5: 3.518 with one instrument, 3.041 with two."""
    lots = tuple(silver_lot(name, None, scrap_class="exact") for name in "AB")
    wide = plain.with_overrides({"scrap_figures": {"wide_sd/Ag": {"value": 1e6}}})
    readings = tuple(
        read(f"r{name}", name, "plain-test", 920, sd_own=3.5, sd_shared=2.5, source=source)
        for name, source in (("A", "gun"), ("B", second))
    )
    answer = believe(ScrapProblem(lots, readings), tables=wide)
    half = np.array([0.5, 0.5])
    assert np.sqrt(half @ covariance(answer) @ half) * 1e3 == pytest.approx(sd, abs=0.0006)


@pytest.mark.outside
def test_a_soldered_hallmarked_teapot_enters_near_920(silver_lot):
    """common practice, no source: 925 with 2 % of solder at 650 melts to 919.5, and the office
    mark lies 0.7 above its standard: 920.2."""
    pot = silver_lot(
        "S5", form="hollowware", scrap_class="old_hollowware", solder_share=(0.02, 0.007)
    )
    found = report(believe(ScrapProblem((pot,), ())), "S5")
    assert found.mean == pytest.approx(920.2, abs=0.05)
    assert found.mean < 925
