"""What the papers say, as plain values: kept in the book as they were given out, printed at will.

Amounts are mg (gross) and ng (elements); shares are fractions; people are named by their id.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal

from lemel.errors import BadInput
from lemel.values import Saying, is_fraction, is_one_of, not_negative

__all__ = [
    "GETS", "Agreed", "Claim", "Counted", "OriginNode", "OriginPaper", "Quote", "QuoteLine",
    "Receipt", "ReceiptLine", "StockTake", "StockTakeRow", "Stones", "Tested", "Unsure",
    "ValueList", "ValueRow", "with_words",
]  # fmt: skip

#: What a customer gets for metal that was left.
GETS = ("own_metal_back", "work_from_it", "credit_fine", "money", "safe_keeping")
_UNITS = ("g", "ozt")


@dataclass(frozen=True, slots=True)
class Stones:
    """Stones of one lot: how many were counted in it, and how many were handed back at once."""

    counted: int
    returned: int = 0

    def __post_init__(self) -> None:
        not_negative("stones.counted", self.counted)
        not_negative("stones.returned", self.returned)
        if self.returned > self.counted:
            raise BadInput(
                "stones.returned", self.returned, f"at most {self.counted}", "Count them again."
            )


@dataclass(frozen=True, slots=True)
class Tested:
    """One test: the method, what it read of the main metal, and its own sd (fractions)."""

    method: str
    share: float
    sd: float
    taken_on: str


@dataclass(frozen=True, slots=True)
class ReceiptLine:
    """One lot at the counter. `told` is the main metal's share as it was told (None: nothing was
    told); `believed` (mean, sd) what the house makes of everything. `described` is kept apart and
    may have been erased ("")."""

    lot: str
    form: str
    main: str
    gross_mg: int
    entry: int
    told: float | None
    tested: tuple[Tested, ...]
    believed: tuple[float, float]
    stones: Stones | None
    warnings: tuple[Saying, ...]
    described: str = ""


@dataclass(frozen=True, slots=True)
class Agreed:
    """A consent as it stood: what it allows, its limit (None: none), and since when."""

    id: str
    allows: str
    limit_g: float | None
    given_on: str


@dataclass(frozen=True, slots=True)
class Receipt:
    """What was taken in from a customer, weighed by both. `loss_percent` None: none was agreed;
    `unit` is the owner's; `digest` that of the last entry it stands on."""

    number: str
    made_at: str
    owner: str
    unit: str
    lines: tuple[ReceiptLine, ...]
    consents: tuple[Agreed, ...]
    loss_percent: float | None
    gets: str
    balance: str
    by: str
    digest: str
    promised: str = ""

    def __post_init__(self) -> None:
        is_one_of("gets", self.gets, GETS)
        is_one_of("unit", self.unit, _UNITS)
        if self.loss_percent is not None:
            is_fraction("loss_percent", self.loss_percent / 100)

    @property
    def gross_mg(self) -> int:
        """All lots together."""
        return sum(line.gross_mg for line in self.lines)


@dataclass(frozen=True, slots=True)
class StockTakeRow:
    """One heap to count: where it lies by the book, and what the book says of it."""

    n: int
    place: str
    owner: str
    body: str
    what: str
    book_mg: int


@dataclass(frozen=True, slots=True)
class Counted:
    """What was found of one row. `entry` None: within half a step of the balance, no posting."""

    n: int
    weighed_mg: int
    difference_mg: int
    entry: int | None


@dataclass(frozen=True, slots=True)
class StockTake:
    """A stock-take: the list as it was drawn up, and, once it is signed, what was found.

    Rows that nobody weighed are in neither; `left_blank` counts them.
    """

    number: str
    made_at: str
    by: str
    rows: tuple[StockTakeRow, ...]
    digest: str
    state: str = "open"
    signed_at: str = ""
    signed_by: tuple[str, ...] = ()
    counted: tuple[Counted, ...] = ()
    left_blank: int = 0

    @property
    def difference_mg(self) -> int:
        """All that was posted: positive where more was found than the book said."""
        return sum(one.difference_mg for one in self.counted if one.entry is not None)


