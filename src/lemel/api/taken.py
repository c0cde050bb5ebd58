"""What comes in: the house's values by their shapes, and who did it when."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ninja import Schema

from lemel.api.shapes import Name, Text, shape_in
from lemel.book import RefinerTerms
from lemel.values import Addition, Bar, Consent, Lot, OrderLine, Reading

__all__ = [
    "AdditionIn", "BarIn", "ConsentIn", "Grams", "Hand", "Id", "LotIn", "OrderLineIn", "Plain",
    "ReadingIn", "TermsIn", "Weights",
]  # fmt: skip

from typing import Annotated

from pydantic import Field

from lemel.api.units import MOST_G

#: Weights by body, g.
Grams = Annotated[float, Field(ge=0, le=MOST_G, allow_inf_nan=False, description="g")]
Weights = dict[Name, Grams]

if TYPE_CHECKING:
    AdditionIn = Any
    BarIn = Any
    ConsentIn = Any
    LotIn = Any
    OrderLineIn = Any
    ReadingIn = Any
    TermsIn = Any
else:
    AdditionIn = shape_in(Addition)
    BarIn = shape_in(Bar)
    ConsentIn = shape_in(Consent)
    LotIn = shape_in(Lot)
    OrderLineIn = shape_in(OrderLine)
    ReadingIn = shape_in(Reading)
    TermsIn = shape_in(RefinerTerms)


class Plain(Schema, extra="forbid"):
    """What comes in; a key that nobody knows is refused."""


class Id(Schema):
    """What was made or changed."""

    id: str


class Hand(Plain):
    """Who does it, by an id of their own, and when it really was: 15:20, or with its day."""

    by: Name | None = None
    at: Text = ""

    @property
    def hand(self) -> dict[str, str]:
        """As the book's acts take it."""
        return {"by": self.by or "", "at": self.at}
