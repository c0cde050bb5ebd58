"""What the mill room takes and gives back."""

from __future__ import annotations

from dataclasses import dataclass

from lemel.metal import Working
from lemel.values import (
    Bar,
    Caution,
    DrawBench,
    DrawPlate,
    Grooves,
    Mill,
    Objection,
    Proof,
    Saying,
    Section,
    StockNeed,
)

__all__ = ["BarVerdict", "MillKit", "MillNeed", "MillProblem", "Route", "Step"]


@dataclass(frozen=True, slots=True)
class MillKit:
    """The tools that may be used; a bench with no mill has a hammer all the same."""

    mills: tuple[Mill, ...] = ()
    grooves: tuple[Grooves, ...] = ()
    drawplates: tuple[DrawPlate, ...] = ()
    drawbenches: tuple[DrawBench, ...] = ()


@dataclass(frozen=True, slots=True)
class MillProblem:
    """From this bar to this stock. `variant` "easy" (printed) or "fewest" (the proof beside it).

    `spread_factor` learnt from measured bars (None: as the table says). `accept_short`: take
    what the bar gives, even if it does not serve the whole need. `mesh` None: settings that
    a hand can make; else the ratio of a finer geometric mesh. `prove`: look for a bound over
    all sizes even where that takes seconds. `working` replaces the hardening figures of the
    tables, `pace` multiplies the minutes: both learnt at this bench.
    """

    bar: Bar
    need: StockNeed
    kit: MillKit
    variant: str = "easy"
    spread_factor: float | None = None
    seed: int = 1
    accept_short: bool = False
    mesh: float | None = None
    prove: bool = False
    working: Working | None = None
    pace: float = 1.0


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the route.

    `tool` is flats, groove, hole, hammer, file, anneal, age, trim, crop, cut or turn;
    `size_mm` the gap, groove or hole. `limit` is the limit that binds: bite, torque, frame,
    spring, gauge, strain, cast (the gentle first leg), fin, pull, break, stroke, size (the
    target ends the step) or none. `effort` is easy, firm or two_hands; `passes` how many
    passages this line stands for. Section, width and length are after the step, for each
    piece; `strain` is since soft. `screw_turn` None: no pass before it to count from.
    """

    n: int
    tool: str
    size_mm: float
    section: Section
    width_mm: float
    length_mm: float
    strain: float
    hv: float
    force_n: float
    torque_nm: float
    limit: str
    effort: str
    passes: int = 1
    screw_turn: float | None = None
    off_g: float = 0.0
    minutes: float = 0.0
    note: Saying | None = None


@dataclass(frozen=True, slots=True)
class Route:
    """The way from bar to stock, or why there is none with the ways out.

    `stock` are the bars that come out (None in an infeasible answer: empty); `offcuts` what
    is cropped and trimmed, as bars; `loss_g` what is filed away. `fewest` is the proven
    least number of passages at full load, shown as one line beside the easy route, with its
    anneals. Its cost counts an anneal as so many passages; `fewest_bound` is proven to be
    no more than any way costs, over "all_sizes" or over the "settings" that were tried
    (`fewest_over`). `serves` is the share of the need that the stock covers, at most 1.
    """

    status: str
    steps: tuple[Step, ...]
    passes: int
    anneals: int
    minutes: float
    proof: Proof
    stock: tuple[Bar, ...]
    offcuts: tuple[Bar, ...]
    loss_g: float
    fewest: int | None = None
    cautions: tuple[Caution, ...] = ()
    objections: tuple[Objection, ...] = ()
    explain: tuple[Saying, ...] = ()
    ways_out: tuple[Saying, ...] = ()
    fewest_anneals: int | None = None
    fewest_cost: float | None = None
    fewest_bound: float | None = None
    fewest_over: str = "settings"
    serves: float = 1.0

    @property
    def fewest_gap(self) -> float | None:
        """How much less than the fewest found any way could cost at most, in passages, over
        what `fewest_over` says; None where no way was counted."""
        if self.fewest_cost is None or self.fewest_bound is None:
            return None
        return max(0.0, self.fewest_cost - self.fewest_bound)


@dataclass(frozen=True, slots=True)
class BarVerdict:
    """Whether one bar can become the stock: `grams_needed` of it, and the rough effort.

    `workable`: the tools get there, be there enough metal or not; `serves` the share of the
    need that this bar alone covers, at most 1; `yield_share` the share of it that is stock.
    """

    bar: str
    fits: bool
    grams_needed: float
    passes: int
    anneals: int
    minutes: float
    objections: tuple[Objection, ...] = ()
    workable: bool = False
    serves: float = 0.0
    yield_share: float = 0.0


@dataclass(frozen=True, slots=True)
class MillNeed:
    """Backwards: the mass of metal that a stock need asks of any bar, with crops and loss,
    and the verdict on each candidate bar, in the order in which they were given."""

    grams_least: float
    verdicts: tuple[BarVerdict, ...]
    objections: tuple[Objection, ...] = ()
    ways_out: tuple[Saying, ...] = ()