@dataclass(frozen=True, slots=True)
class ValueRow:
    """One owner's metal at one place: gross, fine by metal, and its worth at the day's price."""

    owner: str
    place: str
    gross_mg: int
    fine_ng: Mapping[str, int]
    value: Decimal


@dataclass(frozen=True, slots=True)
class Unsure:
    """A heap of which nobody knows well how much fine metal it holds, with one sd."""

    body: str
    metal: str
    fine_ng: int
    sd_ng: int


@dataclass(frozen=True, slots=True)
class ValueList:
    """What lies in the house at the prices of a day, owner by owner; only the fine metal counts.

    `unpriced` are metals that are there and have no price: they stand in no sum. `unsure` are
    heaps whose fine metal is known badly; they stand in the sums as they are believed.
    """

    as_of: str
    made_at: str
    currency: str
    prices: Mapping[str, Decimal]
    rows: tuple[ValueRow, ...]
    unpriced: tuple[str, ...]
    digest: str
    unsure: tuple[Unsure, ...] = ()

    def of(self, owner: str) -> Decimal:
        """One owner's metal."""
        return sum((row.value for row in self.rows if row.owner == owner), Decimal(0))


@dataclass(frozen=True, slots=True)
class OriginNode:
    """A body on the way back: how far back, what it is, how much of it is in what stands above,
    and its own origin where it came in from outside."""

    depth: int
    body: str
    kind: str
    gross_mg: int
    shares: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Claim:
    """What one published definition counts of it; the source is a key of the tables, `trust` how
    far it was read."""

    definition: str
    counts: tuple[str, ...]
    share: float
    source: str
    trust: str


@dataclass(frozen=True, slots=True)
class OriginPaper:
    """Where a body's precious metal comes from: shares of fine mass, frozen at the pour, the
    claims by each definition, and the way back to the bags."""

    body: str
    owner: str
    gross_mg: int
    fine_ng: Mapping[str, int]
    shares: Mapping[str, float]
    claims: tuple[Claim, ...]
    follows: str
    nodes: tuple[OriginNode, ...]
    made_at: str
    digest: str

    @property
    def claim(self) -> Claim:
        """By the definition that the paper follows."""
        return next(one for one in self.claims if one.definition == self.follows)

    @property
    def unknown(self) -> float:
        """The share of which nobody can say where it comes from."""
        return self.shares.get("unknown", 0.0)

    @property
    def declared(self) -> float:
        """The share that rests on a supplier's word alone."""
        return sum(share for name, share in self.shares.items() if name.endswith("_declared"))


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """One thing that is charged: `quantity` units at `price`."""

    kind: str
    about: str
    quantity: Decimal
    unit: str
    price: Decimal

    @property
    def total(self) -> Decimal:
        """To the cent, as it is asked for."""
        return (self.quantity * self.price).quantize(Decimal("0.01"))


@dataclass(frozen=True, slots=True)
class Quote:
    """What an order would cost, with everything that was assumed; it binds until `valid_until`."""

    number: str
    made_at: str
    owner: str
    unit: str
    plan: str
    lines: tuple[str, ...]
    rows: tuple[QuoteLine, ...]
    currency: str
    prices_as_of: str
    valid_until: str
    assumed: tuple[Saying, ...]
    digest: str = ""

    @property
    def total(self) -> Decimal:
        """All rows."""
        return sum((row.total for row in self.rows), Decimal(0))


def with_words(receipt: Receipt, described: Mapping[str, str], promised: str) -> Receipt:
    """The receipt with the words that are kept apart."""
    lines = tuple(replace(one, described=described.get(one.lot, "")) for one in receipt.lines)
    return replace(receipt, lines=lines, promised=promised)
