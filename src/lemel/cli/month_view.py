"""A plan as a person reads it on a terminal: orders, heats, lots that stay, metal, money."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from lemel.plan import HeatPlan, Plan, PlanProblem
from lemel.values import Saying
from lemel.words import say

if TYPE_CHECKING:
    from lemel.cli.paper import Paper

__all__ = ["MonthView", "ways_beyond"]


def ways_beyond(line: str) -> tuple[Saying, ...]:
    """What to do about a line that no metal in the house could fill."""
    return (Saying("cli.way.check_the_order", {"line": line}), Saying("cli.way.buy_or_split"))


@dataclass(frozen=True, slots=True)
class MonthView:
    """One plan with what it was made from, what was beyond it, and where its cards lie."""

    problem: PlanProblem
    plan: Plan
    beyond: Mapping[str, Saying]
    cards: list[str]
    seconds: float
    files: Path | None

    def show(self, paper: Paper) -> None:
        """The whole view, from top to bottom."""
        shop, found = self.problem.workshop, self.plan
        if self.files is not None:
            paper.line(f"Read {self.files}.")
        paper.line(
            f"{shop.name}: {len(self.problem.lots)} lots, {len(self.problem.orders)} order "
            f"lines, {len(found.heats)} heats, as of {shop.as_of.isoformat()}."
        )
        self._lines(paper)
        self._heats(paper)
        self._unused(paper)
        self._metal(paper)
        paper.sayings("Before you begin", found.objections)
        self._cautions(paper)
        if self.cards:
            paper.head("Cards")
            whole, *single = self.cards
            paper.line(f"All in one: {whole}")
            paper.line(
                f"Beside it lie {len(single)} single cards, one for each heat, bar and layout."
            )
        paper.line(f"Planned in {self.seconds:.1f} s.")

    def _lines(self, paper: Paper) -> None:
        paper.head("Orders")
        met = [line for line in self.plan.lines if line.met_by != "unmet"]
        paper.table(
            ("line", "by", "how"),
            [(line.line, line.met_by.replace("_", " "), say(line.how)) for line in met],
            left=2,
            words_last=True,
        )
        for unmet in self.plan.unmet:
            self._not_met(unmet.line, (unmet.reason, *unmet.also), unmet.ways_out, paper)
        for line, reason in self.beyond.items():
            self._not_met(line, (reason,), ways_beyond(line), paper)

    def _not_met(
        self, line: str, reasons: tuple[Saying, ...], ways_out: tuple[Saying, ...], paper: Paper
    ) -> None:
        paper.line(f"{line} is not met. {' '.join(say(reason) for reason in reasons)}")
        for way in ways_out:
            paper.line(f"  - {say(way)}")

    def _heats(self, paper: Paper) -> None:
        if not self.plan.heats:
            return
        paper.head("Heats")
        paper.table(
            ("heat", "owner", "charge", "standard", "grams", "promised", "in"),
            [self._heat(heat) for heat in self.plan.heats],
            left=3,
            words_last=True,
        )

    def _heat(self, heat: HeatPlan) -> tuple[str, ...]:
        charge = {**heat.blend.lots, **heat.blend.additions}
        return (
            heat.id,
            heat.owner,
            ", ".join(f"{body} {grams:.2f}" for body, grams in charge.items()),
            heat.standard,
            f"{heat.blend.mass_g:.2f}",
            f"{1000 * heat.blend.promised:.1f}",
            heat.pot or heat.fire,
        )

    def _unused(self, paper: Paper) -> None:
        if not self.plan.unused:
            return
        paper.head("Bags that stay")
        paper.table(
            ("bag", "why"),
            [(lot.id, say(self.plan.unused[lot.id])) for lot in self.problem.lots
             if lot.id in self.plan.unused],
            words_last=True,
        )  # fmt: skip

    def _metal(self, paper: Paper) -> None:
        paper.head("Metal, grams")
        paper.table(
            ("owner", "at first", "from others", "at last", "of it lost", "open"),
            [
                (
                    self.plan.owners.get(one.owner, one.owner),
                    f"{one.opening_mg / 1000:.2f}",
                    f"{one.transferred_mg / 1000:+.2f}",
                    f"{one.closing_mg / 1000:.2f}",
                    f"{one.places_mg.get('loss', 0) / 1000:.2f}",
                    f"{one.residual_mg / 1000:.3f}",
                )
                for one in self.plan.balance.owners
            ],
        )
        worth = self.plan.worth
        if worth is not None:
            paper.line(
                f"Against selling the scrap and buying stock: {worth.gain:.2f} {worth.currency}, "
                f"with labour at nothing {worth.gain_no_labour:.2f}; {worth.hours:.1f} hours."
            )

    def _cautions(self, paper: Paper) -> None:
        """How many there are at each step: they stand where the step is, not in a heap."""
        counts = Counter(one.at for one in self.plan.cautions)
        if not counts:
            return
        told = ", ".join(f"{place} {count}" for place, count in counts.items())
        paper.head("Mind")
        paper.line(
            f"Cautions stand on the cards at their steps, and in full in the JSON: {told}. "
            "Local codes, the makers' manuals and your teacher come before all of them."
        )
