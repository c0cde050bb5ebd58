"""What every step of the plan needs at hand, gathered once."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from lemel import metal, mill
from lemel.mill import MillKit
from lemel.plan.evidence import Evidence
from lemel.plan.faces import PlanProblem
from lemel.plan.rules import nominal
from lemel.tables import Tables
from lemel.values import (
    Bar,
    Composition,
    Consent,
    Lot,
    Mould,
    OrderLine,
    Saw,
    Standard,
    StockNeed,
    Workshop,
)

__all__ = ["Context", "Group", "family_of", "fits", "portion"]


@dataclass(frozen=True, slots=True)
class Group:
    """Order lines that may share a heat: one owner, one standard, one colour, one set of lots."""

    owner: str
    standard: str
    colour: str
    use_lots: tuple[str, ...]

    @classmethod
    def of(cls, line: OrderLine) -> Group:
        """The group of a line."""
        return cls(line.owner, line.standard, line.colour, line.use_lots)

    def takes(self, lot: Lot) -> bool:
        """Whether a lot is, or came of, one of those that these lines ask for (if they ask)."""
        return not self.use_lots or not set(self.use_lots).isdisjoint({lot.id, *lot.parents})


@dataclass(frozen=True, slots=True)
class Context:
    """The question, the evidence and the tools, for the steps to read."""

    problem: PlanProblem
    evidence: Evidence
    tables: Tables

    @property
    def shop(self) -> Workshop:
        """The workshop."""
        return self.problem.workshop

    @property
    def kit(self) -> MillKit:
        """Rolls, grooves, plates and benches."""
        shop = self.shop
        return MillKit(shop.mills, shop.grooves, shop.drawplates, shop.drawbenches)

    @property
    def moulds(self) -> tuple[Mould, ...]:
        """The moulds that may be poured into."""
        wished = self.problem.options.moulds
        return tuple(m for m in self.shop.moulds if not wished or m.id in wished)

    @property
    def saw(self) -> Saw | None:
        """The saw that cuts curves; else the first."""
        curved = [saw for saw in self.shop.saws if not saw.straight_only]
        return next(iter(curved or self.shop.saws), None)

    @property
    def step_g(self) -> float:
        """Step of the finest balance; 0.01 g where none is listed."""
        return min((b.step_g for b in self.shop.balances), default=0.01)

    def standard(self, name: str) -> Standard:
        """A standard by its id, in the house's jurisdiction where none is named."""
        return metal.standard(name, jurisdiction=self.shop.rules.jurisdiction, tables=self.tables)

    def nominal(self, standard: str, colour: str) -> Composition:
        """The usual alloy of a standard and colour."""
        return nominal(self.standard(standard), colour, self.tables)

    def bodies(self, lines: tuple[OrderLine, ...]) -> Mapping[str, Composition]:
        """Usual alloy by standard, for the cut room."""
        return {line.standard: self.nominal(line.standard, line.colour) for line in lines}

    def consents(self, owner: str, allows: str, about: tuple[str, ...] = ()) -> list[Consent]:
        """Consents of an owner of one kind that cover these bodies (or all)."""
        return [
            consent
            for consent in self.shop.consents
            if consent.owner == owner
            and consent.allows == allows
            and (not consent.about or not about or set(about) & set(consent.about))
        ]


def family_of(standard: Standard, colour: str) -> str:
    """The crucible family of a heat: silver, or gold by its colour."""
    if standard.main == "Ag":
        return "silver"
    if standard.main == "Au":
        return colour if colour in ("white_pd", "white_ni") else "yellow"
    return "platinum" if standard.main == "Pt" else "palladium"


def portion(bar: Bar, mass_g: float, name: str) -> tuple[Bar, Bar | None]:
    """A piece of so many grams cut off a bar's length, and what stays (None: nothing).

    Rounded up to a hundredth of a gram, so that balance and ledger see the same.
    """
    mass_g = math.ceil(mass_g * 100 - 1e-6) / 100
    if mass_g >= bar.mass_g:
        return bar, None
    share = mass_g / bar.mass_g
    taken = replace(bar, id=name, length_mm=bar.length_mm * share, mass_g=mass_g, parents=(bar.id,))
    left = replace(bar, length_mm=bar.length_mm * (1 - share), mass_g=bar.mass_g - mass_g)
    return taken, left


def fits(need: StockNeed, bar: Bar, context: Context, body: Composition) -> bool:
    """Whether the mill can make this stock of this one bar."""
    answer = mill.need(need, (bar,), context.kit, body, tables=context.tables)
    return bool(answer.verdicts) and answer.verdicts[0].fits
