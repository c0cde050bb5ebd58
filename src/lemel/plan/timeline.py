"""The month as a list of tasks on working days, heats in the order of due dates."""

from __future__ import annotations

from collections.abc import Sequence

from lemel.plan.context import Context
from lemel.plan.faces import HeatPlan, StockWork, Task
from lemel.plan.rules import rule

__all__ = ["lay_out_days"]


def lay_out_days(
    context: Context, heats: Sequence[HeatPlan], stock: Sequence[StockWork]
) -> tuple[Task, ...]:
    """Tasks one after another for one pair of hands; a task is never cut by the end of a day.

    Weigh-in first, then what is made from the drawer, then heat by heat: melt and pour, and
    the bars of it milled and cut.
    """
    hands = _Days(rule("working_day_min", context.tables))
    per_lot = rule("weigh_in_min_per_lot", context.tables)
    hands.add("weigh_in", "", per_lot * len(context.problem.lots))
    for work in stock:
        if work.source != "heat":
            _stock_tasks(context, hands, work)
    for heat in heats:
        hands.add("prepare", heat.id, rule("prepare_heat_min", context.tables))
        wait_min = sum(max(0, p.pours - 1) * p.wait_between_s / 60 for p in heat.pours)
        hands.add("melt_and_pour", heat.id, heat.melt.minutes_to_pour + wait_min)
        hands.add("clean_and_weigh", heat.id, rule("after_heat_min", context.tables))
        for work in stock:
            if work.heat == heat.id:
                _stock_tasks(context, hands, work)
    return tuple(hands.tasks)


def _stock_tasks(context: Context, hands: _Days, work: StockWork) -> None:
    for one in work.bars:
        if one.route.minutes > 0:
            setup = rule("setup_mill_min", context.tables)
            hands.add("mill", one.bar.id, setup + one.route.minutes)
    each = rule("cut_min_per_piece", context.tables)
    coil = rule("coil_min_per_ring", context.tables)
    minutes = sum(each if blank.count == 1 else coil * blank.count for blank in work.blanks)
    hands.add("cut", ", ".join(work.lines), minutes)


class _Days:
    """Working days of one length, filled in order."""

    def __init__(self, day_min: float) -> None:
        self.day_min = day_min
        self.tasks: list[Task] = []
        self._day = 1
        self._at = 0.0

    def add(self, task: str, about: str, minutes: float) -> None:
        """Put a task after the last; on the next day if it does not fit into this one."""
        if minutes <= 0:
            return
        if self._at > 0 and self._at + minutes > self.day_min:
            self._day, self._at = self._day + 1, 0.0
        self.tasks.append(Task(self._day, self._at, minutes, task, about))
        self._at += minutes
        while self._at >= self.day_min:
            self._day, self._at = self._day + 1, self._at - self.day_min
