"""Which start: the least mass and a verdict on each bar."""

from __future__ import annotations

import time

import pytest

from lemel.mill import need
from lemel.values import Section
from tests.mill.metals import STERLING, ingot, kit, plate, route, sheet, soft, strip, wire, wire_bar


def test_the_least_mass_holds_stock_crops_and_filed_skin():
    answer = need(wire(0.6, 12000), (), kit(), STERLING)
    assert 35.1 < answer.grams_least < 36


def test_each_bar_gets_a_verdict_with_its_reason():
    stock = wire(1.0, 3000, least_mm=500)
    light = ingot(Section.square(6), 53.5, 20)
    thin = soft(Section.round(0.8), 9000, 46)
    answer = need(stock, (wire_bar(), light, thin, plate()), kit(), STERLING)
    assert [v.fits for v in answer.verdicts] == [True, False, False, True]
    assert answer.verdicts[1].workable
    assert 0.5 < answer.verdicts[1].serves < 1
    assert answer.verdicts[1].objections[0].code == "mill.bar.too_light"
    assert answer.verdicts[2].objections[0].code == "mill.bar.too_thin"


def test_a_bar_that_fits_has_a_route_and_no_worse_than_the_verdict():
    for bar, stock in (
        (wire_bar(), wire(1.0, 3000)),
        (plate(), sheet(0.9, 250, 38)),
        (wire_bar(), strip(1.6, 5, 350)),
    ):
        verdict = need(stock, (bar,), kit(), STERLING).verdicts[0]
        found = route(bar, stock)
        assert verdict.fits
        assert found.status == "optimal"
        assert found.minutes <= verdict.minutes * 1.001
        assert verdict.grams_needed <= bar.mass_g * (1 + 1e-9)


def test_when_no_bar_fits_the_ways_out_of_all_are_gathered():
    answer = need(sheet(0.9, 157, 157), (plate(), wire_bar()), kit(), STERLING)
    assert not any(v.fits for v in answer.verdicts)
    assert answer.objections
    assert len(answer.ways_out) >= 1


@pytest.mark.parametrize(
    ("bar", "stock"),
    [
        (wire_bar(), wire(1.0, 3000)),
        (plate(), sheet(0.9, 250, 38)),
        (ingot(Section.square(6), 90, 33.6), strip(1.6, 5, 350)),
    ],
)
def test_a_verdict_is_quick(bar, stock):
    tools = kit()
    need(stock, (bar,), tools, STERLING)
    times = []
    for _ in range(5):
        start = time.process_time()
        need(stock, (bar,), tools, STERLING)
        times.append(time.process_time() - start)
    # The goal is 50 ms; half of the speed is asserted, for slower machines.
    assert min(times) < 0.1


def test_a_salver_wider_than_the_barrel_is_noted_with_the_hammer_as_way_out():
    """155 mm on a barrel of 120 mm: about 176 g as a disc, 233 g as a square sheet."""
    answer = need(sheet(0.9, 157, 157, disc_mm=155), (), kit(), STERLING)
    assert [o.code for o in answer.objections] == ["mill.sheet.wider_than_barrel"]
    remedy = answer.ways_out[0]
    assert remedy.code == "mill.way.beat_disc"
    assert 176 < remedy.values["mass"].value < 190
    assert 233 < remedy.values["sheet"].value < 250
    assert answer.grams_least == pytest.approx(remedy.values["mass"].value)
