"""Wishes for a plan: this lot first, that one not, only these moulds; and what is at hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lemel.errors import BadInput
from lemel.plan import PlanOptions, at_hand, do


def wished(month, **wishes):
    return replace(month, options=PlanOptions(**wishes))


def test_a_lot_left_out_stays_in_its_bag_and_the_plan_says_so(month, plan):
    used = {line.body for heat in plan.heats for line in heat.charge.lines}
    lot = next(one.id for one in month.lots if one.id in used and one.owner == "shop")
    other = do(wished(month, leave_out=(lot,)))
    assert lot not in {line.body for heat in other.heats for line in heat.charge.lines}
    assert other.unused[lot].code == "plan.left_out_by_hand"
    assert not [o for o in other.objections if o.code.startswith("plan.check")]


def test_a_lot_wished_first_is_used_more(month, plan):
    def taken(made):
        grams = {}
        for heat in made.heats:
            for line in heat.charge.lines:
                grams[line.body] = grams.get(line.body, 0) + line.mass_g
        return grams

    before = taken(plan)
    lot = next(
        one.id
        for one in month.lots
        if one.owner == "shop" and one.id in before and before[one.id] < 0.8 * one.mass_g
    )
    assert taken(do(wished(month, use_first=(lot,))))[lot] > before[lot]


def test_only_the_wished_moulds_are_poured_into(month, plan):
    poured = sorted({mould for heat in plan.heats for mould in heat.moulds} - {"button"})
    other = do(wished(month, moulds=(poured[0],)))
    assert {mould for heat in other.heats for mould in heat.moulds} <= {poured[0], "button"}


@pytest.mark.parametrize("field", ["use_first", "leave_out", "moulds"])
def test_a_wish_for_what_is_not_there_is_refused_by_name(month, field):
    with pytest.raises(BadInput, match=field):
        do(wished(month, **{field: ("X99",)}))


def test_what_is_at_hand_is_what_the_plan_would_take_from_hand(month, plan):
    now = at_hand(month)
    for line in plan.lines:
        if line.met_by in ("remnant", "scrap_as_is", "stock"):
            assert now[line.line] == line
        else:
            assert now[line.line] is None
