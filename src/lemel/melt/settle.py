"""What is settled before a heat is played: faults, setpoint, and how the charge is divided."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from lemel import metal
from lemel.melt.bath import Bath, bath_of
from lemel.melt.charging import Heap, heap_of
from lemel.melt.choose import crucible_faults
from lemel.melt.faces import ChargeFill, MeltProblem
from lemel.melt.figures import figure, pot_row
from lemel.melt.fills import FillPlan, FillRules, fill_rules, plan_fills
from lemel.melt.fire import Played, bath_bias_k, play
from lemel.melt.model import FurnaceModel, furnace_model
from lemel.melt.refuse import condition_faults, fill_faults, stops
from lemel.melt.run import Run
from lemel.melt.setpoint import heat_objections
from lemel.melt.steps import stand_s
from lemel.tables import Tables
from lemel.values import Crucible, Furnace, Objection, Quantity, Saying

__all__ = ["Heat", "settle"]


@dataclass(frozen=True, slots=True)
class Heat:
    """Everything that is settled before the heat is played."""

    problem: MeltProblem
    pot: Crucible
    model: FurnaceModel
    bath: Bath
    heap: Heap
    rules: FillRules
    plan: FillPlan
    bias_k: float

    @property
    def setpoint_c(self) -> float:
        """What to set so that the bath stands at the pouring heat."""
        return self.problem.pour_at_c + self.bias_k

    def play(self, run: Run, tables: Tables, begin_s: Sequence[float] = ()) -> Played:
        """The heat on a furnace whose pot is empty, cold or hot from the heat before.

        `begin_s` are moments before which no top-up, and then no stir, is begun.
        """
        run.setpoint_c = self.setpoint_c
        return play(
            run,
            self.heap,
            self.fills(),
            self.plan.cuts,
            add_at_c=self.rules.bath_c,
            aim_c=self.problem.pour_at_c,
            stand_s=stand_s(self.heap, tables),
            begin_s=begin_s,
            tables=tables,
        )

    def fills(self) -> tuple[ChargeFill, ...]:
        """The fillings with their tubs and the levels that they make."""
        heap, rules = self.heap, self.rules
        fills = []
        for n, (start, end) in enumerate(pairwise(self.plan.cuts), start=1):
            a, b = heap.places[start], heap.places[end]
            pile_cm3 = a.mass_g / rules.liquid_g_cm3 + b.bulk_cm3 - a.bulk_cm3
            fills.append(
                ChargeFill(
                    n,
                    heap.tubs(start, end),
                    b.mass_g - a.mass_g,
                    pile_cm3 / rules.volume_cm3,
                    b.mass_g / rules.liquid_g_cm3 / rules.volume_cm3,
                    heap.pieces(start, end, self.problem.piece_g),
                )
            )
        return tuple(fills)


def settle(
    problem: MeltProblem, furnace: Furnace, pot: Crucible, tables: Tables
) -> tuple[Heat | None, list[Objection]]:
    """The heat ready to be played, or None with the reasons; notes in either case."""
    bath = bath_of(problem.charge.composition_mean, tables)
    density = metal.liquid_density_g_cm3(
        problem.charge.composition_mean, bath.liquidus_c + 50, tables=tables
    )
    objections = [
        *crucible_faults(pot, problem.family, tables, seen=problem.inspection),
        *fill_faults(problem, pot, density, tables),
        *condition_faults(problem, tables),
        *heat_objections(problem, problem.pour_at_c, tables),
    ]
    if stops(objections):
        return None, objections
    model = furnace_model(furnace, pot, tables=tables)
    heap = heap_of(problem.charge, problem.piece_g, tables=tables)
    rules = _rules(problem, model, bath, pot, density, tables)
    heap, plan, notes = _divide(problem, heap, rules, tables)
    objections += notes
    if plan is None:
        return None, objections
    bias_k = bath_bias_k(model, bath, problem.charge.mass_g, problem.pour_at_c)
    return Heat(problem, pot, model, bath, heap, rules, plan, bias_k), objections


def _rules(
    problem: MeltProblem,
    model: FurnaceModel,
    bath: Bath,
    pot: Crucible,
    density: float,
    tables: Tables,
) -> FillRules:
    return fill_rules(
        bath,
        volume_cm3=pot.volume_cm3,
        pot_g=pot.mass_g,
        pot=model.pot,
        liquid_g_cm3=density,
        liquid_share=pot_row(pot.material, tables).number("liquid_share"),
        power_w=model.power_w,
        bath_c=min(bath.liquidus_c + figure("over_k", tables), problem.pour_at_c),
        bath_least=problem.bath_least,
        first_share=1.0 if problem.sequence == "full" else None,
        tables=tables,
    )


def _divide(
    problem: MeltProblem, heap: Heap, rules: FillRules, tables: Tables
) -> tuple[Heap, FillPlan | None, list[Objection]]:
    """By the wanted limit; else, since pieces are not cut, letting the bath freeze for a while;
    else asking for the pieces to be cut after all; else not at all."""
    loose = replace(rules, bath_least_c=rules.bath.solidus_c, never_solid=False)
    about = problem.charge.heat
    for limits in (rules, loose):
        plan = plan_fills(heap, limits)
        if plan is not None:
            way = Saying("melt.way.wait_liquid")
            note = Objection("melt.charge.freezes", about, "note", {}, way)
            return heap, plan, [note] if limits is loose else []
    if problem.piece_g:
        heap = heap_of(problem.charge, tables=tables)
        plan = plan_fills(heap, rules)
        if plan is not None:
            asked = [_cut_up(body, heap, plan) for body in sorted(problem.piece_g)]
            return heap, plan, [one for one in asked if one is not None]
    way = Saying("melt.way.cut_pieces")
    return heap, None, [Objection("melt.charge.piece_too_big", about, "stop", {}, way)]


def _cut_up(body: str, heap: Heap, plan: FillPlan) -> Objection | None:
    """What a lot's pieces may weigh at most, so that each fits above the bath it meets."""
    tubs = (dict(heap.tubs(start, end)) for start, end in pairwise(plan.cuts))
    most_g = max((tub.get(body, 0.0) for tub in tubs), default=0.0)
    if most_g <= 0:
        return None
    most = Quantity(most_g, "g")
    way = Saying("melt.way.cut_to", {"most": most})
    return Objection("melt.charge.cut_up", body, "ask", {"fills": plan.fills}, way)
