"""A heat was not what the book said: its metal is followed wherever it went on to.

How much of a body is metal of the heat follows from its parents by mass; that part of it gets the
true composition, gross unchanged. What was assayed since stays as it was assayed. What lies in
heaps of many heats (lemel, slag, a pot's lining) or is out of the house cannot be told apart.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from lemel.book import heats, ledger, lineage, models, offers, records
from lemel.book.acts import Act
from lemel.book.faults import heat_behind
from lemel.book.holdings import body_of
from lemel.book.values import Account, Line
from lemel.values import Composition, Holding, Quantity, Saying, SayingValue

__all__ = ["follow"]

_BODIES = ("store", "piece", "process")
_MIXED = ("lemel_box", "hold_up", "slag", "sweeps", "refiner", "parcel", "outside", "scrap")


@dataclass(slots=True)
class _Way:
    """The metal of one heat among all that came of it."""

    act: Act
    heat: str
    came: frozenset[str]
    shares: dict[str, float] = field(default_factory=dict)

    def share(self, body: str) -> float:
        """The part of a body's mass that is metal of the heat."""
        if body == self.heat:
            return 1.0
        if body not in self.came:
            return 0.0
        if body not in self.shares:
            parents = lineage.parents_of(self.act.alias, body)
            total = sum(parents.values())
            mine = sum(mg * self.share(one) for one, mg in parents.items())
            self.shares[body] = mine / total if total else 0.0
        return self.shares[body]


def follow(
    act: Act, heat: str, was: Composition, truth: Composition, known: bool
) -> tuple[Saying, ...]:
    """Put right what of the heat went on into other metal; what could not be, and what to assay.

    The heat's own bars are not touched here. `known`: an assay of the heat had told the truth, so
    that nothing is changed by reckoning.
    """
    alias = act.alias
    way = _Way(act, heat, frozenset(lineage.descendants(alias, heat)) | _leaves(alias, heat))
    own = {account.body for account in lineage.heaps_of(alias, heat)}
    changes: dict[Account, Holding] = {}
    said: dict[tuple[str, str], Saying] = {}
    for account, metal in ledger.balances(alias).items():
        share = way.share(account.body)
        if account.place not in _BODIES or account.body in own | {heat} or share <= 0:
            continue
        behind = account.body if account.place == "process" else heat_behind(alias, account.body)
        change = _change(metal, share, was, truth)
        if _assayed(alias, behind):
            said[behind, ""] = Saying("book.next.as_assayed", {"body": behind, "heat": heat})
        elif known or any(ng < 0 for _, ng in (metal + change).element_ng):
            said[account.body, ""] = Saying(
                "book.next.not_followed", {"body": account.body, "heat": heat}
            )
        else:
            changes[account] = change
            values: dict[str, SayingValue] = {
                "body": account.body,
                "heat": heat,
                "share": Quantity(100 * share, "percent"),
            }
            said[account.body, ""] = Saying("book.next.followed", values)
    _write(act, heat, changes)
    return (*said.values(), *_mixed(alias, heat, way.came))


def _leaves(alias: str, heat: str) -> frozenset[str]:
    below = lineage.descendants(alias, heat).values()
    return frozenset(child for children in below for child in children)


def _change(metal: Holding, share: float, was: Composition, truth: Composition) -> Holding:
    mg = round(metal.gross_mg * share)
    return Holding.of(mg, truth) - Holding.of(mg, was)


def _assayed(alias: str, heat: str) -> bool:
    row = models.Heat.objects.using(alias).filter(pk=heat).first()
    if row is None:
        return False
    events = [what for _, what, _ in heats.events(alias, heat)]
    return row.state == "proven" or (row.state == "closed" and "proven" in events)


def _write(act: Act, heat: str, changes: Mapping[Account, Holding]) -> None:
    """One entry an owner, new predictions, and no promise for the other heats any more."""
    alias = act.alias
    for owner in sorted({account.owner for account in changes}):
        mine = {account: change for account, change in changes.items() if account.owner == owner}
        off = sum(mine.values(), Holding.nothing())
        lines = [Line(account, change) for account, change in mine.items()]
        lines.append(Line(Account(owner, "assay_difference", heat), -off))
        if any(line.holding.element_ng for line in lines):
            ledger.post(
                alias, act.now, "wrong_lot", lines, about=heat, by=act.by,
                memo=act.facts(followed=sorted(account.body for account in mine)),
            )  # fmt: skip
    others: dict[str, Composition] = {}
    for account in changes:
        body = body_of(ledger.held(alias, account))
        _foretell(alias, account.body, body)
        behind = account.body if account.place == "process" else heat_behind(alias, account.body)
        if behind and behind != heat:
            others[behind] = body
    for other, body in others.items():
        plan = str(heats.heat_of(alias, other).plan_id)
        offers.withdraw_promise(act, plan, other, body, "wrong_lot")
        heats.note(act, other, "wrong_lot_before", {"heat": heat})


def _foretell(alias: str, body: str, of: Composition) -> None:
    """What was foretold of a body, as it is foretold now."""
    old = models.Evidence.objects.using(alias).filter(
        about=body, id__startswith=f"{body} predicted", withdrawn=False
    )
    names = set(old.values_list("id", flat=True))
    for one in records.readings(alias, body):
        if one.id in names:
            main = of.main()
            name = lineage.new_reading_id(alias, body)
            new = replace(one, id=name, values={main: of.share(main)}, withdrawn=False)
            records.enter_readings(alias, [new])
    models.Evidence.objects.using(alias).filter(pk__in=names).update(withdrawn=True)


def _mixed(alias: str, heat: str, came: frozenset[str]) -> tuple[Saying, ...]:
    """Heaps of many heats, and what left the house, into which metal of the heat went."""
    rows = models.Posting.objects.using(alias).filter(
        entry__about__in=[heat, *came], entry__entry__isnull=True, gross_mg__gt=0,
        account__place__in=_MIXED,
    )  # fmt: skip
    found = sorted(set(rows.values_list("account__place", "account__body", "entry__memo")))
    heaps = {(place, body) for place, body, memo in found if "followed" not in json.loads(memo)}
    return tuple(
        Saying("book.next.not_told_apart", {"heap": f"{place.replace('_', ' ')}: {body}",
                                            "heat": heat})
        for place, body in sorted(heaps)
    )  # fmt: skip
