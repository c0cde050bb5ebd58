"""First of all: what is each lot believed to be, may it be melted, and what would it fetch?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lemel import metal, scrap, worth
from lemel.errors import BadInput
from lemel.plan.faces import PlanProblem
from lemel.scrap import ScrapAnswer, ScrapProblem
from lemel.tables import Tables
from lemel.values import BeliefSet, Caution, Composition, Lot, Objection
from lemel.worth import LotValue

__all__ = ["Evidence", "gather_evidence"]


@dataclass(frozen=True, slots=True)
class Evidence:
    """What is known before anything is decided.

    `answers` by main metal; `barred` the objections that keep a lot out of the pot (stops,
    and questions that nobody has answered), by lot id; `values` what a lot would fetch.
    """

    lots: Mapping[str, Lot]
    answers: Mapping[str, ScrapAnswer]
    barred: Mapping[str, tuple[Objection, ...]]
    notes: tuple[Objection, ...]
    values: Mapping[str, LotValue]
    cautions: tuple[Caution, ...]

    def belief(self, lot: str) -> BeliefSet:
        """The set that holds this lot."""
        return self.answers[self.lots[lot].main].beliefs

    def mean(self, lot: str) -> Composition:
        """Mean composition of a lot."""
        beliefs = self.belief(lot)
        return beliefs.mean[beliefs.row(lot)]

    def usable(self, owner: str, main: str) -> tuple[Lot, ...]:
        """An owner's lots of one metal that may go into a pot."""
        return tuple(
            lot
            for lot in self.lots.values()
            if lot.owner == owner and lot.main == main and lot.id not in self.barred
        )


def gather_evidence(problem: PlanProblem, tables: Tables) -> Evidence:
    """Believe all lots in one batch per metal, ask the gates, price the lots."""
    shop = problem.workshop
    lots = {lot.id: lot for lot in problem.lots}
    _check_ids(problem, lots)
    answers: dict[str, ScrapAnswer] = {}
    cautions: list[Caution] = []
    objections: list[Objection] = []
    for main in sorted({lot.main for lot in problem.lots}):
        of_metal = tuple(lot for lot in problem.lots if lot.main == main)
        ids = {lot.id for lot in of_metal}
        readings = tuple(r for r in problem.readings if r.on in ids)
        answers[main] = scrap.believe(ScrapProblem(of_metal, readings), tables=tables)
        objections.extend(answers[main].objections)
        cautions.extend(answers[main].cautions)
    objections.extend(
        scrap.may_melt(
            problem.lots,
            consents=shop.consents,
            readings=problem.readings,
            as_of=shop.as_of,
            house=shop.house,
            rules=shop.rules,
            tables=tables,
        )
    )
    for lot in problem.lots:
        cautions.extend(metal.hazards(_mean(answers[lot.main], lot.id), lot.form, tables=tables))
    objections.extend(
        Objection("plan.left_out_by_hand", lot, "stop") for lot in problem.options.leave_out
    )
    barred: dict[str, tuple[Objection, ...]] = {}
    for objection in objections:
        if objection.about in lots and objection.grade in ("stop", "ask"):
            barred[objection.about] = (*barred.get(objection.about, ()), objection)
    notes = tuple(o for o in objections if o.grade == "note" or o.about not in lots)
    values: dict[str, LotValue] = {}
    if shop.prices is not None:
        for main, answer in answers.items():
            of_metal = tuple(lot for lot in problem.lots if lot.main == main)
            for value in worth.value(of_metal, answer.beliefs, shop.prices, tables=tables):
                values[value.lot] = value
    return Evidence(lots, answers, barred, notes, values, tuple(dict.fromkeys(cautions)))


def _mean(answer: ScrapAnswer, lot: str) -> Composition:
    return answer.beliefs.mean[answer.beliefs.row(lot)]


def _check_ids(problem: PlanProblem, lots: Mapping[str, Lot]) -> None:
    """Names that the files hand to each other must meet."""
    shop = problem.workshop
    faults: list[BadInput] = []
    seen: set[str] = set()
    for lot in problem.lots:
        if lot.id in seen:
            faults.append(BadInput("lots.id", lot.id, "each lot once", "Rename one of the two."))
        seen.add(lot.id)
        if lot.owner not in shop.owners:
            faults.append(_unknown(f"lots.{lot.id}.owner", lot.owner, shop.owners))
    wished = problem.options
    for field, names, known in (
        ("options.use_first", wished.use_first, lots),
        ("options.leave_out", wished.leave_out, lots),
        ("options.moulds", wished.moulds, {mould.id: mould for mould in shop.moulds}),
    ):
        faults += [_unknown(field, name, known) for name in names if name not in known]
    bodies = {*lots, *(bar.id for bar in shop.stock)}
    for reading in problem.readings:
        if reading.on not in bodies:
            faults.append(_unknown(f"readings.{reading.id}.on", reading.on, bodies))
    came_of = {parent for lot in problem.lots for parent in lot.parents}
    came_of |= {name for bar in shop.stock for name in (bar.id, *bar.parents)}
    for line in problem.orders:
        if line.owner not in shop.owners:
            faults.append(_unknown(f"orders.{line.id}.owner", line.owner, shop.owners))
        for name in line.use_lots:
            if name not in lots and name not in came_of:
                faults.append(_unknown(f"orders.{line.id}.use_lots", name, lots))
    if faults:
        first, *rest = faults
        raise BadInput(first.field, first.value, first.allowed, first.do, rest)


def _unknown(field: str, value: str, known: Mapping[str, object] | set[str]) -> BadInput:
    names = sorted(known)
    shown = ", ".join(names[:12]) + (" ..." if len(names) > 12 else "")
    return BadInput(field, value, shown, "Name one that exists, or add it first.")
