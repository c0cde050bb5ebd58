"""What accepted plans have still to do, and how much of each heap that takes."""

from __future__ import annotations

from collections.abc import Collection

from lemel.book import filing, models
from lemel.book.flow import Planned, planned_step
from lemel.book.values import Account

__all__ = ["DROPPED", "free_mg", "mark_dropped", "open_steps", "promised_mg"]

#: Filed by the plan's id when a plan is let go: what it had not done is wanted by nobody.
DROPPED = "dropped_plan"
#: Steps that take a whole bar.
_WHOLE = ("take", "mill", "cut")
#: So many bodies are looked up one by one; for more the whole store is read.
_FEW = 500


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
    steps = open_steps(alias)
    held = _in_store(alias, {account.body for step in steps for account, _ in step.takes})
    for step in steps:
        if step.kind == "melt_and_pour" and _in_the_pot(alias, step.about):
            continue
        for account, mg in step.takes:
            # These take the bar as it really is, whatever the plan thought it would weigh.
            if step.kind in _WHOLE and account in held:
                found[account] = max(mg, held[account])
            else:
                found[account] = found.get(account, 0) + mg
    return found


def _in_the_pot(alias: str, heat: str) -> bool:
    state = models.Heat.objects.using(alias).filter(pk=heat).values_list("state", flat=True).first()
    return state not in (None, "planned")


def free_mg(alias: str, bodies: Collection[str] | None = None) -> dict[Account, int]:
    """What lies in the store and is promised to no plan, by heap (or of these bodies alone); never
    below nothing."""
    promised = promised_mg(alias)
    return {
        account: max(0, mg - promised.get(account, 0))
        for account, mg in _in_store(alias, bodies).items()
    }


def _in_store(alias: str, bodies: Collection[str] | None) -> dict[Account, int]:
    """mg by heap; few bodies are looked up alone, for more the whole store is read."""
    rows = models.Account.objects.using(alias).filter(place="store").exclude(gross_mg=0)
    if bodies is not None and len(bodies) <= _FEW:
        # With the owners beside them the index over owner, place and body finds each at once.
        owners = list(models.Party.objects.using(alias).values_list("key", flat=True))
        rows = rows.filter(owner_id__in=owners, body__in=bodies)
    lying = rows.order_by("owner_id", "body").values_list("owner__code", "body", "gross_mg")
    return {Account(owner, "store", body): mg for owner, body, mg in lying}
