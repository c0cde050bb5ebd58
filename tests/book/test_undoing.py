"""Steps taken back: in order, by their opposites, and never under what stands on them."""

from __future__ import annotations

import pytest

from lemel.errors import BadInput
from lemel.values import Reading

from .at_bench import (
    bar_of,
    everything,
    store,
)


def test_a_step_is_taken_back_and_done_again_with_other_weights(poured, plan):
    step, bar = "mill H1-2", bar_of(plan)
    before = store(poured, bar)
    planned = {s.name: s for s in poured.steps(plan.id)}[step].gives_mg
    poured.work(plan.id, step)
    poured.mishaps.undo_step(plan.id, step)
    assert store(poured, bar) == before
    assert not {s.name: s for s in poured.steps(plan.id)}[step].done
    assert f"{bar}-a" not in poured.descendants(bar)
    assert poured.lots() == tuple(lot for lot in poured.lots() if lot.id != f"{bar}-a")
    weights = {"H1-2-a": planned["H1-2-a"] / 1000 - 0.03}
    done = poured.work(plan.id, step, after=weights)
    assert done.entry
    assert store(poured, f"{bar}-a").gross_mg == planned["H1-2-a"] - 30
    assert f"{bar}-a" in poured.descendants(bar)
    live = [one for one in poured.readings(f"{bar}-a") if not one.withdrawn]
    assert len(live) == 1
    assert poured.audit().whole


def test_what_others_stand_on_is_not_taken_back_and_they_are_named(poured, plan):
    poured.work(plan.id, "mill H1-2")
    before = everything(poured)
    with pytest.raises(BadInput, match="mill H1-2"):
        poured.mishaps.undo_step(plan.id, "H1 melt and pour")
    assert everything(poured) == before


def test_a_heat_is_taken_back_state_by_state_to_where_it_began(shop, plan):
    before = shop.balances(place="store"), shop.accept(plan).reserved_mg
    shop.charge(plan.id, "H1")
    shop.molten(plan.id, "H1")
    shop.pour(plan.id, "H1")
    shop.prove(plan.id, "H1", Reading("A1", f"{plan.id}/H1", "silver-volhard", {"Ag": 0.93}))
    states = []
    for _ in range(4):
        shop.mishaps.undo_step(plan.id, "H1")
        states.append(shop.heat_state(plan.id, "H1"))
    assert states == ["poured", "molten", "charged", "planned"]
    assert (shop.balances(place="store"), shop.accept(plan).reserved_mg) == before
    assert [one.withdrawn for one in shop.readings(f"{plan.id}/H1")] == [True]
    with pytest.raises(BadInput, match="Nothing to undo"):
        shop.mishaps.undo_step(plan.id, "H1")
    shop.charge(plan.id, "H1")
    shop.molten(plan.id, "H1")
    assert shop.pour(plan.id, "H1").entry
    assert shop.audit().whole


def test_a_closed_heat_stays_as_it_is(poured, plan):
    poured.work(plan.id, "mill H1-2")
    poured.close_heat(plan.id, "H1")
    for step in ("H1", "H1 melt and pour", "mill H1-2"):
        with pytest.raises(BadInput, match="closed"):
            poured.mishaps.undo_step(plan.id, step)


def test_the_database_lets_no_heat_back_whose_step_stands(poured, plan):
    from django.db import IntegrityError, connections

    with connections[poured.alias].cursor() as cursor, pytest.raises(IntegrityError):
        cursor.execute("UPDATE book_heat SET state = 'molten' WHERE id = %s", [f"{plan.id}/H1"])
