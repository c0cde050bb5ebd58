"""Is making it worth it? Against selling the scrap and buying the stock ready."""

from __future__ import annotations

from decimal import Decimal

from lemel.errors import BadInput
from lemel.tables import Tables, shipped
from lemel.values import BillLine, Prices, Quantity, Saying, StockPrice
from lemel.worth.faces import Comparison, StockBought, WorthProblem

__all__ = ["compare", "stock_price"]

CENT = Decimal("0.01")


def compare(problem: WorthProblem, prices: Prices, *, tables: Tables | None = None) -> Comparison:
    """The gain of making over selling the scrap and buying stock, with labour and without.

    gain = avoided stock purchase + worth of offcuts - (scrap sale forgone + bill + labour +
    risk). Metal lost in working needs no line: it was in the lots used and is in no piece.
    Labour is the bill's labour lines, or hours x rate where there are none. BadInput for
    a bill in another currency.
    """
    tables = tables or shipped()
    labour_lines = [line for line in problem.bill if line.kind == "labour"]
    other_lines = [line for line in problem.bill if line.kind != "labour"]
    cost = _total(other_lines, prices.currency)
    labour = (
        _total(labour_lines, prices.currency)
        if labour_lines
        else problem.hours * prices.labour_per_h
    )
    forgone = sum((grams * per_g for _, grams, per_g in problem.lots_used.values()), Decimal(0))
    avoided = stock_price(problem.stock, prices, tables=tables)
    offcuts = sum(
        (
            grams * _price(metal, prices) * _paid(metal, prices, tables)
            for metal, grams in sorted(problem.offcuts_fine_g.items())
        ),
        Decimal(0),
    )
    no_labour = avoided + offcuts - cost - forgone - problem.risk_cost
    gain = no_labour - labour
    per_hour = (no_labour / problem.hours).quantize(CENT) if problem.hours > 0 else None
    return Comparison(
        prices.currency, cost, forgone, avoided, labour, problem.hours, gain, no_labour, per_hour,
        problem.bill, _explain(gain, no_labour, problem.hours), offcuts, problem.risk_cost,
    )  # fmt: skip


def stock_price(
    stock: tuple[StockBought, ...], prices: Prices, *, tables: Tables | None = None
) -> Decimal:
    """What ready stock would cost delivered.

    price per g = price of the fine metal x fineness x (1 + dealer's spread) + fabrication;
    each kind is at least its least order; one postage for all. Without a quotation the
    fabrication is the usual share of the metal's price, less for large amounts.
    """
    tables = tables or shipped()
    groups: dict[tuple[str, str], list[StockBought]] = {}
    for item in stock:
        groups.setdefault((item.standard, item.kind), []).append(item)
    total = Decimal(0)
    for key in sorted(groups):
        items = groups[key]
        mass = sum((item.mass_g for item in items), Decimal(0))
        quoted = _quoted(key, prices)
        sum_of_kind = Decimal(0)
        for item in items:
            metal = _price(item.metal, prices) * item.fineness * (1 + prices.dealer_spread)
            if quoted is not None:
                fabrication = quoted.fabrication_per_g
            else:
                fabrication = metal * _usual_share(item.metal, mass, tables)
            sum_of_kind += item.mass_g * (metal + fabrication)
        total += max(sum_of_kind, quoted.least_order if quoted is not None else Decimal(0))
    return total + (prices.postage if stock else Decimal(0))


def _quoted(key: tuple[str, str], prices: Prices) -> StockPrice | None:
    for quotation in prices.stock:
        if (quotation.standard, quotation.kind) == key:
            return quotation
    return None


def _usual_share(metal: str, mass: Decimal, tables: Tables) -> Decimal:
    row = tables.row("worth_stock", metal)
    large = mass >= Decimal(str(row.number("large_g")))
    return Decimal(str(row.number("share_large" if large else "share_small")))


def _price(metal: str, prices: Prices) -> Decimal:
    if metal not in prices.fine_per_g:
        raise BadInput(
            f"fine_per_g.{metal}", None, "a price per gram of fine metal",
            f"Enter today's price of {metal}.",
        )  # fmt: skip
    return prices.fine_per_g[metal]


def _paid(metal: str, prices: Prices, tables: Tables) -> Decimal:
    own = prices.scrap_paid_share.get(metal)
    if own is not None:
        return own
    return Decimal(str(tables.row("worth_payable", f"{metal}/scrap").number("share")))


def _total(lines: list[BillLine], currency: str) -> Decimal:
    total = Decimal(0)
    for line in lines:
        if line.unit_price.currency != currency:
            raise BadInput(
                "bill", line.unit_price.currency, currency, "Convert to one currency first."
            )
        total += line.total.amount
    return total


def _explain(gain: Decimal, no_labour: Decimal, hours: Decimal) -> tuple[Saying, ...]:
    values = {
        "gain": Quantity(float(gain), "money"),
        "no_labour": Quantity(float(no_labour), "money"),
        "hours": Quantity(float(hours), "h"),
    }
    if gain >= 0:
        return (Saying("worth.compare.pays", values),)
    if no_labour >= 0:
        return (Saying("worth.compare.pays_without_labour", values),)
    return (Saying("worth.compare.does_not_pay", values),)
