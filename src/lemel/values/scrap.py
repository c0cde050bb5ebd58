"""Lots of scrap, what was read off them, and what is believed of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from lemel.errors import BadInput
from lemel.values.checks import (
    is_finite,
    is_fraction,
    is_id,
    is_one_of,
    is_positive,
    not_negative,
)
from lemel.values.composition import ELEMENTS, Composition
from lemel.values.section import Section, Temper

__all__ = [
    "CONSENTS", "FORMS", "FLAG_ANSWERS", "METALS", "ORIGINS", "Addition", "BeliefSet", "Consent",
    "Lot", "Origin", "Reading",
]  # fmt: skip

METALS = ("Ag", "Au", "Pt", "Pd")
FORMS = tuple(
    "grain sheet wire offcut casting sprue hollowware jewellery chain coin filings solder bar "
    "residue".split()
)
ORIGINS = tuple(
    "post_consumer pre_consumer_external refined_declared refined_unknown mined_declared "
    "investment heirloom unknown".split()
)
FLAG_ANSWERS = ("yes", "no", "unknown")
#: What an owner may allow; mix_with takes an owner after a colon.
CONSENTS = ("destroy", "top_up", "mix_with", "alloy_change", "use_offcuts", "loss_percent")
MADE_FOR = ("rolling", "casting", "unknown")
COLOURS = ("none", "yellow", "rose", "red", "green", "white_pd", "white_ni")
#: How the metal of a reading was taken; "" is not said.
SAMPLES = ("", "dip", "drill", "surface")


@dataclass(frozen=True, slots=True)
class Origin:
    """Shares of fine mass by origin class, summing to one. Own rework inherits its parents'."""

    shares: tuple[tuple[str, float], ...] = (("unknown", 1.0),)

    def __post_init__(self) -> None:
        for name, share in self.shares:
            is_one_of("origin", name, ORIGINS)
            is_fraction(f"origin.{name}", share)
        total = sum(share for _, share in self.shares)
        if abs(total - 1) > 1e-9:
            raise BadInput("origin", total, "shares that sum to 1", "Give the rest to `unknown`.")

    @classmethod
    def of(cls, shares: Mapping[str, float]) -> Origin:
        """From a mapping, normalised and sorted; empty means unknown."""
        total = sum(shares.values())
        if total <= 0:
            return cls()
        return cls(tuple(sorted((name, s / total) for name, s in shares.items() if s > 0)))


@dataclass(frozen=True, slots=True)
class Consent:
    """What an owner has allowed; without it the plan does not do it.

    `limit_g` None: no limit in grams. `document` None: spoken only. `about` names the
    lots or heats it covers; empty covers all of the owner's metal. `percent` is set for
    loss_percent only.
    """

    id: str
    owner: str
    allows: str
    given_on: date
    limit_g: float | None = None
    document: str | None = None
    about: tuple[str, ...] = ()
    percent: float | None = None

    def __post_init__(self) -> None:
        is_id("id", self.id)
        is_id("owner", self.owner)
        is_one_of("allows", self.allows.split(":", 1)[0], CONSENTS)
        if self.limit_g is not None:
            is_positive("limit_g", self.limit_g)


@dataclass(frozen=True, slots=True)
class Reading:
    """One piece of evidence about a body's fineness; immutable, withdrawn rather than deleted.

    `values` are mass fractions by element; a density reading has `density_g_cm3`
    instead. `sample` says how the metal was taken where that matters: dipped from the
    stirred liquid, drilled from the cast bar, on the surface. `source` names the
    instrument and day (or the person) whose error all its readings share. `sd_own` and
    `sd_shared` are fractions; None takes the method's.
    """

    id: str
    on: str
    method: str
    values: Mapping[str, float] = field(default_factory=dict)
    source: str = ""
    density_g_cm3: float | None = None
    sd_own: float | None = None
    sd_shared: float | None = None
    taken_on: date | None = None
    by: str = ""
    withdrawn: bool = False
    sample: str = ""

    def __post_init__(self) -> None:
        is_id("id", self.id)
        is_id("on", self.on)
        is_id("method", self.method)
        is_one_of("sample", self.sample, SAMPLES)
        for element, share in self.values.items():
            is_one_of("values", element, ELEMENTS)
            is_fraction(f"values.{element}", share)
        if not self.values and self.density_g_cm3 is None:
            raise BadInput(
                "values", {}, "a fineness or a density", "Write what was read, or drop the reading."
            )
        if self.density_g_cm3 is not None:
            is_positive("density_g_cm3", self.density_g_cm3)
        for name in ("sd_own", "sd_shared"):
            spread = getattr(self, name)
            if spread is not None:
                is_fraction(name, spread)


