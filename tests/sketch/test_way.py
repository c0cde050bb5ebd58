"""The band is drawn from the book: a wrong mass would show."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lemel.sketch import reaches, way


@pytest.fixture(scope="module")
def found(plan):
    return {reach.name: reach for reach in reaches(plan)}


def test_between_two_reaches_nothing_is_missing(plan):
    before = None
    for reach in reaches(plan):
        if before is not None:
            came = reach.total_mg + sum(reach.left_mg.values())
            assert came == before.total_mg + reach.joined_mg
        before = reach


def test_the_scrap_is_what_the_heats_are_charged_with(plan, found):
    charged = sum(
        round(100 * line.mass_g) * 10 for heat in plan.heats for line in heat.charge.lines
    )
    assert found["scrap"].total_mg == pytest.approx(charged, abs=10 * len(plan.heats) * 6)


def test_the_pieces_are_those_of_the_balance(plan, found):
    pieces = sum(owner.places_mg.get("piece", 0) for owner in plan.balance.owners)
    assert found["pieces"].total_mg == pieces
    assert found["pieces"].parts == sum(
        len(sheet.placements) for work in plan.stock for sheet in work.layout.sheets
    )


def test_what_is_gone_on_the_way_is_what_the_balance_lost(plan, found):
    lost = sum(reach.left_mg.get("loss", 0) for reach in found.values())
    assert lost == plan.balance.loss_mg


def test_only_bars_of_the_drawer_join(plan, found):
    drawer = sum(
        one.bar.mass_g for work in plan.stock if work.source != "heat" for one in work.bars
    )
    joined = {name: reach.joined_mg for name, reach in found.items() if reach.joined_mg}
    assert set(joined) <= {"bars"}
    assert joined.get("bars", 0) == pytest.approx(1000 * drawer, abs=30)


def test_every_mass_on_the_band_is_written_at_it(plan, found):
    drawn = way(plan)
    assert drawn is not None
    for reach in found.values():
        assert f"{reach.total_mg / 1000:.2f} g" in drawn.svg


def test_other_owners_run_as_hatched_strands(plan):
    drawn = way(plan)
    owners = {owner for reach in reaches(plan) for owner in reach.mass_mg}
    assert drawn is not None
    assert drawn.svg.count("<pattern") == len(owners) - 1
    for owner in owners:
        assert plan.owners[owner][:12] in drawn.svg


def test_a_plan_in_which_no_metal_moves_has_no_band(plan):
    still = replace(plan, balance=replace(plan.balance, movements=()))
    assert way(still) is None
