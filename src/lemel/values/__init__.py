"""Shared values: the types that two rooms hand to each other. Frozen; each checks itself.

Comes in: nothing but numbers and text. Goes out: values that cannot be wrong in form.
May ask: `quantities` and `errors` only.
"""

from lemel.values.checks import (
    is_finite,
    is_fraction,
    is_id,
    is_one_of,
    is_positive,
    not_negative,
)
from lemel.values.composition import ELEMENTS, REST, Composition, mix
from lemel.values.figures import (
    CAUTION_PLACES,
    KNOWN,
    OBJECTION_GRADES,
    UNITS,
    Caution,
    Figure,
    Objection,
    Quantity,
    Saying,
    SayingValue,
)
from lemel.values.heat import COURSES, Charge, ChargeLine, HeatOrder, Promise, Standard
from lemel.values.holding import Holding, share_out
from lemel.values.kit import (
    MOULD_KINDS,
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
from lemel.values.money import BILL_KINDS, BillLine, Money
from lemel.values.plain import from_plain, to_plain
from lemel.values.proof import STATUSES, STOPPED_BY, Proof, Quiet, Watch, quiet, stretch
from lemel.values.scrap import (
    COLOURS,
    CONSENTS,
    FLAG_ANSWERS,
    FORMS,
    MADE_FOR,
    METALS,
    ORIGINS,
    Addition,
    BeliefSet,
    Consent,
    Lot,
    Origin,
    Reading,
)
from lemel.values.section import SECTION_DIMS, SECTION_KINDS, Section, Temper
from lemel.values.stock import (
    BAR_KINDS,
    FAULT_KINDS,
    WHATS,
    Bar,
    BarFault,
    Blank,
    IngotNeed,
    OrderLine,
    Outline,
    StockNeed,
)
from lemel.values.workshop import HouseRules, Prices, StockPrice, Workshop

__all__ = [
    "Addition", "BAR_KINDS", "BILL_KINDS", "Balance", "Bar", "BarFault", "BeliefSet", "BillLine",
    "Blank", "CAUTION_PLACES", "COLOURS", "CONSENTS", "COURSES", "Caution", "Charge", "ChargeLine",
    "Composition", "Consent", "Crucible", "DrawBench", "DrawPlate", "ELEMENTS", "FAULT_KINDS",
    "FLAG_ANSWERS", "FORMS", "Figure", "Furnace", "Grooves", "HeatOrder", "Holding", "HouseRules",
    "IngotNeed", "Instrument", "KNOWN", "Lot", "MADE_FOR", "METALS", "MOULD_KINDS", "Mill",
    "Money", "Mould", "OBJECTION_GRADES", "ORIGINS", "Objection", "OrderLine", "Origin", "Outline",
    "Prices", "Promise", "Proof", "Quantity", "Quiet", "REST", "Reading", "SECTION_DIMS",
    "SECTION_KINDS", "STATUSES", "STOPPED_BY", "Saw", "Saying", "SayingValue", "Section",
    "Standard", "StockNeed", "StockPrice", "Temper", "Torch", "UNITS", "WHATS", "Watch",
    "Workshop", "from_plain", "is_finite", "is_fraction", "is_id", "is_one_of", "is_positive",
    "mix", "not_negative", "quiet", "share_out", "stretch", "to_plain",
]  # fmt: skip
