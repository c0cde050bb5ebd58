"""What the book takes and gives: accounts, lines, sealed entries, answers of steps and audits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lemel.book.guards import OPEN_PLACES
from lemel.book.loss_values import FineLoss
from lemel.values import Holding, Objection, Saying, is_id, is_one_of

__all__ = [
    "PLACES", "Account", "Accepted", "Audit", "Bought", "Done", "Happened", "Line", "LossRow",
    "Offer", "PlanStep", "Sealed", "Statement", "StatementLine",
]  # fmt: skip

#: Where metal lies. The last four may go below nothing: they tell what came, went or is missed.
PLACES = (
    "store", "process", "piece", "scrap", "lemel_box", "slag", "hold_up", "sweeps", "refiner",
    "parcel", *OPEN_PLACES,
)  # fmt: skip


@dataclass(frozen=True, slots=True, order=True)
class Account:
    """One heap: whose, where, and which (a lot, a bar, a heat, a pot, an operation)."""

    owner: str
    place: str
    body: str

    def __post_init__(self) -> None:
        is_id("owner", self.owner)
        is_one_of("place", self.place, PLACES)
        is_id("body", self.body)


@dataclass(frozen=True, slots=True)
class Line:
    """So much metal into an account, or out of it (negative)."""

    account: Account
    holding: Holding


@dataclass(frozen=True, slots=True)
class Sealed:
    """An entry that is in the book; `again` if its key was there before with the same content."""

    number: int
    key: str
    digest: str
    again: bool = False


@dataclass(frozen=True, slots=True)
class PlanStep:
    """One step of an accepted plan: what it takes and gives in mg by the plan, and whether done."""

    plan: str
    name: str
    kind: str
    about: str
    takes_mg: Mapping[str, int]
    gives_mg: Mapping[str, int]
    done: bool


@dataclass(frozen=True, slots=True)
class Accepted:
    """A plan in the book: its digest, and how many mg of which heaps are reserved for it."""

    plan: str
    digest: str
    reserved_mg: Mapping[str, int]
    steps: tuple[str, ...]
    heats: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Done:
    """What became of a step. `entry` None: nothing was written, `objections` say why.

    `loss_mg` is what was put in and not weighed out (negative: a gain); `allowed_mg` and
    `sd_mg` what the step may lose and the spread that weighing alone gives.
    """

    entry: Sealed | None
    loss_mg: int = 0
    allowed_mg: float = 0.0
    sd_mg: float = 0.0
    bodies: tuple[str, ...] = ()
    objections: tuple[Objection, ...] = ()
    next: tuple[Saying, ...] = ()


@dataclass(frozen=True, slots=True)
class Offer:
    """One way out of a pot that is not what it should be.

    `way` is keep (it holds the promise as it is), correct (put `additions_g` in), or
    mark_real (pour it and mark it at what it is: `standard`, "" where none is kept). `mean`,
    `sd` and `promised` are shares of the main metal after it; `needs_consent` names additions
    that belong to somebody else than the heat.
    """

    way: str
    additions_g: Mapping[str, float]
    standard: str
    mean: float
    sd: float
    promised: float
    needs_consent: tuple[str, ...] = ()
    said: tuple[Saying, ...] = ()


@dataclass(frozen=True, slots=True)
class Happened:
    """What became of an act that no plan foresaw.

    `stopped`: nothing was written, and `objections` say what must be answered first. `bodies`
    are the lots that it made, `suspect` what it barred or freed, `loss_mg` what it missed
    (negative: a gain), `offers` the ways that are open now, `next` what to do.
    """

    entries: tuple[Sealed, ...] = ()
    bodies: tuple[str, ...] = ()
    suspect: tuple[str, ...] = ()
    loss_mg: int = 0
    offers: tuple[Offer, ...] = ()
    objections: tuple[Objection, ...] = ()
    next: tuple[Saying, ...] = ()

    @property
    def stopped(self) -> bool:
        """Whether an objection kept it from being written."""
        return any(one.grade == "stop" for one in self.objections)


@dataclass(frozen=True, slots=True)
class Audit:
    """What the audit recomputed and found; no faults: the book is whole."""

    entries: int
    head: str
    faults: tuple[Objection, ...]

    @property
    def whole(self) -> bool:
        """Nothing was found."""
        return not self.faults


@dataclass(frozen=True, slots=True)
class StatementLine:
    """One entry as it touches an owner: what the owner has more (or less) of by it, in all."""

    number: int
    made_at: str
    kind: str
    about: str
    gross_mg: int
    fine_ng: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Statement:
    """An owner's account over a period: opening + lines = closing, in gross and by metal."""

    owner: str
    since: str
    until: str
    opening_mg: int
    closing_mg: int
    opening_ng: Mapping[str, int]
    closing_ng: Mapping[str, int]
    lines: tuple[StatementLine, ...]
    head: str


@dataclass(frozen=True, slots=True)
class Bought:
    """One line of the register of purchases; `price` as text, "" where none was told."""

    lot: str
    seller: str
    made_at: str
    described: str
    gross_mg: int
    price: str


@dataclass(frozen=True, slots=True)
class LossRow:
    """The loss of one operation over a period against what it may lose.

    `z` is (loss - allowance) / sd; `leak` the running sum that finds a slow one (see the page).
    `by` is who did it ("" for all); `unweighed` steps are counted apart and are in no sum; `fine`
    is the same by element.
    """

    operation: str
    steps: int
    handled_mg: int
    loss_mg: int
    allowed_mg: float
    sd_mg: float
    z: float
    leak: float
    grade: str
    by: str = ""
    unweighed: int = 0
    fine: tuple[FineLoss, ...] = ()
