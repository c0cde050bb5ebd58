"""Curves, moulds and rulers say what the answers say."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from lemel.melt import MeltCurve
from lemel.sketch import (
    fill_height_mm,
    fineness_ruler,
    full_size,
    hardness,
    melt_curve,
    mould_fill,
    silver_copper,
)
from lemel.values import Temper


def by_furnace(plan):
    return next(heat for heat in plan.heats if heat.melt.method == "furnace")


def test_display_and_bath_are_two_lines_named_where_they_run(plan):
    drawn = melt_curve(by_furnace(plan).melt)
    assert ">display<" in drawn.svg
    assert ">bath<" in drawn.svg
    assert "stroke-dasharray" in drawn.svg


def test_each_top_up_is_marked_with_its_number(plan):
    heat = max(plan.heats, key=lambda one: len(one.melt.fills))
    assert len(heat.melt.fills) > 1
    labels = re.findall(r">(\d(?:, \d)*)</text>", melt_curve(heat.melt).svg)
    marked = {number for label in labels for number in label.split(", ")}
    assert {str(fill.n) for fill in heat.melt.fills[1:]} <= marked


def test_a_melt_without_a_curve_is_not_drawn(plan):
    bare = replace(by_furnace(plan).melt, curve=MeltCurve((), (), (), ()))
    assert melt_curve(bare) is None


def test_hardness_falls_at_each_anneal(plan):
    for work in plan.stock:
        for one in work.bars:
            drawn = hardness(one.route)
            if drawn is not None:
                assert drawn.svg.count(">anneal<") == one.route.anneals


def test_a_wanted_hardness_is_a_strip(plan):
    route = next(one.route for work in plan.stock for one in work.bars if one.route.passes > 3)
    plain, banded = hardness(route), hardness(route, temper=Temper("hv", 90, 130))
    assert plain.svg.count("<pattern") == 0
    assert banded.svg.count("<pattern") == 1


def test_a_short_pour_is_drawn_as_high_as_its_mass_with_the_feeder(plan):
    moulds = {mould.id: mould for mould in plan.moulds}
    for heat in plan.heats:
        for pour in heat.pours:
            for casting in pour.castings:
                mould = moulds.get(casting.mould)
                if mould is None:
                    continue
                # The other way round: bar and feeder as one prism of the bar's own density.
                per_mm = casting.bar.mass_g / casting.bar.length_mm
                level = (casting.bar.mass_g + casting.feeder_g) / per_mm
                assert fill_height_mm(casting) == pytest.approx(level)
                drawn = mould_fill(casting, mould)
                word = "full" if level >= mould.length_mm else f"{level:.0f} mm"
                assert f">{word}<" in drawn.svg


def test_a_button_lies_in_its_dish(plan):
    casting = next(
        casting for heat in plan.heats for pour in heat.pours for casting in pour.castings
        if casting.fill == "button"
    )  # fmt: skip
    drawn = mould_fill(casting, None)
    assert f"ø {casting.bar.section.width_mm:.0f} mm" in drawn.svg


def test_the_notch_stands_where_the_standard_is():
    drawn = fineness_ruler(0.925, 0.9266, 0.0007, width_mm=60)
    left, mean = (
        float(re.search(rf'x="([\d.]+)"[^>]*>{text}', drawn.svg)[1]) for text in ("925.0", "926.6")
    )
    assert 0 < left < mean < 60


@pytest.mark.parametrize(("least", "mean", "sd"), [(0.925, 0.925, 0.0), (0.75, 0.9, 0.2)])
def test_a_ruler_bears_no_spread_and_a_wild_one(least, mean, sd):
    drawn = fineness_ruler(least, mean, sd)
    assert "nan" not in drawn.svg
    assert drawn.svg.count("<path") < 60


@pytest.mark.outside
def test_silver_and_copper_meet_at_the_eutectic_of_the_handbooks():
    """779 degC: NIST Phase Diagrams and Computational Thermodynamics, solder systems, Ag-Cu."""
    drawn = silver_copper()
    assert "779" in drawn.alt
    assert ">779<" in drawn.svg


def test_wire_is_a_list_and_no_drawing(plan):
    wires = [
        (work.layout, sheet.bar)
        for work in plan.stock
        for sheet in work.layout.sheets
        if work.need.section.kind == "round"
    ]
    assert wires
    for layout, bar in wires:
        drawn = full_size(layout, bar, (186, 150))
        assert not drawn.inline
        assert not drawn.pages


def test_a_long_strip_is_parted_and_stacked(plan):
    layout, sheet = next(
        (work.layout, sheet)
        for work in plan.stock
        for sheet in work.layout.sheets
        if work.need.section.kind == "flat" and sheet.length_mm > 200 and sheet.width_mm < 20
    )
    parts = full_size(layout, sheet.bar, (186, 150)).inline
    assert len(parts) == -(-(sheet.length_mm + 12 - 10) // 176)
    windows = [re.search(r'viewBox="(-?[\d.]+)', part.svg)[1] for part in parts]
    assert [float(one) for one in windows] == pytest.approx(
        [-6 + 176 * n for n in range(len(parts))]
    )
    for part in parts:
        assert part.full_size
        assert part.width_mm == 186
    for letter in "AB"[: len(parts) - 1]:
        assert sum(f">{letter}<" in part.svg for part in parts) >= 2


def test_what_is_larger_than_the_card_goes_on_pages_of_its_own(plan):
    layout, sheet = next(
        (work.layout, sheet)
        for work in plan.stock
        for sheet in work.layout.sheets
        if work.need.section.kind == "flat" and sheet.width_mm > 15
    )
    drawn = full_size(layout, sheet.bar, (60, 20))
    assert not drawn.inline
    assert drawn.pages
    assert all(part.full_size and part.width_mm <= 277 for page in drawn.pages for part in page)
    assert all(sum(part.height_mm for part in page) <= 190 for page in drawn.pages)
