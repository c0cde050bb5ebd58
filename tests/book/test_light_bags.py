"""A bag that is lighter than the book says, with its rest promised to a later heat."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lemel.book import Account, open_book
from tests.months import quillmarsh_plan, quillmarsh_problem

HEAT, LATER = "H1", "H6 melt and pour"


@pytest.fixture
def stocked(tmp_path):
    problem = quillmarsh_problem()
    plan = quillmarsh_plan()
    [charge] = [heat.charge for heat in plan.heats if heat.id == HEAT]
    # S1 goes into two heats; of what neither takes nothing is left in the bag.
    takes = {
        one.id: sum(line.mass_g for line in one.charge.lines if line.body == "S1")
        for one in plan.heats
    }
    assert takes[HEAT] > 0
    assert takes["H6"] > 2
    lots = tuple(
        replace(lot, mass_g=round(sum(takes.values()), 3)) if lot.id == "S1" else lot
        for lot in problem.lots
    )
    with open_book(tmp_path / "book", create=True) as book:
        book.bench.take_in(replace(problem, lots=lots))
        book.accept(plan)
        yield book, plan, {line.body: line.mass_g for line in charge.lines}


def test_the_rest_that_is_not_there_is_promised_to_nobody_and_the_later_heat_is_named(stocked):
    book, plan, taken = stocked
    held = book.held(Account("shop", "store", "S1")).gross_mg
    done = book.charge(
        plan.id, HEAT, before={"S1": held / 1000 - 2}, taken=taken,
        answers={"S1": "book_difference"},
    )  # fmt: skip
    assert done.entry
    lacks = [one.values for one in done.next if one.code == "book.next.step_lacks"]
    assert lacks == [{"step": f"{plan.id}: {LATER}", "body": "S1"}]
    left = book.held(Account("shop", "store", "S1")).gross_mg
    assert left == held - 2000 - round(taken["S1"] * 1000)
    assert book.audit().faults == ()
