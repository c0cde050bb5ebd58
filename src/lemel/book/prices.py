"""Prices as they were entered by hand: each with its day and who says so; none is overwritten."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from lemel.book import filing, shelf
from lemel.book.bench_values import PriceLine
from lemel.errors import BadInput
from lemel.values import ELEMENTS, Prices, StockPrice, is_id

__all__ = ["enter_all", "enter_one", "lines_on", "on"]

KIND = "price"
CURRENCY = "currency"
#: One number each, as `Prices` names them.
_PLAIN = (
    "dealer_spread", "energy_per_kwh", "gas_per_kg", "labour_per_h", "wear_per_melt",
    "refining_least", "postage", "assay_fee",
)  # fmt: skip
_WORDS = (
    "fine/Ag, scrap_paid/Ag (a share), stock/UK Ag 925/sheet, stock_least/UK Ag 925/sheet, "
    + ", ".join(_PLAIN)
)
#: What a kind of price is called before its first slash, and how many parts follow.
_HEADS = {"fine": 1, "scrap_paid": 1, "stock": 2, "stock_least": 2}


def enter_one(
    alias: str, now: str, what: str, amount: Decimal | str | int, of: date, source: str,
    currency: str, by: str,
) -> PriceLine:  # fmt: skip
    """One price for a day on. The first of all needs its currency; the others share it."""
    _known(what)
    value = _money(what, amount)
    _currency(alias, now, currency, of, by)
    record = {"amount": str(value), "on": of.isoformat(), "source": source.strip()}
    filing.file(alias, now, KIND, what, record, by=by)
    return PriceLine(what, str(value), of, source.strip())


def _known(what: str) -> None:
    is_id("what", what)
    head, *rest = what.split("/")
    fits = what in _PLAIN or (len(rest) == _HEADS.get(head, -1) and all(rest))
    if not fits or (head in ("fine", "scrap_paid") and rest[0] not in ELEMENTS):
        raise BadInput("what", what, _WORDS, "Name the price so.")


def _money(what: str, amount: Decimal | str | int) -> Decimal:
    try:
        value = Decimal(str(amount))
    except InvalidOperation:
        raise BadInput(what, str(amount), "an amount such as 1.02", "Mend the number.") from None
    if not value.is_finite() or value < 0:
        raise BadInput(what, str(amount), "0 or more", "Check the sign.")
    if what.startswith("scrap_paid/") and value > 1:
        raise BadInput(what, str(amount), "0 to 1", "Give the share that is paid: 0.88.")
    return value


def _currency(alias: str, now: str, currency: str, of: date, by: str) -> None:
    there = filing.newest(alias, KIND, CURRENCY)
    if there is None and not currency:
        raise BadInput("currency", "", "the currency of all prices", "Name it with the first one.")
    if there is not None and currency not in ("", there.record["amount"]):
        raise BadInput("currency", currency, there.record["amount"], "All prices are in one.")
    if there is None:
        record = {"amount": currency, "on": of.isoformat(), "source": ""}
        filing.file(alias, now, KIND, CURRENCY, record, by=by)


def enter_all(alias: str, now: str, prices: Prices, source: str, by: str) -> None:
    """Every price of a file, for its day; what stands so already is nothing new."""
    flat: dict[str, Decimal] = {f"fine/{e}": one for e, one in prices.fine_per_g.items()}
    flat |= {f"scrap_paid/{e}": one for e, one in prices.scrap_paid_share.items()}
    flat |= {name: getattr(prices, name) for name in _PLAIN}
    for one in prices.stock:
        key = f"{one.standard}/{one.kind}"
        flat |= {f"stock/{key}": one.fabrication_per_g, f"stock_least/{key}": one.least_order}
    known = {line.what: line for line in lines_on(alias, prices.as_of)}
    for what, amount in flat.items():
        there = known.get(what)
        if there is None or (there.amount, there.on) != (str(amount), prices.as_of):
            enter_one(alias, now, what, amount, prices.as_of, source, prices.currency, by)


def lines_on(alias: str, day: date) -> tuple[PriceLine, ...]:
    """What each price is on a day: that of the latest day up to it; of two for one day the later
    entered."""
    best: dict[str, tuple[str, Mapping[str, Any]]] = {}
    for what, record, gone in shelf.versions(alias, KIND):
        if record["on"] > day.isoformat() or what == CURRENCY:
            continue
        if what not in best or record["on"] >= best[what][0]:
            best[what] = (record["on"], {**record, "gone": gone})
    return tuple(
        PriceLine(what, record["amount"], date.fromisoformat(at), record["source"])
        for what, (at, record) in best.items()
        if not record["gone"]
    )


def on(alias: str, day: date) -> Prices | None:
    """The prices of a day as a plan takes them; None where no metal has a price by then."""
    lines = lines_on(alias, day)
    amounts = {line.what: Decimal(line.amount) for line in lines}

    def under(head: str) -> dict[str, Decimal]:
        cut = f"{head}/"
        return {w.removeprefix(cut): one for w, one in amounts.items() if w.startswith(cut)}

    fine = under("fine")
    currency = filing.newest(alias, KIND, CURRENCY)
    if not fine or currency is None:
        return None
    least = under("stock_least")
    stock = {key.partition("/"): one for key, one in under("stock").items()}
    return Prices(
        currency=currency.record["amount"],
        as_of=max(line.on for line in lines if line.what.startswith("fine/")),
        fine_per_g=fine,
        scrap_paid_share=under("scrap_paid"),
        stock=tuple(
            StockPrice(standard, kind, one, least.get(f"{standard}/{kind}", Decimal(0)))
            for (standard, _, kind), one in stock.items()
        ),
        **{name: amounts[name] for name in _PLAIN if name in amounts},
    )
