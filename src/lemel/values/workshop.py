"""The workshop: tools, people, prices and house rules in one object that is passed whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from lemel.errors import BadInput
from lemel.values.checks import is_fraction, is_id, not_negative
from lemel.values.kit import (
    Balance,
    Crucible,
    DrawBench,
    DrawPlate,
    Furnace,
    Grooves,
    Instrument,
    Mill,
    Mould,
    Saw,
    Torch,
)
from lemel.values.scrap import Addition, Consent
from lemel.values.stock import Bar

__all__ = ["HouseRules", "Prices", "StockPrice", "Workshop"]


@dataclass(frozen=True, slots=True)
class HouseRules:
    """What this house has decided for itself; every one is visible and editable."""

    probability: float = 0.99
    course: str = "one_shot"
    oldest_first_per_day: float = 0.0
    hold_limit_min: float = 20.0
    promise_per: str = "heat"
    jurisdiction: str = "UK"
    remelts_most: int = 4
    allowances: Mapping[str, float] = field(default_factory=dict)
    closing_time: str = ""

    def __post_init__(self) -> None:
        is_fraction("probability", self.probability)
        not_negative("hold_limit_min", self.hold_limit_min)


@dataclass(frozen=True, slots=True)
class StockPrice:
    """What ready stock costs: fabrication per gram above the metal, and a least order."""

    standard: str
    kind: str
    fabrication_per_g: Decimal
    least_order: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Prices:
    """Prices entered by hand with their date; all in one currency, per gram of fine metal."""

    currency: str
    as_of: date
    fine_per_g: Mapping[str, Decimal]
    scrap_paid_share: Mapping[str, Decimal] = field(default_factory=dict)
    dealer_spread: Decimal = Decimal("0.03")
    stock: tuple[StockPrice, ...] = ()
    energy_per_kwh: Decimal = Decimal("0.30")
    gas_per_kg: Decimal = Decimal("3.00")
    labour_per_h: Decimal = Decimal("0")
    wear_per_melt: Decimal = Decimal("1.50")
    refining_least: Decimal = Decimal("50")
    postage: Decimal = Decimal("12")
    assay_fee: Decimal = Decimal("30")

    def __post_init__(self) -> None:
        if not self.fine_per_g:
            raise BadInput(
                "fine_per_g", {}, "a price for each metal used", "Enter today's prices by hand."
            )


@dataclass(frozen=True, slots=True)
class Workshop:
    """Everything a plan needs to know beside lots, readings and orders.

    `owners` maps id to the name shown; `house` is the id of the shop's own account.
    `as_of` is the date of the plan: no room looks at a clock.
    """

    id: str
    name: str
    house: str
    owners: Mapping[str, str]
    as_of: date
    furnaces: tuple[Furnace, ...] = ()
    torches: tuple[Torch, ...] = ()
    crucibles: tuple[Crucible, ...] = ()
    moulds: tuple[Mould, ...] = ()
    mills: tuple[Mill, ...] = ()
    grooves: tuple[Grooves, ...] = ()
    drawplates: tuple[DrawPlate, ...] = ()
    drawbenches: tuple[DrawBench, ...] = ()
    saws: tuple[Saw, ...] = ()
    balances: tuple[Balance, ...] = ()
    instruments: tuple[Instrument, ...] = ()
    additions: tuple[Addition, ...] = ()
    stock: tuple[Bar, ...] = ()
    consents: tuple[Consent, ...] = ()
    prices: Prices | None = None
    rules: HouseRules = HouseRules()
    table_overrides: Mapping[str, Mapping[str, Mapping[str, object]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        is_id("id", self.id)
        if self.house not in self.owners:
            raise BadInput(
                "house", self.house, ", ".join(self.owners), "List the shop among the owners."
            )
        for group in (
            "furnaces", "torches", "crucibles", "moulds", "mills", "grooves", "drawplates",
            "drawbenches", "saws", "balances", "instruments", "additions", "stock", "consents",
        ):  # fmt: skip
            ids = [item.id for item in getattr(self, group)]
            twice = sorted({one for one in ids if ids.count(one) > 1})
            if twice:
                raise BadInput(f"{group}.id", twice[0], "each id once", "Rename one of the two.")
