"""Two questions of money before the pot: seams sawn out or drowned, and whether whole is more."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.http import HttpRequest

from lemel import blend, worth
from lemel.blend import SeamChoice
from lemel.book import Book
from lemel.errors import BadInput
from lemel.metal import standards
from lemel.scrap import ScrapProblem, believe
from lemel.tables import shipped
from lemel.values import Prices
from lemel.web import given
from lemel.web.scrap_beliefs import Bag, tables_of

__all__ = ["Whole", "seams", "seams_asked", "whole", "whole_asked"]


@dataclass(frozen=True, slots=True)
class Whole:
    """A bag as metal and as it is. `fine_value` is what its fine metal costs to buy, `sale`
    what a refiner pays for it; `offer` what somebody gives for it whole."""

    currency: str
    fine_g: Decimal
    fine_value: Decimal
    sale: Decimal
    offer: Decimal | None = None

    @property
    def better_whole(self) -> bool:
        """Whether the offer is more than the metal is worth in one's own melt."""
        return self.offer is not None and self.offer > self.fine_value


def _prices(book: Book) -> Prices:
    prices = book.bench.prices()
    if prices is None:
        raise BadInput("prices", None, "prices with their date", "Enter today's under Tools.")
    return prices


def seams_asked(book: Book, bag: Bag) -> dict[str, Any]:
    """What the form begins with: the lot as it is believed and solder as its form has it."""
    if bag.lot.main not in ("Ag", "Au"):
        return {}
    tables = shipped()
    form = tables.row("scrap_forms", bag.lot.form)
    share, sd = bag.lot.solder_share
    if not share:
        share, sd = form.number("solder"), form.number("solder_sd")
    if not share:
        return {}
    row = tables.row("scrap_solders", bag.lot.main)
    below = row.number_or("below_piece", 0.0)
    mean = bag.belief.mean
    solder = row.number_or("fineness", 0.0) or max(0.0, mean - below)
    body = (mean - share * solder) / (1 - share)
    rules = book.bench.rules()
    least = [
        (f"{one.least * 1000:g}", one.id) for one in standards(rules.jurisdiction)
        if one.main == bag.lot.main
    ]  # fmt: skip
    said = bag.said or mean
    near = min((value for value, _ in least), key=lambda v: abs(float(v) - said), default="925")
    return {
        "share": f"{share * 100:g}", "share_sd": f"{sd * 100:g}", "solder": f"{solder:.0f}",
        "body": f"{body:.1f}", "least": least, "near": near, "minutes": "20",
    }  # fmt: skip


def seams(request: HttpRequest, book: Book, bag: Bag) -> SeamChoice:
    """Both ways priced, by what the form says."""
    prices, lot = _prices(book), bag.lot
    if lot.main not in prices.fine_per_g:
        raise BadInput("prices", lot.main, "a price of this metal", "Enter it under Tools.")
    fine = float(prices.fine_per_g[lot.main])
    least = given.number(request, "least", "‰", least=1, most=998) / 1000
    solder = given.number(request, "solder", "‰", most=1000) / 1000
    share = given.number(request, "share", "%", least=0.01, most=50) / 100
    soldered = blend.Soldered(
        lot.mass_g, given.number(request, "body", "‰", least=1, most=1000) / 1000,
        bag.belief.sd / 1000, (share, given.number(request, "share_sd", "%", most=20) / 100),
        solder,
    )  # fmt: skip
    paid = float(prices.scrap_paid_share.get(lot.main, Decimal("0.9")))
    minutes = given.number(request, "minutes", "min", most=600)
    return blend.seams(
        soldered, least=least, content=0.999, price_per_g=fine * (1 + float(prices.dealer_spread)),
        worth_per_g=fine * least, sale_per_g=fine * solder * paid,
        labour=float(prices.labour_per_h) * minutes / 60,
        probability=book.bench.rules().probability, tables=tables_of(book),
    )  # fmt: skip


def whole_asked(book: Book, bag: Bag) -> Whole | None:
    """The bag as metal; None where no price of its metal is on record."""
    prices = book.bench.prices()
    if prices is None or bag.lot.main not in prices.fine_per_g:
        return None
    tables = tables_of(book)
    readings = tuple(one for one in book.readings(bag.lot.id) if not one.withdrawn)
    beliefs = believe(ScrapProblem((bag.lot,), readings), tables=tables).beliefs
    [found] = worth.value([bag.lot], beliefs, prices, tables=tables)
    return Whole(prices.currency, found.fine_g, found.fine_value, found.sale_value)


def whole(request: HttpRequest, book: Book, bag: Bag) -> Whole:
    """An offer for the thing as it is, beside what it is worth as metal."""
    _prices(book)
    offer = given.number(request, "offer", most=10_000_000)
    found = whole_asked(book, bag)
    if found is None:
        raise BadInput("offer", offer, "a metal that has a price", "Enter its price under Tools.")
    return Whole(found.currency, found.fine_g, found.fine_value, found.sale, Decimal(str(offer)))
