"""What the worth room takes and gives back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from lemel.values import BillLine, Saying

__all__ = ["Comparison", "LotValue", "StockBought", "WorthProblem"]


@dataclass(frozen=True, slots=True)
class LotValue:
    """What a lot would fetch if it were sold as scrap, per gram, and what its fine metal is worth.

    `sale_per_g` is after the payable share, before the parcel's least charge.
    """

    lot: str
    fine_g: Decimal
    fine_value: Decimal
    sale_value: Decimal
    sale_per_g: Decimal


@dataclass(frozen=True, slots=True)
class StockBought:
    """Stock that would have to be bought instead of made."""

    need: str
    standard: str
    kind: str
    mass_g: Decimal
    fineness: Decimal
    metal: str


@dataclass(frozen=True, slots=True)
class WorthProblem:
    """The bill of making, the lots used, and the stock that making replaces."""

    bill: tuple[BillLine, ...]
    lots_used: Mapping[str, tuple[str, Decimal, Decimal]]
    stock: tuple[StockBought, ...]
    hours: Decimal
    offcuts_fine_g: Mapping[str, Decimal] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Comparison:
    """Making against selling the scrap and buying stock.

    `gain` at the house's labour rate, `gain_no_labour` at zero; `hours` beside the money.
    All amounts in `currency`, exact.
    """

    currency: str
    cost_of_making: Decimal
    scrap_sale_forgone: Decimal
    stock_price_avoided: Decimal
    labour: Decimal
    hours: Decimal
    gain: Decimal
    gain_no_labour: Decimal
    per_hour: Decimal | None
    lines: tuple[BillLine, ...]
    explain: tuple[Saying, ...] = ()
