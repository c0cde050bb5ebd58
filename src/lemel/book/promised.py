"""What accepted plans have still to do, and how much of each heap that takes."""

from __future__ import annotations

from lemel.book import filing, ledger, models
from lemel.book.flow import Planned, planned_step
from lemel.book.values import Account

__all__ = ["DROPPED", "free_mg", "mark_dropped", "open_steps", "promised_mg"]

#: Filed by the plan's id when a plan is let go: what it had not done is wanted by nobody.
DROPPED = "dropped_plan"
#: Steps that take a whole bar.
_WHOLE = ("take", "mill", "cut")


def mark_dropped(alias: str, now: str, plan: str) -> None:
    """The plan is let go: its open steps promise nothing any more."""
    filing.file(alias, now, DROPPED, plan, {"plan": plan})


def open_steps(alias: str) -> tuple[Planned, ...]:
    """Steps of accepted plans that are not done, those of dropped plans left out."""
    rows = (
        models.Step.objects.using(alias)
        .filter(entry__isnull=True)
        .exclude(plan_id__in=list(filing.all_of(alias, DROPPED)))
        .order_by("plan_id", "n")
    )
    return tuple(
        planned_step(alias, plan, name) for plan, name in rows.values_list("plan_id", "name")
    )


def promised_mg(alias: str) -> dict[Account, int]:
    """How much of each heap open steps will take: bars made on the way too, which no reservation
    holds. What is in the pot already is not counted again."""
    found: dict[Account, int] = {}
    held = ledger.balances(alias, place="store")
    for step in open_steps(alias):
        if step.kind == "melt_and_pour" and _in_the_pot(alias, step.about):
            continue
        for account, mg in step.takes:
            # These take the bar as it really is, whatever the plan thought it would weigh.
            if step.kind in _WHOLE and account in held:
                found[account] = max(mg, held[account].gross_mg)
            else:
                found[account] = found.get(account, 0) + mg
    return found


def _in_the_pot(alias: str, heat: str) -> bool:
    state = models.Heat.objects.using(alias).filter(pk=heat).values_list("state", flat=True).first()
    return state not in (None, "planned")


def free_mg(alias: str) -> dict[Account, int]:
    """What lies in the store and is promised to no plan, by heap; never below nothing."""
    promised = promised_mg(alias)
    return {
        account: max(0, metal.gross_mg - promised.get(account, 0))
        for account, metal in ledger.balances(alias, place="store").items()
    }
