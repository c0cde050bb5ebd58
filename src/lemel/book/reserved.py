"""What is promised to a step: spent, let go, promised anew."""

from __future__ import annotations

from collections.abc import Mapping

from lemel.book import ledger, models
from lemel.book.values import Account
from lemel.errors import BadInput

__all__ = ["free_mg", "let_go", "must_be_free", "promised", "release", "restore", "spend"]


def release(alias: str, step: int) -> None:
    """Nothing is kept for this step any more."""
    rows = models.Reservation.objects.using(alias).filter(step_id=step, released=False)
    rows.update(released=True)


def spend(alias: str, step: int, amounts: Mapping[str, int]) -> None:
    """The step takes so many mg of these bodies now; the rest of what it was promised stays."""
    rows = models.Reservation.objects.using(alias).filter(
        step_id=step, released=False, account__body__in=list(amounts)
    )
    for row in rows.select_related("account").order_by("pk"):
        models.Reservation.objects.using(alias).filter(pk=row.pk).update(released=True)
        left = row.gross_mg - amounts[row.account.body]
        if left > 0:
            _promise(alias, step, row.account_id, left)


def restore(alias: str, step: int) -> None:
    """What the step had reserved when its plan was accepted, as far as it is there and free."""
    release(alias, step)
    first: dict[int, int] = {}
    for account, mg in (
        models.Reservation.objects.using(alias)
        .filter(step_id=step)
        .order_by("pk")
        .values_list("account_id", "gross_mg")
    ):
        first.setdefault(account, mg)
    for account, mg in first.items():
        left = min(mg, _free(alias, account))
        if left > 0:
            _promise(alias, step, account, left)


def _promise(alias: str, step: int, account: int, mg: int) -> None:
    models.Reservation.objects.using(alias).create(step_id=step, account_id=account, gross_mg=mg)


def _free(alias: str, account: int) -> int:
    row = models.Account.objects.using(alias).get(pk=account)
    kept = models.Reservation.objects.using(alias).filter(account_id=account, released=False)
    return int(row.gross_mg - sum(kept.values_list("gross_mg", flat=True)))


def free_mg(alias: str, account: Account) -> int:
    """What of a heap is promised to nobody."""
    kept = sum(mg for _, _, mg in promised(alias, account))
    return ledger.held(alias, account).gross_mg - kept


def must_be_free(alias: str, account: Account, mg: int, do: str) -> None:
    """Raise BadInput that names the steps for which this metal is kept."""
    free = free_mg(alias, account)
    if mg > free:
        steps = ", ".join(f"{plan}: {step}" for plan, step, _ in promised(alias, account))
        raise BadInput(
            account.body, mg / 1000, f"at most {max(0, free) / 1000:g} g, promised to nobody",
            f"It is kept for {steps}. {do}",
        )  # fmt: skip


def promised(alias: str, account: Account) -> tuple[tuple[str, str, int], ...]:
    """Plan, step and mg for which a heap is promised."""
    rows = models.Reservation.objects.using(alias).filter(
        released=False, account__owner__code=account.owner, account__place=account.place,
        account__body=account.body,
    )  # fmt: skip
    return tuple(rows.order_by("pk").values_list("step__plan_id", "step__name", "gross_mg"))


def let_go(alias: str, account: Account, mg: int) -> tuple[str, ...]:
    """Make so many mg of a heap free, the latest promise first; the steps that now lack metal."""
    lacking = []
    rows = models.Reservation.objects.using(alias).filter(
        released=False, account__owner__code=account.owner, account__place=account.place,
        account__body=account.body,
    )  # fmt: skip
    for row in list(rows.select_related("step").order_by("-pk")):
        short = mg - free_mg(alias, account)
        if short <= 0:
            break
        models.Reservation.objects.using(alias).filter(pk=row.pk).update(released=True)
        if row.gross_mg > short:
            _promise(alias, row.step_id, row.account_id, row.gross_mg - short)
        lacking.append(f"{row.step.plan_id}: {row.step.name}")
    return tuple(lacking)
