"""What the papers of parcels say: to refiners and to assay offices. Plain values like the others.

Amounts are mg (gross) and ng (elements); shares are fractions; people are named by their id.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from lemel.errors import BadInput
from lemel.values import METALS, Objection, Saying, is_fraction, is_id, is_one_of, not_negative

__all__ = ["AssayLine", "AssayParcel", "RefinerLine", "RefinerParcel", "RefinerTerms", "Settled"]


@dataclass(frozen=True, slots=True)
class RefinerTerms:
    """A refiner's terms as they were entered by hand, with the day they hold from.

    `payable` is the paid share of each metal by assay (a metal that is not named is not paid);
    `lot_charge` is asked for each owner's lot, `per_kg` for each kilogram of it, `assay_fee` for
    each lot; `least_charge` is the least that a lot pays in all, `postage` for the parcel.
    """

    id: str
    as_of: str
    currency: str
    payable: Mapping[str, Decimal]
    lot_charge: Decimal = Decimal(0)
    per_kg: Decimal = Decimal(0)
    assay_fee: Decimal = Decimal(0)
    least_charge: Decimal = Decimal(0)
    postage: Decimal = Decimal(0)
    days: int = 0

    def __post_init__(self) -> None:
        is_id("refiner", self.id)
        if not self.payable:
            raise BadInput("payable", {}, "a paid share for each metal", "Enter the terms.")
        for metal, share in self.payable.items():
            is_one_of("payable", metal, METALS)
            is_fraction(f"payable.{metal}", float(share))
        for name in ("lot_charge", "per_kg", "assay_fee", "least_charge", "postage"):
            not_negative(name, float(getattr(self, name)))

    def charges(self, gross_mg: int) -> Decimal:
        """What one owner's lot pays, postage apart: its parts, or the least charge if that is
        more."""
        parts = self.lot_charge + self.assay_fee + self.per_kg * Decimal(gross_mg) / 1_000_000
        return max(parts, self.least_charge)


@dataclass(frozen=True, slots=True)
class RefinerLine:
    """One heap in a parcel, as the book has it."""

    owner: str
    place: str
    body: str
    gross_mg: int
    fine_ng: Mapping[str, int]
    sd_ng: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Settled:
    """One owner's lot of a parcel, reckoned or settled.

    `fine_ng` with its spread `sd_ng` is what the book expects, `assayed_ng` the refiner's assay
    (empty while it is out); `paid` money after all charges, `back_mg` metal that came back,
    `eaten` the share of the payment that charges eat, `z` by metal how many sds the assay lies
    off.
    """

    owner: str
    gross_mg: int
    fine_ng: Mapping[str, int]
    sd_ng: Mapping[str, int]
    payable: Decimal
    charges: Decimal
    eaten: Decimal
    assayed_ng: Mapping[str, int] = field(default_factory=dict)
    z: Mapping[str, float] = field(default_factory=dict)
    paid: Decimal = Decimal(0)
    back: tuple[str, ...] = ()
    back_mg: int = 0

    @property
    def net(self) -> Decimal:
        """What is left of the payment after charges."""
        return self.payable - self.charges


@dataclass(frozen=True, slots=True)
class RefinerParcel:
    """A parcel to a refiner, owners kept apart. `state`: drawn_up, sent, settled or unpacked.

    `advice` says "send", or "not yet" with what the charges would eat.
    """

    number: str
    made_at: str
    terms: RefinerTerms
    prices: Mapping[str, Decimal]
    prices_as_of: str
    lines: tuple[RefinerLine, ...]
    estimate: tuple[Settled, ...]
    advice: Saying
    send: bool
    by: str
    state: str = "drawn_up"
    sent_at: str = ""
    settled_at: str = ""
    settled: tuple[Settled, ...] = ()
    objections: tuple[Objection, ...] = ()

    @property
    def owners(self) -> tuple[str, ...]:
        """Whose metal is in it."""
        return tuple(dict.fromkeys(line.owner for line in self.lines))


@dataclass(frozen=True, slots=True)
class AssayLine:
    """One piece or sample at the assay office.

    `what` is piece or sample; `claim` the standard that is to be proven ("" for a plain assay);
    `result` is out, passed, failed or broken, with the reading that came of it, what came back,
    and what to do about it.
    """

    owner: str
    body: str
    what: str
    place: str
    claim: str
    gross_mg: int
    result: str = "out"
    reading: str = ""
    share: float | None = None
    back_mg: int = 0
    speaks_for: str = ""
    advice: tuple[Saying, ...] = ()


@dataclass(frozen=True, slots=True)
class AssayParcel:
    """A parcel to an assay office; `state` is out or back."""

    number: str
    made_at: str
    office: str
    lines: tuple[AssayLine, ...]
    by: str
    state: str = "out"
    back_at: str = ""
    fee: Decimal = Decimal(0)
    currency: str = ""
