"""What the month costs and saves: the bill of making against selling scrap and buying stock."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from lemel import worth
from lemel.plan.bench import Bench
from lemel.plan.context import Context
from lemel.plan.faces import HeatPlan, StockWork, Task
from lemel.values import BillLine, Money, Prices, StockNeed
from lemel.worth import Comparison, StockBought, WorthProblem

__all__ = ["compare_month", "stock_kind"]


def compare_month(
    context: Context, bench: Bench, heats: Sequence[HeatPlan], tasks: Sequence[Task]
) -> Comparison | None:
    """The month's comparison; None where no prices are entered."""
    prices = context.shop.prices
    if prices is None:
        return None
    hours = Decimal(str(round(sum(task.minutes for task in tasks) / 60, 2)))
    problem = WorthProblem(
        bill=tuple(_bill(context, heats, hours, prices)),
        lots_used=_lots_used(context, heats),
        stock=tuple(_bought(context, work) for work in bench.stock_work if work.source == "heat"),
        hours=hours,
        offcuts_fine_g=_left_over(context, bench, heats),
    )
    return worth.compare(problem, prices, tables=context.tables)


def _bill(
    context: Context, heats: Sequence[HeatPlan], hours: Decimal, prices: Prices
) -> list[BillLine]:
    def line(
        kind: str, quantity: float | Decimal, unit: str, price: Decimal, about: str
    ) -> BillLine:
        amount = quantity if isinstance(quantity, Decimal) else Decimal(str(round(quantity, 4)))
        return BillLine(kind, amount, unit, Money(price, prices.currency), about)

    by_id = {addition.id: addition for addition in context.shop.additions}
    bill: list[BillLine] = []
    for heat in heats:
        for charged in heat.charge.lines:
            if charged.kind == "addition":
                price = by_id[charged.body].price_per_g
                bill.append(line("metal", charged.mass_g, "g", price, charged.body))
        if heat.melt.energy_kwh:
            bill.append(line("energy", heat.melt.energy_kwh, "kWh", prices.energy_per_kwh, heat.id))
        if heat.melt.gas_kg:
            bill.append(line("gas", heat.melt.gas_kg, "kg", prices.gas_per_kg, heat.id))
        bill.append(line("wear", 1, "count", prices.wear_per_melt, heat.pot or heat.fire))
    bill.append(line("labour", hours, "h", prices.labour_per_h, "month"))
    return bill


def _lots_used(
    context: Context, heats: Sequence[HeatPlan]
) -> dict[str, tuple[str, Decimal, Decimal]]:
    """Metal, grams used and what a gram would fetch, by lot."""
    used: dict[str, tuple[str, Decimal, Decimal]] = {}
    for heat in heats:
        for charged in heat.charge.lines:
            if charged.kind != "lot" or charged.body not in context.evidence.values:
                continue
            lot, value = context.evidence.lots[charged.body], context.evidence.values[charged.body]
            _, grams, _ = used.get(lot.id, ("", Decimal(0), Decimal(0)))
            more = Decimal(str(round(charged.mass_g, 3)))
            used[lot.id] = (lot.main, grams + more, value.sale_per_g)
    return used


def _bought(context: Context, work: StockWork) -> StockBought:
    standard = context.standard(work.need.standard)
    return StockBought(
        need=work.need.id,
        standard=standard.id,
        kind=stock_kind(work.need),
        mass_g=Decimal(str(round(work.need.gross_g or work.need.net_g or 0.0, 2))),
        fineness=Decimal(str(standard.least)),
        metal=standard.main,
    )


def stock_kind(need: StockNeed) -> str:
    """How a dealer would sell it: sheet or wire."""
    return "sheet" if need.area_mm is not None or need.section.kind == "flat" else "wire"


def _left_over(context: Context, bench: Bench, heats: Sequence[HeatPlan]) -> dict[str, Decimal]:
    """Fine metal by main element in what the heats leave: offcuts, feeders, remnants."""
    mains = {lot.main for lot in context.problem.lots}
    left = {
        element: grams
        for element, grams in bench.ledger.place_fine_g("offcut").items()
        if element in mains
    }
    made = {bar for heat in heats for bar in heat.bars}
    for bar in bench.bars:
        if any(bar.id.startswith(f"{one}-") or bar.id == one for one in made):
            main = bar.body.main()
            left[main] = left.get(main, 0.0) + bar.mass_g * bar.body.share(main)
    return {element: Decimal(str(round(grams, 6))) for element, grams in left.items()}