@dataclass(frozen=True, slots=True)
class Lot:
    """A bag of metal of one owner that is treated as one thing.

    `shape` with `length_mm` says what it could be used as, unmelted (None: nothing but
    scrap). `stated` is what the stamp, invoice or owner says (None: nothing said).
    `solder_share` is (mean, sd) of the mass that is solder. `flags` answer the gate
    questions by code. `whole` lots are melted entirely or not at all.
    `min_remainder_g`: if some but not all is taken, at least this much must stay.
    """

    id: str
    owner: str
    main: str
    form: str
    mass_g: float
    scrap_class: str = ""
    note: str = ""
    shape: Section | None = None
    length_mm: float | None = None
    temper: Temper | None = None
    made_for: str = "unknown"
    colour: str = "none"
    remelts: int = 0
    mass_sd_g: float = 0.005
    whole: bool = False
    min_take_g: float = 0.0
    min_remainder_g: float = 0.0
    stated: Composition | None = None
    solder_share: tuple[float, float] = (0.0, 0.0)
    flags: Mapping[str, str] = field(default_factory=dict)
    barred: tuple[str, ...] = ()
    no_mixing: bool = False
    origin: Origin = Origin()
    received_on: date | None = None
    parents: tuple[str, ...] = ()
    price_paid: Decimal | None = None

    def __post_init__(self) -> None:
        is_id("id", self.id)
        is_id("owner", self.owner)
        is_one_of("main", self.main, METALS)
        is_one_of("form", self.form, FORMS)
        is_one_of("made_for", self.made_for, MADE_FOR)
        is_one_of("colour", self.colour, COLOURS)
        is_positive("mass_g", self.mass_g)
        not_negative("mass_sd_g", self.mass_sd_g)
        not_negative("min_take_g", self.min_take_g)
        not_negative("min_remainder_g", self.min_remainder_g)
        not_negative("remelts", self.remelts)
        is_fraction("solder_share", self.solder_share[0])
        is_fraction("solder_share", self.solder_share[1])
        for code, answer in self.flags.items():
            is_one_of(f"flags.{code}", answer, FLAG_ANSWERS)


@dataclass(frozen=True, slots=True)
class BeliefSet:
    """What is believed of each body, with every error that they share.

    All fractions. Row i belongs to bodies[i]; the covariance of the main element is
    diag(own_sd^2) + L L^T with L[i][k] = loading[i][k] (signed) over `factors`.
    `other[i]` gives (mean, sd, upper) of the elements beside the main one;
    `yield_fraction[i]` is (mean, sd) of the metal that comes out of the pot per gram
    put in; `doubt[i]` is the probability that the body is not what it is taken for.
    """

    bodies: tuple[str, ...]
    main: str
    mean: tuple[Composition, ...]
    own_sd: tuple[float, ...]
    factors: tuple[str, ...]
    loading: tuple[tuple[float, ...], ...]
    other: tuple[Mapping[str, tuple[float, float, float]], ...]
    yield_fraction: tuple[tuple[float, float], ...]
    doubt: tuple[float, ...]
    from_readings: str

    def __post_init__(self) -> None:
        rows = len(self.bodies)
        for name in ("mean", "own_sd", "loading", "other", "yield_fraction", "doubt"):
            if len(getattr(self, name)) != rows:
                raise BadInput(
                    name, len(getattr(self, name)), f"{rows} rows, one per body", "Line them up."
                )
        for spread in self.own_sd:
            not_negative("own_sd", spread)
        for row in self.loading:
            if len(row) != len(self.factors):
                raise BadInput(
                    "loading", len(row), f"{len(self.factors)} columns", "One per shared factor."
                )

    def row(self, body: str) -> int:
        """Index of a body; BadInput if it is not here."""
        if body not in self.bodies:
            raise BadInput("body", body, "a lot with a belief", "Believe the lot first.")
        return self.bodies.index(body)

    def sd(self, body: str) -> float:
        """Total standard deviation of the main element's share, own and shared together."""
        i = self.row(body)
        return float((self.own_sd[i] ** 2 + sum(g * g for g in self.loading[i])) ** 0.5)


@dataclass(frozen=True, slots=True)
class Addition:
    """Clean metal that may be added: grain, copper, master alloy.

    `sd` is of the main element's share; `stock_g` None: as much as one cares to buy.
    """

    id: str
    composition: Composition
    sd: float
    price_per_g: Decimal
    owner: str
    stock_g: float | None = None
    form: str = "grain"
    origin: Origin = Origin()

    def __post_init__(self) -> None:
        is_id("id", self.id)
        is_finite("sd", self.sd)
        not_negative("sd", self.sd)
        is_one_of("form", self.form, FORMS)
        if self.stock_g is not None:
            not_negative("stock_g", self.stock_g)
