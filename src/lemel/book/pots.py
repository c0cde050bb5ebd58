"""What happens at the pot that no plan foresees: more is put in, some is spilled, it is emptied."""

from __future__ import annotations

from collections.abc import Mapping

from lemel.book import gates, heats, ledger, models, steps, undoing
from lemel.book.acts import Act
from lemel.book.flow import planned_step
from lemel.book.holdings import share
from lemel.book.newlots import free_name, make_lot
from lemel.book.steps import Weights
from lemel.book.values import Account, Happened, Line
from lemel.errors import BadInput
from lemel.values import Quantity, Saying, SayingValue, not_negative

__all__ = ["charge_more", "pot_of", "spill", "uncharge"]


def pot_of(alias: str, plan: str, heat: str, states: tuple[str, ...]) -> tuple[str, Account]:
    """The heat's full name and what is in its pot; BadInput in any other state."""
    name = f"{plan}/{heat}"
    state = heats.state_of(alias, name)
    if state not in states:
        raise BadInput(
            "heat", f"{heat} is {state}", f"a heat that is {' or '.join(states)}",
            "Look at the heat's log.",
        )  # fmt: skip
    return name, Account(heats.heat_of(alias, name).owner.code, "process", name)


def charge_more(
    act: Act, plan: str, heat: str, weights: Weights, consent: str, key: str
) -> Happened:
    """More into the pot, as it is really put in: a top-up of the plan, or something else."""
    alias = act.alias
    known = ledger.found_key(alias, key) if key else None
    if known:
        return Happened((known,))
    name, _ = pot_of(alias, plan, heat, ("charged", "molten"))
    step = planned_step(alias, plan, f"{heat} melt and pour")
    if not weights.taken:
        raise BadInput("taken", {}, "grams by body", "Tell what was weighed into the pot.")
    bags = [Account(step.owner, "store", body) for body in weights.taken]
    barred = gates.against(act, step, weights.taken)
    stops = barred or steps.check_bags(act, bags, weights)
    if stops:
        return Happened(objections=stops)
    amounts = {body: round(grams * 1000) for body, grams in weights.taken.items()}
    count = models.Entry.objects.using(alias).filter(kind="charge_more", about=name).count()
    sealed = steps.put_in(
        act, step, amounts, "charge_more", key or f"charge_more {name} {count + 1}",
        sorted(amounts), consent,
    )  # fmt: skip
    heats.note(act, name, "charged_more", {"entry": sealed.number, "taken_mg": amounts})
    return Happened((sealed,), (name,))


def spill(act: Act, plan: str, heat: str, recovered_g: float, lost_g: float, into: str) -> Happened:
    """Metal beside the pot: what was picked up is a lot, the rest is lost."""
    alias = act.alias
    not_negative("recovered_g", recovered_g)
    not_negative("lost_g", lost_g)
    name, pot = pot_of(alias, plan, heat, ("charged", "molten"))
    metal = ledger.held(alias, pot)
    sizes = [round(recovered_g * 1000), round(lost_g * 1000)]
    if not 0 < sum(sizes) <= metal.gross_mg:
        raise BadInput(
            "recovered_g", sum(sizes) / 1000, f"more than 0, at most {metal.gross_mg / 1000:g} g",
            "Weigh what was picked up; the pot holds no more than was charged.",
        )  # fmt: skip
    [picked_up, lost], _ = share(metal, sizes)
    body = free_name(alias, into, f"{name}-spill")
    store = Account(pot.owner, "store", body)
    lines = [Line(pot, -picked_up - lost), Line(Account(pot.owner, "loss", "spill"), lost)]
    sealed = ledger.post(
        alias, act.now, "spill", [*lines, Line(store, picked_up)], about=name, by=act.by,
        memo=act.facts(
            plan=plan, handled_mg=metal.gross_mg, loss_mg=lost.gross_mg, foreseen_mg=0,
            weighings=1, into=body,
        ),
    )  # fmt: skip
    bodies: tuple[str, ...] = ()
    if picked_up.gross_mg:
        molten = heats.state_of(alias, name) == "molten"
        form = "casting" if molten else "offcut"
        bodies = (make_lot(act, store, picked_up, {name: picked_up}, form=form, melted=molten),)
    heats.note(act, name, "spilled", {"entry": sealed.number, "lost_mg": lost.gross_mg})
    values: dict[str, SayingValue] = {"heat": heat, "amount": Quantity(sum(sizes) / 1000, "g")}
    return Happened(
        (sealed,), bodies, loss_mg=lost.gross_mg, next=(Saying("book.next.spilled", values),)
    )


def uncharge(act: Act, plan: str, heat: str, after: Mapping[str, float]) -> Happened:
    """The cold charge is emptied back into its bags; `after` are the bags weighed again, whole.

    The heat is planned again and its lots are reserved as they were.
    """
    alias = act.alias
    name, _ = pot_of(alias, plan, heat, ("charged",))
    done = undoing.uncharge(act, plan, heat, "emptied")
    entries = list(done.entries)
    for body, grams in after.items():
        held = list(ledger.balances(alias, place="store", body=body))
        if len(held) != 1:
            raise BadInput(
                f"after.{body}", body, "a bag of this heat", "Weigh the heat's own bags."
            )
        sealed = steps.stock_take(alias, act.now, held[0], round(grams * 1000), act.by)
        entries += [sealed] if sealed else []
    return Happened(tuple(entries), (name,), next=(Saying("book.next.emptied", {"heat": heat}),))
