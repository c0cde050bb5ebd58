"""What an answer says: quantities, figures with their origin, sayings, objections, cautions.

The rooms write no sentences. They return a code with quantities; the catalogue at
the edge (`lemel.words`) turns it into words in the reader's units.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from lemel.values.checks import is_finite, is_one_of

__all__ = [
    "CAUTION_PLACES", "KNOWN", "OBJECTION_GRADES", "UNITS", "Caution", "Figure", "Objection",
    "Quantity", "Saying", "SayingValue",
]  # fmt: skip

#: Closed list of units that a quantity may carry; `lemel.quantities` converts them.
#: "K" is a temperature difference, "degC" a temperature; the two never mix.
UNITS = frozenset(
    "1 g mg mm mm2 cm3 degC K s min h d J kJ J/g kWh W N kN Nm MPa HV "
    "millesimal ppm percent g/cm3 g/s mm/s Pa W/m2K W/mK J/K W/K 1/K money money/g count m".split()
)
KNOWN = ("measured", "calibrated", "supplier", "table", "assumed")
OBJECTION_GRADES = ("stop", "ask", "note")
CAUTION_PLACES = (
    "weigh", "cut", "light", "charge", "melt", "pour", "cool", "mill", "anneal", "pickle"
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value with its unit, for a Saying."""

    value: float
    unit: str

    def __post_init__(self) -> None:
        is_one_of("unit", self.unit, UNITS)
        is_finite("value", self.value)


SayingValue = Quantity | str | int | float


@dataclass(frozen=True, slots=True)
class Figure:
    """A number with how it is known: the answer to "says who?".

    `sd` None means that no spread is stated; `source` is a key in the tables' list of
    sources, or "" where `known` is "measured" by the user.
    """

    value: float
    unit: str
    known: str = "table"
    source: str = ""
    sd: float | None = None

    def __post_init__(self) -> None:
        is_one_of("unit", self.unit, UNITS)
        is_one_of("known", self.known, KNOWN)
        is_finite("value", self.value)


@dataclass(frozen=True, slots=True)
class Saying:
    """A code of the catalogue and the quantities that fill it: `blend.lot_left_out.poor`."""

    code: str
    values: Mapping[str, SayingValue] = field(default_factory=dict)

    def __hash__(self) -> int:
        return hash((self.code, _frozen(self.values)))


@dataclass(frozen=True, slots=True)
class Objection:
    """Why something may not, or should be asked before it may. A value, never an exception."""

    code: str
    about: str
    grade: str
    values: Mapping[str, SayingValue] = field(default_factory=dict)
    remedy: Saying | None = None

    def __post_init__(self) -> None:
        is_one_of("grade", self.grade, OBJECTION_GRADES)

    def __hash__(self) -> int:
        return hash((self.code, self.about, self.grade, _frozen(self.values), self.remedy))


@dataclass(frozen=True, slots=True)
class Caution:
    """A danger, shown where its step is; always deferring to local codes and the maker's manual.

    `grade` is the trust of its source as in the tables (law, standard, handbook,
    practice, memory).
    """

    code: str
    at: str
    grade: str = "practice"
    source: str = "common_practice"
    values: Mapping[str, SayingValue] = field(default_factory=dict)

    def __post_init__(self) -> None:
        is_one_of("at", self.at, CAUTION_PLACES)

    def __hash__(self) -> int:
        return hash((self.code, self.at, self.grade, self.source, _frozen(self.values)))


def _frozen(values: Mapping[str, SayingValue]) -> frozenset[tuple[str, SayingValue]]:
    """A mapping's items, which can be hashed: these values are counted and compared in sets."""
    return frozenset(values.items())
