"""What the worth room takes and gives back. All amounts are exact decimals in one currency."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from lemel.values import BillLine, Saying

__all__ = ["Comparison", "LotValue", "Parcel", "StockBought", "WorthProblem"]


@dataclass(frozen=True, slots=True)
class LotValue:
    """What a lot would fetch if it were sold as scrap, per gram, and what its fine metal is worth.

    `fine_g` is of the lot's main metal after melting; `fine_value` at the full price, with
    other precious metals in it; `sale_per_g` is per gram of lot as it lies, after the
    payable share and before the parcel's least charge.
    """

    lot: str
    fine_g: Decimal
    fine_value: Decimal
    sale_value: Decimal
    sale_per_g: Decimal


@dataclass(frozen=True, slots=True)
class Parcel:
    """Lots sent to the refiner together.

    `charges` are what the refiner's least charge adds to his share, and the postage;
    `eaten` the part of the sale value that they eat; `send` False: not yet.
    """

    lots: tuple[str, ...]
    sale_value: Decimal
    charges: Decimal
    net: Decimal
    eaten: Decimal
    send: bool
    explain: tuple[Saying, ...] = ()


@dataclass(frozen=True, slots=True)
class StockBought:
    """Stock that would have to be bought instead of made; `fineness` is a mass fraction."""

    need: str
    standard: str
    kind: str
    mass_g: Decimal
    fineness: Decimal
    metal: str


@dataclass(frozen=True, slots=True)
class WorthProblem:
    """The bill of making, the lots used, and the stock that making replaces.

    `lots_used` maps a lot to (metal, grams used, sale price per gram as `LotValue`).
    Bought metal stands in the bill. `offcuts_fine_g` by metal is what comes back and could
    be sold or used again. `risk_cost` is the chance of failure times its rework.
    """

    bill: tuple[BillLine, ...]
    lots_used: Mapping[str, tuple[str, Decimal, Decimal]]
    stock: tuple[StockBought, ...]
    hours: Decimal
    offcuts_fine_g: Mapping[str, Decimal] = field(default_factory=dict)
    risk_cost: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Comparison:
    """Making against selling the scrap and buying stock.

    gain = stock price avoided + offcuts' worth - cost of making - scrap sale forgone -
    labour. `gain` is at the house's labour rate, `gain_no_labour` at zero; `hours` beside
    the money, `per_hour` what an hour then earns. All amounts in `currency`, exact.
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
    offcuts_worth: Decimal = Decimal(0)
    risk_cost: Decimal = Decimal(0)
