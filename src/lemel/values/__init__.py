"""Shared values: the types that two rooms hand to each other. Frozen; each checks itself.

Comes in: nothing but numbers and text. Goes out: values that cannot be wrong in form.
May ask: `quantities` and `errors` only.
"""

from lemel.values.composition import ELEMENTS, REST, Composition, mix
from lemel.values.figures import Caution, Figure, Objection, Quantity, Saying, SayingValue
from lemel.values.heat import COURSES, Charge, ChargeLine, HeatOrder, Promise, Standard
from lemel.values.holding import Holding, share_out
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
from lemel.values.money import BillLine, Money
from lemel.values.plain import from_plain, to_plain
from lemel.values.proof import Proof, Quiet, Watch, quiet
from lemel.values.scrap import FORMS, METALS, ORIGINS, Addition, BeliefSet, Consent, Lot, Origin
from lemel.values.scrap import Reading as Reading
from lemel.values.section import SECTION_DIMS, Section, Temper
from lemel.values.stock import Bar, BarFault, Blank, IngotNeed, OrderLine, Outline, StockNeed
from lemel.values.workshop import HouseRules, Prices, StockPrice, Workshop

__all__ = [
    "COURSES", "ELEMENTS", "FORMS", "METALS", "ORIGINS", "REST", "SECTION_DIMS", "Addition",
    "Balance", "Bar", "BarFault", "BeliefSet", "BillLine", "Blank", "Caution", "Charge",
    "ChargeLine", "Composition", "Consent", "Crucible", "DrawBench", "DrawPlate", "Figure",
    "Furnace", "Grooves", "HeatOrder", "Holding", "HouseRules", "IngotNeed", "Instrument", "Lot",
    "Mill", "Money", "Mould", "Objection", "OrderLine", "Origin", "Outline", "Prices", "Promise",
    "Proof", "Quantity", "Quiet", "Reading", "Saw", "Saying", "SayingValue", "Section",
    "Standard", "StockNeed", "StockPrice", "Temper", "Torch", "Watch", "Workshop", "from_plain",
    "mix", "quiet", "share_out", "to_plain",
]  # fmt: skip
