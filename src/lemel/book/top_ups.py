"""Another owner's metal on its way into a heat: it becomes its owner's first, by a consent."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lemel.book import bought, consents, ledger, models, reserved
from lemel.book.acts import Act
from lemel.book.again import attempt
from lemel.book.flow import Planned, planned_step
from lemel.book.holdings import share
from lemel.book.values import Account, Line
from lemel.errors import BadInput
from lemel.values import Holding

__all__ = ["enough", "top_up"]


def top_up(act: Act, step: Planned, amounts: Mapping[str, int], consent: str) -> None:
    """Metal of another owner that goes into this heat becomes its owner's first, by consent.

    The planned top-up has its consent from the plan; any other needs one that is told.
    """
    alias, heat = act.alias, step.about.removeprefix(f"{step.plan}/")
    row = models.Step.objects.using(alias).filter(plan_id=step.plan, name=f"{heat} top-up").first()
    topping = planned_step(alias, step.plan, row.name) if row is not None else None
    planned = {a.body: a for a, _ in topping.takes} if topping is not None else {}
    moves: dict[str, list[tuple[Account, int]]] = {}
    for body, mg in amounts.items():
        own = ledger.held(alias, Account(step.owner, "store", body)).gross_mg
        if body in planned and topping is not None:
            moves.setdefault(consent or topping.consent, []).append((planned[body], mg))
        elif own < mg and (other := _other_owner(alias, step.owner, body, mg)) is not None:
            moves.setdefault(consent, []).append((other, mg))
    if topping is not None:
        reserved.spend(alias, topping.row, amounts)
    about = {heat, step.about, *(a.body for a, _ in step.takes), *amounts}
    for by_consent, from_there in moves.items():
        _by_consent(act, step, by_consent, from_there, about)
    if topping is not None and moves and not topping.done:
        sealed = attempt(alias, f"top_up {step.about}")[1]
        if sealed is not None:
            models.Step.objects.using(alias).filter(pk=topping.row).update(entry_id=sealed.number)


def _by_consent(
    act: Act, step: Planned, consent: str, moves: Sequence[tuple[Account, int]], about: set[str]
) -> None:
    alias = act.alias
    total = sum(mg for _, mg in moves)
    givers = {f"mix_with:{account.owner}" for account, _ in moves}
    consents.allow(alias, consent, step.owner, total, about, {"top_up", *givers})
    lines: list[Line] = []
    for account, mg in moves:
        [metal], _ = share(enough(act, account, mg), [mg])
        own = Account(step.owner, account.place, account.body)
        lines += [Line(account, -metal), Line(own, metal)]
    n = models.Entry.objects.using(alias).filter(kind="top_up", about=step.about).count() + 1
    key = f"top_up {step.about}" if n == 1 else f"top_up {step.about} ({n})"
    ledger.post(
        alias, act.now, "top_up", lines, key=key, about=step.about, by=act.by, consent=consent,
        memo=act.facts(plan=step.plan),
    )  # fmt: skip


def _other_owner(alias: str, owner: str, body: str, mg: int) -> Account | None:
    """The other owner's heap of that name that is large enough."""
    for account, metal in ledger.balances(alias, place="store", body=body).items():
        if account.owner != owner and metal.gross_mg >= mg:
            return account
    return None


def enough(act: Act, account: Account, mg: int) -> Holding:
    """What the heap holds, what may be bought for it brought in; BadInput where that is less."""
    bought.bring(act, account, mg)
    metal = ledger.held(act.alias, account)
    if mg > metal.gross_mg:
        raise BadInput(
            f"taken.{account.body}", mg / 1000, f"at most {metal.gross_mg / 1000:g} g",
            "Weigh the bag, and answer for the difference.",
        )  # fmt: skip
    return metal
