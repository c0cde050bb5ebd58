"""Steps after which nobody weighed: what is found off later is theirs, not the stock-take's."""

from __future__ import annotations

import json

from lemel.book import ledger, models
from lemel.book.acts import Act
from lemel.book.holdings import share
from lemel.book.values import Account, Line, Sealed

__all__ = ["run", "settle"]

_STEPS = ("melt_and_pour", "take", "part", "mill", "cut")


def run(alias: str, body: str) -> tuple[int, ...]:
    """Entries, the last one first, that led to this body without its being weighed."""
    found: list[int] = []
    seen = {body}
    while True:
        entry = _made_by(alias, body)
        if entry is None:
            return tuple(found)
        facts = json.loads(entry.memo)
        own = body.removeprefix(f"{facts.get('plan', '')}/")
        if own not in facts.get("unweighed", ()) or _weighed_since(alias, body, entry.number):
            return tuple(found)
        found.append(entry.number)
        body = entry.about
        if body in seen or entry.kind == "melt_and_pour":
            return tuple(found)
        seen.add(body)


def _made_by(alias: str, body: str) -> models.Entry | None:
    into = models.Posting.objects.using(alias).filter(
        account__body=body, account__place="store", gross_mg__gt=0, entry__kind__in=_STEPS,
        entry__entry__isnull=True,
    )  # fmt: skip
    row = into.select_related("entry").order_by("-entry_id").first()
    return None if row is None else row.entry


def _weighed_since(alias: str, body: str, number: int) -> bool:
    """Whether the body was brought to its real weight after that entry."""
    rows = models.Entry.objects.using(alias).filter(number__gt=number, about=body)
    return any(
        entry.kind == "stock_take" or "late" in json.loads(entry.memo)
        for entry in rows.filter(entry__isnull=True)
    )


def settle(act: Act, account: Account, real_mg: int, entries: tuple[int, ...]) -> Sealed | None:
    """What a body misses (or has too much) after unweighed steps, as the loss of the last one."""
    metal = ledger.held(act.alias, account)
    if metal.gross_mg == real_mg:
        return None
    _, difference = share(metal, [real_mg])
    rows = models.Entry.objects.using(act.alias)
    last = rows.get(number=entries[0])
    # One bar on the balance does not weigh the others of its pour.
    settled = rows.filter(pk__in=entries).exclude(kind="melt_and_pour").order_by("-number")
    lines = [
        Line(account, -difference),
        Line(Account(account.owner, "loss", last.kind), difference),
    ]
    numbers = list(settled.values_list("number", flat=True))
    return ledger.post(
        act.alias, act.now, last.kind, lines, about=account.body, by=act.by,
        memo=act.facts(
            plan=json.loads(last.memo).get("plan", ""), late=numbers,
            handled_mg=metal.gross_mg, loss_mg=difference.gross_mg, foreseen_mg=0, weighings=1,
            weighed=[account.body], unweighed=[],
        ),
    )  # fmt: skip
