"""`Bench`: the records of the shop, and the plan's question made from the book."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

from lemel.book import (
    gates,
    house,
    ledger,
    orders,
    photos,
    prices,
    question,
    runs,
    stocklist,
    tools,
)
from lemel.book.bench_values import (
    GateAnswer,
    Photo,
    PriceLine,
    Run,
    RunEvent,
    Shelved,
    TakenIn,
    ToolNote,
    ToolRow,
    Wanted,
)
from lemel.plan import PlanOptions, PlanProblem
from lemel.values import HouseRules, Objection, OrderLine, Prices, Workshop

__all__ = ["Bench"]


@dataclass(frozen=True, slots=True)
class Bench:
    """What is on record of the shop beside its metal. Each act is one transaction; a refused one
    (`BadInput`) leaves nothing behind. Whoever did it is named by `by`."""

    folder: Path
    alias: str
    clock: Callable[[], datetime]

    def _now(self) -> str:
        return self.clock().astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")

    def today(self) -> date:
        """The day by the book's clock, where no other is named."""
        return self.clock().date()

    # orders

    def enter_orders(
        self,
        lines: Sequence[OrderLine],
        *,
        customers: Mapping[str, str] | None = None,
        by: str = "",
    ) -> tuple[str, ...]:
        """Order lines, new or changed; `customers` by order id, kept apart so that it can be
        erased, as the lines' notes are. Their ids."""
        with ledger.writing(self.alias):
            return orders.enter(self.alias, self._now(), lines, dict(customers or {}), by)

    def orders(self, open_only: bool = True) -> tuple[Wanted, ...]:
        """Order lines with what is made and planned of each, in the order of their entry."""
        return orders.wanted(self.alias, open_only=open_only)

    def close_order(self, line: str, how: str, *, by: str = "") -> None:
        """A line is met or dropped."""
        with ledger.writing(self.alias):
            orders.close(self.alias, self._now(), line, how, by)

    # the workshop

    def enter_workshop(self, shop: Workshop, *, source: str = "", by: str = "") -> int:
        """Name, owners, rules, own figures, tools and prices of a workshop; how many tools.

        `source` says where its prices are from. Its metal and consents come by the weigh-in.
        """
        with ledger.writing(self.alias):
            return house.enter_workshop(self.alias, self._now(), shop, source, by)

    def set_house(self, id: str, name: str, owner: str, *, by: str = "") -> None:
        """The workshop's id and name, and the owner who is the shop itself."""
        with ledger.writing(self.alias):
            house.enter_house(self.alias, self._now(), id, name, owner, by)

    def workshop(self, as_of: date | None = None) -> Workshop:
        """The workshop as a plan needs it, with the metal that is promised to nobody."""
        return question.workshop(self.alias, as_of or self.today())

    def set_tool(self, kind: str, tool: Any, *, by: str = "") -> ToolRow:
        """A tool as it is now; a crucible's `melts_done` counts up to this moment."""
        with ledger.writing(self.alias):
            return tools.set_tool(self.alias, self._now(), kind, tool, by)

    @property
    def tool_kinds(self) -> tuple[str, ...]:
        """The kinds of tools that there are."""
        return tools.KINDS

    def retire_tool(self, kind: str, id: str, why: str, *, by: str = "") -> None:
        """A tool is out of use."""
        with ledger.writing(self.alias):
            tools.retire(self.alias, self._now(), kind, id, why, by)

    def tools(self, kind: str, *, retired: bool = False) -> tuple[ToolRow, ...]:
        """Tools of a kind; with `retired` those out of use too."""
        return tools.rows(self.alias, kind, retired=retired)

    def note_tool(self, kind: str, id: str, note: str, *, by: str = "") -> ToolNote:
        """What an inspection found."""
        with ledger.writing(self.alias):
            return tools.note(self.alias, self._now(), kind, id, note, by)

    def tool_notes(self, kind: str, id: str) -> tuple[ToolNote, ...]:
        """Every inspection of a tool, the first one first."""
        return tools.notes(self.alias, kind, id)

    # prices and rules

    def set_price(
        self,
        what: str,
        amount: Decimal | str | int,
        *,
        on: date | None = None,
        source: str = "",
        currency: str = "",
        by: str = "",
    ) -> PriceLine:
        """A price by hand: fine/Ag, scrap_paid/Ag, stock/UK Ag 925/sheet, labour_per_h, ..."""
        with ledger.writing(self.alias):
            return prices.enter_one(
                self.alias, self._now(), what, amount, on or self.today(), source, currency, by
            )

    def prices(self, on: date | None = None) -> Prices | None:
        """The prices of a day as a plan takes them; None where there are none by then."""
        return prices.on(self.alias, on or self.today())

    def price_lines(self, on: date | None = None) -> tuple[PriceLine, ...]:
        """Each price of a day with its own date and source."""
        return prices.lines_on(self.alias, on or self.today())

    def set_rule(self, name: str, value: Any, *, by: str = "") -> HouseRules:
        """A rule of the house, or `hold_days`."""
        with ledger.writing(self.alias):
            return house.set_rule(self.alias, self._now(), name, value, by)

    def rules(self) -> HouseRules:
        """The rules as they stand."""
        return house.rules(self.alias)

    def set_figure(self, table: str, row: str, column: str, value: Any, *, by: str = "") -> None:
        """The house's own figure over one of a shipped table; None takes it back."""
        with ledger.writing(self.alias):
            house.set_figure(self.alias, self._now(), table, row, column, value, by)

    def figures(self) -> Mapping[str, Mapping[str, Mapping[str, object]]]:
        """The house's own figures: {table: {row: {column: value}}}."""
        return house.figures(self.alias)

    # gates and photographs

    def answer_gate(
        self, lot: str, gate: str, answer: str, *, seen: str = "", by: str = ""
    ) -> GateAnswer:
        """yes (the trouble is there), no or unknown, with what was seen or weighed."""
        with ledger.writing(self.alias):
            return gates.answer(self.alias, self._now(), lot, gate, answer, seen, by)

    def gate_answers(self, lot: str) -> tuple[GateAnswer, ...]:
        """Every answer about a lot, the first one first."""
        return gates.history(self.alias, lot)

    def open_gates(self, lot: str, as_of: date | None = None) -> tuple[Objection, ...]:
        """What still stands between a lot and the pot: stops, questions, notes."""
        return gates.open_gates(self.alias, lot, as_of or self.today())

    def keep_photo(
        self,
        about: str,
        data: bytes,
        *,
        taken_on: date | None = None,
        of: str = "mark",
        by: str = "",
    ) -> Photo:
        """A picture of a mark, the whole thing or a damage; PNG, JPEG or WebP up to 12 MiB."""
        with ledger.writing(self.alias):
            return photos.keep(
                self.alias, self.folder, self._now(), about, data, taken_on or self.today(), of, by
            )

    def photos(self, about: str | None = None) -> tuple[Photo, ...]:
        """Registered pictures, all or those about one body."""
        return photos.photos(self.alias, about)

    def photo(self, digest: str) -> tuple[bytes, str]:
        """A picture's bytes and its media type."""
        return photos.read(self.alias, self.folder, digest)

    # working runs

    def begin_run(self, plan: str, step: str, *, by: str = "") -> str:
        """The run of a step: the one under way, or a new one. Its id."""
        with ledger.writing(self.alias):
            return runs.begin(self.alias, self._now(), plan, step, by)

    def tick_pass(
        self,
        run: str,
        n: int,
        measured: Mapping[str, float] | None = None,
        *,
        note: str = "",
        by: str = "",
        mend: bool = False,
    ) -> RunEvent:
        """Pass `n` is done; `measured` may hold thickness_mm, width_mm, length_mm."""
        return self._event(run, n, "pass", {**_sizes(measured), "note": note}, by, mend)

    def tick_anneal(
        self,
        run: str,
        n: int,
        *,
        note: str = "",
        by: str = "",
        mend: bool = False,
    ) -> RunEvent:
        """The bar was made soft."""
        return self._event(run, n, "anneal", {"note": note}, by, mend)

    def tick_crack(
        self,
        run: str,
        n: int,
        *,
        place_mm: float | None = None,
        depth_mm: float | None = None,
        note: str = "",
        by: str = "",
        mend: bool = False,
    ) -> RunEvent:
        """A crack was seen in the bar. That its heat is suspect is told by `mark_suspect`."""
        facts = {"place_mm": place_mm, "depth_mm": depth_mm, "note": note}
        return self._event(run, n, "crack", facts, by, mend)

    def _event(
        self, run: str, n: int, what: str, facts: dict[str, Any], by: str, mend: bool
    ) -> RunEvent:
        with ledger.writing(self.alias):
            return runs.event(self.alias, self._now(), run, n, what, facts, by, mend)

    def end_run(self, run: str, how: str = "done", *, by: str = "") -> None:
        """The run is done, or why it stopped."""
        with ledger.writing(self.alias):
            runs.end(self.alias, self._now(), run, how, by)

    def runs(self, plan: str, step: str | None = None) -> tuple[Run, ...]:
        """Runs of a plan or of one step, with their events in order."""
        return runs.runs(self.alias, plan, step)

    # where things lie

    def set_place(
        self, body: str, place: str, *, label: str = "", melt: bool | None = None, by: str = ""
    ) -> None:
        """Drawer or bag of a heap, and its label; `melt` True: it is scrap, not stock."""
        with ledger.writing(self.alias):
            stocklist.set_place(self.alias, self._now(), body, place, label, melt, by)

    def stock(self, *, shaped: bool = False) -> tuple[Shelved, ...]:
        """Bars, remnants and offcuts: section, temper, mass, place, and whether suspect.

        `shaped`: those alone of which the section is known."""
        return stocklist.stock(self.alias, shaped=shaped)

    # the plan's question

    def problem(
        self,
        as_of: date | None = None,
        *,
        seed: int | None = None,
        lines: Iterable[str] | None = None,
        options: PlanOptions | None = None,
    ) -> PlanProblem:
        """The plan's whole question from the book as it is now, for all open lines or some."""
        made = options or PlanOptions()
        if seed is not None:
            made = PlanOptions(seed, made.gap, made.work_most)
        return question.problem(self.alias, as_of or self.today(), made, lines)

    def take_in(self, problem: PlanProblem, *, source: str = "", by: str = "") -> TakenIn:
        """A month's files into the book: metal, readings, consents, workshop, prices, orders."""
        with ledger.writing(self.alias):
            return question.take_in(self.alias, self._now(), problem, source, by)


def _sizes(measured: Mapping[str, float] | None) -> dict[str, Any]:
    from lemel.errors import BadInput

    known = ("thickness_mm", "width_mm", "length_mm")
    for name in measured or {}:
        if name not in known:
            raise BadInput("measured", name, ", ".join(known), "Name what was measured so.")
    return dict(measured or {})
