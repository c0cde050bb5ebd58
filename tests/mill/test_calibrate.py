"""What the bench learns comes back from readings that were made with known figures."""

from __future__ import annotations

import math
import random

import pytest

from lemel import metal
from lemel.errors import BadInput
from lemel.mill import (
    HardnessRead,
    MillProblem,
    PassRead,
    SettingRead,
    TimeRead,
    do,
    learn_hardness,
    learn_lead,
    learn_pace,
    learn_spread,
    learn_stand,
    width_rolled_mm,
)
from lemel.mill.loads import roll_load
from lemel.mill.matter import matter_of
from lemel.mill.rules import rules_of
from tests.mill.metals import STERLING, kit, mill, plate, sheet, strip, wire_bar

RULES = rules_of()


def rolled(side: float, thin: float, factor: float, error: float = 0.0) -> PassRead:
    wide = width_rolled_mm(side, side, thin, 30, factor, RULES)
    return PassRead(side, side, thin, wide * (1 + error))


@pytest.mark.parametrize("factor", [0.5, 1.0, 1.6, 2.2])
def test_the_spread_factor_is_found_again(factor):
    reads = [rolled(4.0, 2.5, factor), rolled(5.0, 3.0, factor), rolled(3.0, 1.5, factor)]
    learnt = learn_spread(reads, 30)
    assert learnt.value == pytest.approx(factor, rel=1e-4)
    assert learnt.rms < 1e-5


def test_the_stated_error_of_the_spread_covers_the_truth():
    dice, hits = random.Random(4), 0
    for _ in range(40):
        reads = [rolled(s, s * 0.5, 1.3, dice.gauss(0, 0.01)) for s in (3, 3.5, 4, 4.5, 5, 5.5)]
        learnt = learn_spread(reads, 30)
        hits += abs(learnt.value - 1.3) <= 2 * learnt.sd
    assert hits >= 33


def test_a_learnt_spread_changes_the_square_that_strip_is_rolled_from():
    more = do(MillProblem(wire_bar(), strip(1.6, 5, 300), kit(), spread_factor=2.0))
    less = do(MillProblem(wire_bar(), strip(1.6, 5, 300), kit(), spread_factor=0.7))

    def entry(route) -> float:  # type: ignore[no-untyped-def]
        return min(s.section.dim("side") for s in route.steps if s.section.kind == "square")

    assert entry(more) < entry(less)


def test_wide_sheet_teaches_nothing_about_spread():
    with pytest.raises(BadInput):
        learn_spread([PassRead(2.0, 50.0, 1.5, 50.0)] * 3, 30)


def settings_read(modulus: float, offset: float, widths: list[float]) -> list[SettingRead]:
    matter, reads = matter_of(STERLING), []
    tool = mill(modulus_n_mm=modulus)
    for wide in widths:
        h_in, h_out = 2.0, 1.75
        load = roll_load(
            tool, 1.0, matter, RULES, h_in, h_out, wide, math.log(2.5 / 2), math.log(2.5 / 1.75)
        )
        screw = h_out - offset - float(load.force_n) / modulus
        reads.append(SettingRead(screw, 2.5, h_in, h_out, wide))
    return reads


@pytest.mark.parametrize("modulus", [50_000, 80_000, 150_000])
def test_spring_and_offset_are_found_again(modulus):
    reads = settings_read(modulus, 0.07, [10, 20, 35, 50])
    learnt = learn_stand(reads, mill(), STERLING)
    assert learnt.modulus_n_mm == pytest.approx(modulus, rel=1e-3)
    assert learnt.offset_mm == pytest.approx(0.07, abs=1e-3)
    assert learnt.mill.modulus_n_mm == learnt.modulus_n_mm


def test_strips_of_one_width_cannot_tell_the_spring():
    with pytest.raises(BadInput):
        learn_stand(settings_read(80_000, 0.0, [30, 30, 30]), mill(), STERLING)


def test_the_lead_is_the_slope_of_gap_over_turns():
    learnt = learn_lead([(0, 4.0), (0.5, 3.5), (1.0, 3.01), (1.5, 2.49)])
    assert learnt.value == pytest.approx(1.0, abs=0.02)


def test_hardness_readings_move_the_curve():
    known = metal.working(STERLING)
    reads = [HardnessRead(e, metal.hv_at(known, e) * 1.1) for e in (0.0, 0.3, 0.7, 1.2)]
    learnt = learn_hardness(reads, known)
    for e in (0.1, 0.5, 1.0):
        assert metal.hv_at(learnt, e) == pytest.approx(1.1 * metal.hv_at(known, e), rel=1e-6)
    one = learn_hardness([HardnessRead(0.5, 130)], known)
    assert metal.hv_at(one, 0.5) == pytest.approx(130)


def test_harder_metal_takes_more_passes():
    known = metal.working(STERLING)
    harder = learn_hardness([HardnessRead(0.0, 110), HardnessRead(1.0, 220)], known)
    soft = do(MillProblem(plate(), sheet(0.9, 250, 38), kit()))
    hard = do(MillProblem(plate(), sheet(0.9, 250, 38), kit(), working=harder))
    assert hard.passes > soft.passes


def test_a_slow_bench_takes_longer_by_its_pace():
    learnt = learn_pace([TimeRead(40, 60), TimeRead(30, 45)])
    assert learnt.value == pytest.approx(1.5)
    planned = do(MillProblem(plate(), sheet(0.9, 250, 38), kit()))
    paced = do(MillProblem(plate(), sheet(0.9, 250, 38), kit(), pace=learnt.value))
    assert paced.minutes == pytest.approx(1.5 * planned.minutes)
    assert sum(s.minutes for s in paced.steps) == pytest.approx(paced.minutes)
