"""What the plan room takes and gives back. A `Plan` is plain data and is kept whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from lemel.blend import HeatBlend
from lemel.cut import Layout
from lemel.melt import MeltPlan
from lemel.mill import Route
from lemel.plan.ledger import Balance
from lemel.pour import PourPlan
from lemel.values import (
    Bar,
    Blank,
    Caution,
    Charge,
    Lot,
    Mould,
    Objection,
    OrderLine,
    Origin,
    Proof,
    Reading,
    Saying,
    StockNeed,
    Workshop,
)
from lemel.worth import Comparison

__all__ = [
    "MET_BY",
    "BarRoute",
    "HeatPlan",
    "Plan",
    "PlanLine",
    "PlanOptions",
    "PlanProblem",
    "Provenance",
    "StockWork",
    "Task",
    "Unmet",
]

#: In the order in which they are tried.
MET_BY = ("remnant", "scrap_as_is", "stock", "heat", "buy", "unmet")


@dataclass(frozen=True, slots=True)
class PlanOptions:
    """How the plan is made: the seed, the gap and the effort of each solve, and what is wished.

    Lots of `use_first` count as costing nothing, so they go in as far as the promise holds;
    those of `leave_out` stay in their bags. `moulds`: only these are poured into (empty: any).
    """

    seed: int = 1
    gap: float = 1e-3
    work_most: int = 400_000
    use_first: tuple[str, ...] = ()
    leave_out: tuple[str, ...] = ()
    moulds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PlanProblem:
    """The whole month: the workshop with its tools, owners, stock, consents and prices,
    the lots with their readings, and the order lines."""

    workshop: Workshop
    lots: tuple[Lot, ...]
    readings: tuple[Reading, ...]
    orders: tuple[OrderLine, ...]
    options: PlanOptions = PlanOptions()


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One order line: what it is met by, how, and why not by something earlier in the list.

    `uses` are the ids of the lots, bars or heats that its metal comes from; `claim_share`
    the share of its fine metal in the origin class that was asked for (None: no claim).
    """

    order: str
    line: str
    met_by: str
    how: Saying
    why: tuple[Saying, ...] = ()
    uses: tuple[str, ...] = ()
    claim_share: float | None = None


@dataclass(frozen=True, slots=True)
class HeatPlan:
    """One heat from tubs to bars. `needs` are the stock needs that it serves.

    `pours` are one a mould, in the order of pouring; `pot` the crucible or dish; `proof` is
    that of the blend (shared by the heats that were solved together).
    """

    id: str
    owner: str
    standard: str
    family: str
    needs: tuple[str, ...]
    blend: HeatBlend
    charge: Charge
    origin: Origin
    pot: str
    fire: str
    melt: MeltPlan
    moulds: tuple[str, ...]
    pours: tuple[PourPlan, ...]
    bars: tuple[str, ...]
    proof: Proof
    course: str
    explain: tuple[Saying, ...] = ()
    consents: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BarRoute:
    """One bar and its way through the mill."""

    bar: Bar
    route: Route


@dataclass(frozen=True, slots=True)
class StockWork:
    """One stock need served: its bars with their routes, then the layout of its blanks.

    `source` is remnant, scrap_as_is, stock or heat; `heat` the heat's id or "". `layout`
    None: the stock is itself the piece.
    """

    need: StockNeed
    source: str
    heat: str
    lines: tuple[str, ...]
    bars: tuple[BarRoute, ...]
    blanks: tuple[Blank, ...]
    layout: Layout | None


@dataclass(frozen=True, slots=True)
class Unmet:
    """An order line that is not met: the reason, what else stands in the way (`also`), and the
    craft's ways out."""

    order: str
    line: str
    reason: Saying
    ways_out: tuple[Saying, ...]
    also: tuple[Saying, ...] = ()


@dataclass(frozen=True, slots=True)
class Task:
    """One piece of work on the timeline: what, about what, when within its day, how long.

    `day` counts working days from 1; `start_min` minutes from the day's beginning.
    """

    day: int
    start_min: float
    minutes: float
    task: str
    about: str


@dataclass(frozen=True, slots=True)
class Provenance:
    """What the plan was made from; opening a plan never recomputes it."""

    inputs: str
    readings: str
    tables: str
    version: str
    solver: str
    seed: int
    as_of: str
    options: PlanOptions


@dataclass(frozen=True, slots=True)
class Plan:
    """The month's plan with every room's answer, kept whole.

    `asked`, `lots` and `moulds` are the order lines, the bags and the moulds as they were given,
    `shop` the workshop's name: what a card says beside the figures.
    """

    id: str
    made_from: Provenance
    lines: tuple[PlanLine, ...]
    heats: tuple[HeatPlan, ...]
    stock: tuple[StockWork, ...]
    unused: Mapping[str, Saying]
    unmet: tuple[Unmet, ...]
    balance: Balance
    worth: Comparison | None
    timeline: tuple[Task, ...]
    drawer: tuple[Bar, ...] = ()
    objections: tuple[Objection, ...] = ()
    cautions: tuple[Caution, ...] = ()
    owners: Mapping[str, str] = field(default_factory=dict)
    asked: tuple[OrderLine, ...] = ()
    lots: tuple[Lot, ...] = ()
    moulds: tuple[Mould, ...] = ()
    shop: str = ""
