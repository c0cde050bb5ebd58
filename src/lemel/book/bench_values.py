"""What the bench's records give back: orders, tools, gate answers, photographs, runs, stock."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from lemel.values import BarFault, OrderLine, Section

__all__ = [
    "GateAnswer", "Photo", "PriceLine", "Run", "RunEvent", "Shelved", "TakenIn", "ToolNote",
    "ToolRow", "Wanted",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Wanted:
    """One order line as it stands.

    `state`: open, planned (all that is left of it is in accepted plans), made (its pieces are
    there), met or dropped (closed by hand). `made` and `planned` count pieces; `left` what a
    new plan has to make. `customer` is what is kept apart and can be erased.
    """

    line: OrderLine
    state: str
    made: int = 0
    planned: int = 0
    customer: str = ""
    entered_at: str = ""
    closed_at: str = ""

    @property
    def left(self) -> int:
        """Pieces that neither are there nor are in an accepted plan; 0 for a closed line."""
        if self.state in ("met", "dropped"):
            return 0
        return max(0, self.line.count - self.made - self.planned)


@dataclass(frozen=True, slots=True)
class ToolRow:
    """One tool as it stands; `tool` is its value, for a crucible with the melts done up to now.

    A stick is plain data. `retired_why` "" while it is in use.
    """

    kind: str
    id: str
    tool: Any
    since: str
    retired_why: str = ""


@dataclass(frozen=True, slots=True)
class ToolNote:
    """What an inspection of a tool found."""

    kind: str
    tool: str
    at: str
    by: str
    note: str


@dataclass(frozen=True, slots=True)
class PriceLine:
    """A price as it was entered by hand: what, how much, for which day on, and who says so."""

    what: str
    amount: str
    on: date
    source: str


@dataclass(frozen=True, slots=True)
class GateAnswer:
    """One answer to one question about a lot, and what was seen or weighed."""

    lot: str
    gate: str
    answer: str
    seen: str
    at: str
    by: str


@dataclass(frozen=True, slots=True)
class Photo:
    """A photograph that the book registered; `file` is its path in the book's folder."""

    about: str
    of: str
    digest: str
    media: str
    size_bytes: int
    taken_on: date
    by: str
    file: str


@dataclass(frozen=True, slots=True)
class RunEvent:
    """One thing that happened in a working run: a pass, an anneal or a crack.

    Sizes None: not measured. `depth_mm` and `place_mm` are a crack's.
    """

    n: int
    what: str
    at: str
    by: str
    thickness_mm: float | None = None
    width_mm: float | None = None
    length_mm: float | None = None
    place_mm: float | None = None
    depth_mm: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Run:
    """A working run of one step of a plan: its events in order, and how it ended ("": not yet)."""

    id: str
    plan: str
    step: str
    begun_at: str
    by: str
    events: tuple[RunEvent, ...] = ()
    ended: str = ""
    ended_at: str = ""

    @property
    def last(self) -> int:
        """The number of the last event; 0 before the first."""
        return max((event.n for event in self.events), default=0)


@dataclass(frozen=True, slots=True)
class Shelved:
    """A bar, remnant or offcut where it lies.

    `section` None: nobody measured it, it is scrap by weight. `temper`: "cast", "soft",
    "unknown", or "worked" with `strain` since it was soft. `free_g` is not promised to a plan.
    `melt`: the house would rather melt it than use it as it is.
    """

    body: str
    kind: str
    owner: str
    mass_g: float
    free_g: float
    section: Section | None
    length_mm: float | None
    temper: str
    strain: float | None
    standard: str | None
    place: str
    label: str
    suspect: bool
    melt: bool
    faults: tuple[BarFault, ...] = ()


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What a month's files brought into the book; `differs` names what the book reads otherwise."""

    entries: int
    lots: int
    orders: int
    tools: int
    differs: Mapping[str, str] = field(default_factory=dict)
