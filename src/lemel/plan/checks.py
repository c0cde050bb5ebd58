"""Checks of a finished plan, each small and of one shape: plan in, objections out.

An objection of grade stop here is a fault of the program, found before it costs metal.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from lemel.plan.context import Context
from lemel.plan.faces import Plan
from lemel.values import Objection, Quantity

__all__ = ["CHECKS", "check_plan"]

#: Rounding of the balance that rooms and ledger may differ by, in steps a bar.
STEPS_APART = 3


def owners_never_share_a_heat(plan: Plan, context: Context) -> list[Objection]:
    """Another owner's metal is in a heat only with a consent on record."""
    owners = {lot.id: lot.owner for lot in context.problem.lots}
    owners |= {a.id: a.owner for a in context.shop.additions}
    return [
        Objection("plan.check.owners", heat.id, "stop", {"body": line.body})
        for heat in plan.heats
        for line in heat.charge.lines
        if owners[line.body] != heat.owner and not heat.consents
    ]


def no_barred_lot_is_used(plan: Plan, context: Context) -> list[Objection]:
    """A lot with a stop or an open question is in no charge and no bar."""
    used = {line.body: heat.id for heat in plan.heats for line in heat.charge.lines}
    used |= {p: w.need.id for w in plan.stock for one in w.bars for p in one.bar.parents
             if w.source != "heat"}  # fmt: skip
    return [
        Objection("plan.check.barred", where, "stop", {"lot": lot})
        for lot, where in used.items()
        if lot in context.evidence.barred
    ]


def every_promise_holds_as_charged(plan: Plan, context: Context) -> list[Objection]:
    """In the course one_shot the promised fineness of a charge is at least the standard."""
    return [
        Objection(
            "plan.check.promise",
            heat.id,
            "stop",
            {"promised": Quantity(1000 * heat.charge.promised, "millesimal")},
        )
        for heat in plan.heats
        if heat.course == "one_shot"
        and heat.charge.promised < context.standard(heat.standard).least - 1e-7
    ]


def nothing_is_taken_twice(plan: Plan, context: Context) -> list[Objection]:
    """All takes of a lot or addition together are no more than there is."""
    taken: dict[str, float] = {}
    for heat in plan.heats:
        for line in heat.charge.lines:
            taken[line.body] = taken.get(line.body, 0.0) + line.mass_g
    there: Mapping[str, float | None] = {
        **{lot.id: lot.mass_g for lot in context.problem.lots},
        **{a.id: a.stock_g for a in context.shop.additions},
    }
    return [
        Objection("plan.check.taken_twice", body, "stop", {"taken": Quantity(grams, "g")})
        for body, grams in taken.items()
        if (limit := there[body]) is not None and grams > limit + 0.5 * context.step_g
    ]


def the_balance_closes(plan: Plan, _context: Context) -> list[Objection]:
    """Opening equals closing for each owner and element."""
    if plan.balance.residual_mg == 0 and plan.balance.residual_ng == 0:
        return []
    return [
        Objection("plan.check.balance", "ledger", "stop", {"residual": plan.balance.residual_mg})
    ]


def rooms_and_ledger_agree(plan: Plan, context: Context) -> list[Objection]:
    """What the rooms say of pieces and bars is what the ledger holds, within the balance."""
    held: dict[tuple[str, str], int] = {}
    for movement in plan.balance.movements:
        key = (movement.to.place, movement.to.id)
        held[key] = held.get(key, 0) + movement.holding.gross_mg
    apart = STEPS_APART * context.step_g * 1000
    said = {
        ("bar", bar.id): bar.mass_g
        for work in plan.stock
        for one in work.bars
        for bar in one.route.stock
    }
    said |= {
        ("piece", piece): mass_g
        for work in plan.stock
        if work.layout
        for piece, mass_g in work.layout.pieces_g.items()
    }
    return [
        Objection(
            "plan.check.rooms",
            key[1],
            "stop",
            {"room": Quantity(mass_g, "g"), "ledger": Quantity(held.get(key, 0) / 1000, "g")},
        )
        for key, mass_g in said.items()
        if abs(held.get(key, 0) - 1000 * mass_g) > apart
    ]


def every_line_has_its_answer(plan: Plan, context: Context) -> list[Objection]:
    """Each order line is met by something, or unmet with at least one way out."""
    answered = {line.line for line in plan.lines}
    ways = {unmet.line for unmet in plan.unmet if unmet.ways_out}
    return [
        Objection("plan.check.unanswered", line.id, "stop")
        for line in context.problem.orders
        if line.id not in answered
    ] + [
        Objection("plan.check.no_way_out", line.line, "stop")
        for line in plan.lines
        if line.met_by == "unmet" and line.line not in ways
    ]


CHECKS: tuple[Callable[[Plan, Context], list[Objection]], ...] = (
    owners_never_share_a_heat,
    no_barred_lot_is_used,
    every_promise_holds_as_charged,
    nothing_is_taken_twice,
    the_balance_closes,
    rooms_and_ledger_agree,
    every_line_has_its_answer,
)


def check_plan(plan: Plan, context: Context) -> tuple[Objection, ...]:
    """All checks in order."""
    return tuple(objection for check in CHECKS for objection in check(plan, context))
