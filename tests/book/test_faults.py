"""A bar's faults: kept, cropped, and what a crack does to the heat and all its relatives."""

from __future__ import annotations

import pytest

from lemel.book import Account
from lemel.errors import BadInput
from lemel.words import say

from .at_bench import (
    bar_of,
    everything,
    store,
)


@pytest.mark.parametrize(
    "kind", ["short", "cold_shut", "pipe", "flash", "pits", "streaks", "blister", "lamination"]
)
def test_every_fault_is_kept_with_its_next_step_and_its_event(poured, plan, kind):
    done = poured.mishaps.fault(bar_of(plan), kind, place_mm=12, depth_mm=0.4, note="seen wet")
    [kept] = poured.mishaps.faults(bar_of(plan))
    assert (kept["kind"], kept["place_mm"], kept["depth_mm"]) == (kind, 12, 0.4)
    assert say(done.next[0])
    assert poured.heat_events(plan.id, "H1")[-1][1] == "fault"
    assert poured.mishaps.suspects() == ()


def test_what_is_cropped_comes_back_as_an_offcut_with_its_ancestors(poured, plan):
    bar = bar_of(plan)
    before = store(poured, bar)
    done = poured.mishaps.fault(
        bar, "pipe", cropped_g=3.0, left_g=before.gross_mg / 1000 - 3.02, by="leif"
    )
    [crop] = done.bodies
    lots = {lot.id: lot for lot in poured.lots()}
    assert (lots[crop].form, round(1000 * lots[crop].mass_g)) == ("offcut", 3000)
    assert lots[crop].remelts == lots[bar].remelts
    assert poured.ancestors(crop)[crop] == (bar,)
    assert poured.origin(crop) == poured.origin(bar)
    assert before == store(poured, bar) + store(poured, crop) + poured.held(
        Account("shop", "loss", "part")
    )
    assert done.loss_mg == 20


def test_a_crop_that_misses_metal_is_asked_about_and_then_written(poured, plan):
    bar, before = bar_of(plan), everything(poured)
    left = store(poured, bar).gross_mg / 1000 - 5
    stopped = poured.mishaps.fault(bar, "pipe", cropped_g=3.0, left_g=left)
    assert stopped.stopped
    assert everything(poured) == before
    done = poured.mishaps.fault(bar, "pipe", cropped_g=3.0, left_g=left, answered=True)
    assert done.loss_mg == 2000


def test_a_crack_bars_the_heat_and_its_relatives_until_it_is_cleared_with_a_reason(poured, plan):
    poured.mishaps.fault(bar_of(plan), "crack", place_mm=10, depth_mm=2)
    suspects = poured.mishaps.suspects()
    assert {f"{plan.id}/H1", f"{plan.id}/H1-3", f"{plan.id}/H1-1-feeder"} <= set(suspects)
    assert "S1" not in suspects
    made = poured.work(plan.id, "mill H1-1").bodies
    assert set(made) <= set(poured.mishaps.suspects())
    with pytest.raises(BadInput, match="why it is sound"):
        poured.mishaps.clear_suspect(bar_of(plan), " ")
    poured.mishaps.clear_suspect(f"{plan.id}/H1-3", "a strip rolled to 0.3 mm without a mark")
    assert poured.mishaps.suspects() == ()
    with pytest.raises(BadInput, match="under suspicion"):
        poured.mishaps.clear_suspect(bar_of(plan), "again")


def test_one_cleared_crack_does_not_clear_the_relatives_of_another(bags):
    bags.mishaps.split("F1", {"F1a": 10, "F1b": 10})
    bags.mark_suspect("F1a")
    bags.mark_suspect("F1b")
    bags.mishaps.clear_suspect("F1a", "rolled thin")
    assert bags.mishaps.suspects() == ("F1b",)


def test_suspect_metal_stays_out_of_the_pot(shop, plan):
    shop.mark_suspect("S1")
    stopped = shop.charge(plan.id, "H1")
    assert [one.code for one in stopped.objections] == ["book.charge.suspect"]
    assert shop.heat_state(plan.id, "H1") == "planned"
    shop.mishaps.clear_suspect("S1", "rolled thin")
    assert shop.charge(plan.id, "H1").entry
