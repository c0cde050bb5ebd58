"""Joins the rooms: asks the needs from cut to blend, then does the deeds from blend to cut.

Comes in: a `PlanProblem` (workshop, lots, readings, orders). Goes out: a `Plan`, whole, with
every room's answer, the balance in milligrams and a reason for what is not done. May ask: every
room below it; the rooms meet nowhere else.
"""

from lemel.plan.faces import (
    MET_BY,
    BarRoute,
    HeatPlan,
    Plan,
    PlanLine,
    PlanOptions,
    PlanProblem,
    Provenance,
    StockWork,
    Task,
    Unmet,
)
from lemel.plan.ledger import Balance, Ledger, Movement, OwnerBalance
from lemel.plan.make import at_hand, do
from lemel.plan.out import to_document

__all__ = [
    "MET_BY", "Balance", "BarRoute", "HeatPlan", "Ledger", "Movement", "OwnerBalance", "Plan",
    "PlanLine", "PlanOptions", "PlanProblem", "Provenance", "StockWork", "Task", "Unmet",
    "at_hand", "do", "to_document",
]  # fmt: skip
