"""A quotation: what an order costs by the plan it stands in, with everything that was assumed."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from lemel.book import ledger
from lemel.book.papers_keep import keep, kept, next_number
from lemel.book.papers_values import Quote, QuoteLine
from lemel.errors import BadInput
from lemel.plan import Plan, StockWork
from lemel.tables import shipped
from lemel.values import Prices, Quantity, Saying

__all__ = ["KIND", "make", "read"]

KIND = "quote"
_USUAL = ("melt_and_pour", "mill", "cut")


def make(
    alias: str,
    now: str,
    plan: Plan,
    order: str,
    prices: Prices | None,
    *,
    owner: str,
    unit: str,
    assays: int,
    valid_days: int,
    by: str,
) -> Quote:
    """File a quotation for one order of a plan to `owner`.

    metal by the blanks' mass, the usual loss on it, the hours of its tasks (those of a heat by
    its share in it), its share of fire and wear, and assays. BadInput where the plan does not
    make it or there are no prices.
    """
    if prices is None:
        raise BadInput("prices", None, "prices with their date", "Enter today's prices by hand.")
    lines = tuple(one.line for one in plan.lines if one.order == order and one.met_by != "unmet")
    works = [work for work in plan.stock if set(work.lines) & set(lines)]
    if not works:
        known = ", ".join(dict.fromkeys(one.order for one in plan.lines)) or "none"
        raise BadInput("order", order, known, "Name an order that this plan makes.")
    rows: list[QuoteLine] = []
    for work in works:
        rows += _metal(work, lines, prices, owner)
        rows += _fire(plan, work, lines, prices)
    hours = sum((_hours(plan, work, lines) for work in works), Decimal(0))
    rows.append(QuoteLine("labour", order, hours, "h", prices.labour_per_h))
    if assays:
        rows.append(QuoteLine("assay", order, Decimal(assays), "count", prices.assay_fee))
    until = date.fromisoformat(now[:10]) + timedelta(days=valid_days)
    quote = Quote(
        next_number(alias, KIND, "Q"), now, owner, unit, plan.id, lines, tuple(rows),
        prices.currency, prices.as_of.isoformat(), until.isoformat(),
        _assumed(plan, works, lines, prices), ledger.tail(alias)[1],
    )  # fmt: skip
    keep(alias, now, KIND, quote.number, quote, owner=owner, by=by)
    return quote


def read(alias: str, number: str) -> Quote:
    """A quotation as it was given out."""
    return kept(alias, KIND, number, Quote)[0]


def _mass_g(work: StockWork, lines: tuple[str, ...]) -> float:
    """The blanks of these lines, g; a blank's name is its line's, or that with a number."""
    return sum(blank.mass_g for blank in work.blanks if blank.piece.split("/", 1)[0] in lines)


def _share(work: StockWork, lines: tuple[str, ...]) -> float:
    whole = sum(blank.mass_g for blank in work.blanks)
    return _mass_g(work, lines) / whole if whole else 1.0


def _share_of_heat(plan: Plan, work: StockWork, lines: tuple[str, ...]) -> float:
    """By the mass of the blanks that come from the heat."""
    whole = sum(b.mass_g for one in plan.stock if one.heat == work.heat for b in one.blanks)
    return _mass_g(work, lines) / whole if whole else 1.0


def _grams(mass_g: float) -> Decimal:
    return Decimal(str(round(mass_g, 3)))


def _metal(work: StockWork, lines: tuple[str, ...], prices: Prices, owner: str) -> list[QuoteLine]:
    """The fine metal in the blanks, and what is usually lost of it; own metal costs nothing."""
    body = work.bars[0].bar.body
    main = body.main()
    if main not in prices.fine_per_g:
        raise BadInput("prices", main, ", ".join(prices.fine_per_g), f"Enter a price of {main}.")
    own = work.need.owner == owner
    price = Decimal(0) if own else prices.fine_per_g[main]
    fine = _mass_g(work, lines) * body.share(main)
    table = shipped().table("book_allowances")
    lost = sum(table[one].number("percent") for one in _USUAL) / 100
    kind = "own_metal" if own else "metal"
    return [
        QuoteLine(kind, main, _grams(fine), "g", price),
        QuoteLine("loss", main, _grams(fine * lost), "g", prices.fine_per_g[main]),
    ]


def _fire(plan: Plan, work: StockWork, lines: tuple[str, ...], prices: Prices) -> list[QuoteLine]:
    """The order's share of its heat's energy, gas and wear."""
    for heat in plan.heats:
        if heat.id == work.heat:
            cost = (
                Decimal(str(round(heat.melt.energy_kwh or 0, 4))) * prices.energy_per_kwh
                + Decimal(str(round(heat.melt.gas_kg or 0, 4))) * prices.gas_per_kg
                + prices.wear_per_melt
            )
            share = Decimal(str(round(_share_of_heat(plan, work, lines), 4)))
            return [QuoteLine("melt", heat.id, share, "heat", cost)]
    return []


def _hours(plan: Plan, work: StockWork, lines: tuple[str, ...]) -> Decimal:
    bars = {one.bar.id for one in work.bars}
    minutes = 0.0
    for task in plan.timeline:
        if task.about and task.about == work.heat:
            minutes += task.minutes * _share_of_heat(plan, work, lines)
        elif (task.task == "mill" and task.about in bars) or (
            task.task == "cut" and task.about == ", ".join(work.lines)
        ):
            minutes += task.minutes * _share(work, lines)
    return Decimal(str(round(minutes / 60, 2)))


def _assumed(
    plan: Plan, works: list[StockWork], lines: tuple[str, ...], prices: Prices
) -> tuple[Saying, ...]:
    said = [
        Saying("book.quote.prices", {"day": prices.as_of.isoformat()}),
        Saying("book.quote.loss"),
        Saying("book.quote.hours", {"rate": f"{prices.labour_per_h} {prices.currency}"}),
        Saying("book.quote.offcuts"),
    ]
    for work in works:
        share = _share_of_heat(plan, work, lines) if work.heat else 1.0
        if share < 1 - 1e-9:
            percent = Quantity(round(100 * share, 1), "percent")
            said.append(Saying("book.quote.shared_heat", {"heat": work.heat, "share": percent}))
    return tuple(said)
