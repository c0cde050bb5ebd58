"""Money and what is paid for."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from lemel.errors import BadInput
from lemel.values.checks import is_one_of

__all__ = ["BILL_KINDS", "BillLine", "Money"]

BILL_KINDS = ("metal", "energy", "gas", "labour", "wear", "fee", "refining", "postage")


@dataclass(frozen=True, slots=True)
class Money:
    """An exact amount in one currency (an ISO 4217 code, or the scenario's own)."""

    amount: Decimal
    currency: str

    def __post_init__(self) -> None:
        if not isinstance(self.amount, Decimal) or not self.amount.is_finite():
            raise BadInput("amount", self.amount, "an exact decimal", "Write money as 12.34.")
        if not self.currency:
            raise BadInput("currency", self.currency, "a currency code", "Name the currency.")

    def __add__(self, other: Money) -> Money:
        self._same(other)
        return Money(self.amount + other.amount, self.currency)

    def __sub__(self, other: Money) -> Money:
        self._same(other)
        return Money(self.amount - other.amount, self.currency)

    def times(self, factor: Decimal | int) -> Money:
        """Scaled by an exact factor."""
        return Money(self.amount * factor, self.currency)

    def _same(self, other: Money) -> None:
        if self.currency != other.currency:
            raise BadInput(
                "currency", other.currency, self.currency, "Convert to one currency first."
            )


@dataclass(frozen=True, slots=True)
class BillLine:
    """One thing used or earned: `quantity` units at `unit_price`; negative quantity is income."""

    kind: str
    quantity: Decimal
    unit: str
    unit_price: Money
    about: str

    def __post_init__(self) -> None:
        is_one_of("kind", self.kind, BILL_KINDS)

    @property
    def total(self) -> Money:
        """Quantity times price, exact."""
        return self.unit_price.times(self.quantity)
