"""The state of the bench while the plan is made: bars at hand, metal left, the ledger."""

from __future__ import annotations

from dataclasses import dataclass, field

from lemel.plan.context import Context
from lemel.plan.faces import StockWork
from lemel.plan.ledger import Ledger
from lemel.values import Bar, Caution, Objection

__all__ = ["Bench", "open_bench"]


@dataclass(slots=True)
class Bench:
    """What changes as deeds are done: the only mutable thing in the plan."""

    ledger: Ledger
    bars: list[Bar]
    lots_left_g: dict[str, float]
    additions_left_g: dict[str, float | None]
    stock_work: list[StockWork] = field(default_factory=list)
    cautions: list[Caution] = field(default_factory=list)
    objections: list[Objection] = field(default_factory=list)


def open_bench(context: Context) -> Bench:
    """Open the ledger with all that is there before the first deed."""
    shop = context.shop
    ledger = Ledger(context.step_g)
    for lot in context.problem.lots:
        ledger.open(lot.owner, "lot", lot.id, lot.mass_g, context.evidence.mean(lot.id))
    for addition in shop.additions:
        if addition.stock_g:
            ledger.open(
                addition.owner, "addition", addition.id, addition.stock_g, addition.composition
            )
    for bar in shop.stock:
        ledger.open(bar.owner, "bar", bar.id, bar.mass_g, bar.body)
    return Bench(
        ledger,
        list(shop.stock),
        {lot.id: lot.mass_g for lot in context.problem.lots},
        {addition.id: addition.stock_g for addition in shop.additions},
    )
