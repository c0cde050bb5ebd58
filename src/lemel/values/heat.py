"""What a heat must be, and what is put into it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from lemel.errors import BadInput
from lemel.values.checks import is_fraction, is_id, is_one_of, is_positive, not_negative
from lemel.values.composition import Composition
from lemel.values.scrap import FORMS, METALS

__all__ = ["COURSES", "Charge", "ChargeLine", "HeatOrder", "Promise", "Standard"]

COURSES = ("one_shot", "hold_and_correct", "pour_prove_remelt")


@dataclass(frozen=True, slots=True)
class Standard:
    """A fineness that the law or the trade knows, with the time in which it holds.

    `least`, `minus_tolerance` and `limits` are mass fractions; `valid_to` None: still in
    force. `source` is a key in the tables.
    """

    id: str
    jurisdiction: str
    main: str
    least: float
    source: str
    minus_tolerance: float = 0.0
    limits: Mapping[str, float] = field(default_factory=dict)
    valid_from: date | None = None
    valid_to: date | None = None
    trust: str = "memory"

    def __post_init__(self) -> None:
        is_id("id", self.id)
        is_one_of("main", self.main, METALS)
        is_fraction("least", self.least)
        not_negative("minus_tolerance", self.minus_tolerance)


@dataclass(frozen=True, slots=True)
class Promise:
    """A standard kept with a probability, by one of three courses, per heat or over the plan."""

    standard: str
    probability: float = 0.99
    per: str = "heat"
    course: str = "one_shot"

    def __post_init__(self) -> None:
        is_id("standard", self.standard)
        is_fraction("probability", self.probability)
        if not 0.5 <= self.probability < 1:
            raise BadInput(
                "probability", self.probability, "0.5 to 0.999", "Promise at least an even chance."
            )
        is_one_of("per", self.per, ("heat", "plan"))
        is_one_of("course", self.course, COURSES)


@dataclass(frozen=True, slots=True)
class HeatOrder:
    """One heat that may or must be made.

    `giveaway_most` is the most that the mean may exceed the standard (fraction); None: no
    limit. `form_of_need` names the ingot needs that it serves. `forbid` are lot flags
    that keep a lot out.
    """

    id: str
    owner: str
    promise: Promise
    least_g: float
    most_g: float
    form_of_need: tuple[str, ...] = ()
    giveaway_most: float | None = None
    forbid: tuple[str, ...] = ()
    required: bool = True
    fixed_cost: float = 0.0

    def __post_init__(self) -> None:
        is_id("id", self.id)
        is_positive("least_g", self.least_g)
        if self.most_g < self.least_g:
            raise BadInput(
                "most_g", self.most_g, f"at least {self.least_g:g} g", "Widen the window."
            )


@dataclass(frozen=True, slots=True)
class ChargeLine:
    """So many grams of one lot, addition or bar in a charge."""

    body: str
    kind: str
    form: str
    mass_g: float
    composition: Composition

    def __post_init__(self) -> None:
        is_one_of("kind", self.kind, ("lot", "addition", "bar"))
        is_one_of("form", self.form, FORMS)
        is_positive("mass_g", self.mass_g)


@dataclass(frozen=True, slots=True)
class Charge:
    """What goes into the pot for one heat, and what is believed of it.

    `sd` is of the main element's share; `promised` the share that is kept with the
    promise's probability; `poured_g` is (mean, sd) of what comes out.
    """

    heat: str
    owner: str
    lines: tuple[ChargeLine, ...]
    composition_mean: Composition
    sd: float
    promised: float
    poured_g: tuple[float, float]

    @property
    def mass_g(self) -> float:
        """Grams put in."""
        return sum(line.mass_g for line in self.lines)
