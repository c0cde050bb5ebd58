"""The value list: what lies in the house at the prices of a day, owner by owner."""

from __future__ import annotations

from decimal import Decimal

from lemel.book import ledger
from lemel.book.guards import OPEN_PLACES
from lemel.book.papers_spread import Spread
from lemel.book.papers_values import Unsure, ValueList, ValueRow
from lemel.book.rules import rule
from lemel.errors import BadInput
from lemel.values import METALS, Holding, Prices

__all__ = ["fine_of", "money_of", "values"]

_CENT = Decimal("0.01")


def fine_of(metal: Holding) -> dict[str, int]:
    """The precious metals of a holding, ng."""
    parts = metal.as_dict()
    return {one: parts[one] for one in METALS if parts.get(one)}


def money_of(ng: int, per_g: Decimal) -> Decimal:
    """ng at a price per gram, exact."""
    return Decimal(ng) * per_g / 1_000_000_000


def values(alias: str, now: str, prices: Prices | None, owner: str | None) -> ValueList:
    """Every owner's metal by place, its fine grams and their full price; no charge is taken off.

    Raises BadInput without prices, or where not one metal that is there has one.
    """
    if prices is None:
        raise BadInput("prices", None, "prices with their date", "Enter today's prices by hand.")
    sums: dict[tuple[str, str], Holding] = {}
    for account, metal in ledger.balances(alias, owner).items():
        if account.place in OPEN_PLACES:
            continue
        where = (account.owner, account.place)
        sums[where] = sums.get(where, Holding.nothing()) + metal
    there = {one for metal in sums.values() for one in fine_of(metal)}
    unpriced = tuple(sorted(there - set(prices.fine_per_g)))
    if there and not there - set(unpriced):
        raise BadInput(
            "prices", ", ".join(prices.fine_per_g), ", ".join(unpriced),
            "Enter a price for the metal that is there.",
        )  # fmt: skip
    rows = tuple(
        ValueRow(who, place, metal.gross_mg, fine_of(metal), _value(metal, prices))
        for (who, place), metal in sorted(sums.items())
        if metal.gross_mg
    )
    priced = {one: prices.fine_per_g[one] for one in METALS if one in there - set(unpriced)}
    return ValueList(
        prices.as_of.isoformat(), now, prices.currency, priced, rows, unpriced,
        ledger.tail(alias)[1], _unsure(alias, owner, set(priced)),
    )  # fmt: skip


def _unsure(alias: str, owner: str | None, metals: set[str]) -> tuple[Unsure, ...]:
    """Heaps whose fine metal is known worse than the house's rule allows to pass unsaid."""
    spread, most, found = Spread(alias), rule("unsure_share"), []
    for account, metal in ledger.balances(alias, owner).items():
        if account.place in OPEN_PLACES or metal.gross_mg <= 0:
            continue
        fine = fine_of(metal)
        # Of a plated piece the silver counts, however little it is.
        worth_most = max(fine, key=lambda one: fine[one], default="")
        for one, ng in fine.items():
            sd = round(metal.gross_mg * 1e6 * spread.sd(account.body, one))
            if one in metals and one == worth_most and sd > most * ng:
                found.append(Unsure(account.body, one, ng, sd))
    return tuple(found)


def _value(metal: Holding, prices: Prices) -> Decimal:
    worth = sum(
        (money_of(ng, prices.fine_per_g[one]) for one, ng in fine_of(metal).items()
         if one in prices.fine_per_g),
        Decimal(0),
    )  # fmt: skip
    return worth.quantize(_CENT)
