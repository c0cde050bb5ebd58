"""Loss by operation and person against its allowance, and the running sum that finds a leak."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import sqrt
from typing import Any

from lemel.book import models
from lemel.book.loss_values import FineLoss
from lemel.book.papers_spread import Spread
from lemel.book.rules import Allowance, allowance_mg, rule
from lemel.book.values import LossRow
from lemel.tables import shipped
from lemel.values import METALS

__all__ = ["OPERATIONS", "Lost", "grade_of", "leak_of", "losses", "steps_lost"]

#: Kinds of entry that may lose metal; their memo says what was handled and what was missed.
OPERATIONS = ("melt_and_pour", "take", "part", "mill", "cut")
#: What the published precedent speaks of.
_OF_THE_MINT = "melt_and_pour"


@dataclass(frozen=True, slots=True)
class Lost:
    """One step, or a run of unweighed steps with the weighing that ended it.

    `fine` by element: (handled, lost) ng; `sd_share` how well its share in what went in is known.
    `weighed` False: nothing was weighed after it, so it lost what was planned and says nothing.
    """

    operation: str
    by: str
    owner: str
    steps: int
    handled_mg: int
    loss_mg: int
    allowed: Allowance
    weighed: bool
    fine: Mapping[str, tuple[int, int]] = field(default_factory=dict)
    sd_share: Mapping[str, float] = field(default_factory=dict)

    @property
    def z(self) -> float:
        """How many sds the loss lies off its allowance."""
        return (self.loss_mg - self.allowed.mean_mg) / self.allowed.sd_mg

    def share(self, element: str) -> float:
        """The element's share in what was handled."""
        handled = self.fine.get(element, (0, 0))[0]
        return handled / (self.handled_mg * 1e6) if self.handled_mg else 0.0

    def allowed_ng(self, element: str) -> float:
        """What may be lost of an element."""
        return self.share(element) * self.allowed.mean_mg * 1e6

    def sd_ng(self, element: str) -> float:
        """sd^2 = (share x sd of the loss)^2 + (loss x sd of the share)^2."""
        weighing = self.share(element) * self.allowed.sd_mg
        fineness = self.loss_mg * self.sd_share.get(element, 0.0)
        return sqrt(weighing**2 + fineness**2) * 1e6


def losses(alias: str, since: str, until: str, by_person: bool = False) -> tuple[LossRow, ...]:
    """One row an operation (and a person): what it lost, what it may, how many sds off.

    A gain is an error too: the signs are not hidden. `grade` is fine, look (2 sd), stop (3 sd) or
    leak (the running sum of Page 1954 passed its limit, in either direction); unweighed where
    nothing was weighed after any step. Unweighed steps are counted apart and are in no sum.
    Reversed entries are left out.
    """
    groups: dict[tuple[int, str], list[Lost]] = {}
    for one in steps_lost(alias, since, until):
        key = (OPERATIONS.index(one.operation), one.by if by_person else "")
        groups.setdefault(key, []).append(one)
    return tuple(_row(OPERATIONS[n], by, steps) for (n, by), steps in sorted(groups.items()))


def steps_lost(alias: str, since: str, until: str) -> list[Lost]:
    """Every step of the period in order; a late weighing takes its unweighed steps with it."""
    rows = models.Entry.objects.using(alias).filter(
        kind__in=OPERATIONS, made_at__gte=since, made_at__lt=until, entry__isnull=True
    )
    entries = list(rows.order_by("number"))
    codes = dict(models.Party.objects.using(alias).values_list("key", "code"))
    spread = Spread(alias)
    found: dict[int, Lost] = {}
    for entry in entries:
        facts = json.loads(entry.memo)
        if "handled_mg" not in facts:
            continue
        lost = _step(alias, entry, facts, codes, spread)
        for number in facts.get("late", ()):
            before = found.pop(number, None)
            lost = lost if before is None else _joined(before, lost)
        found[entry.number] = lost
    return list(found.values())


def _step(
    alias: str, entry: Any, facts: Mapping[str, Any], codes: Mapping[str, str], spread: Spread
) -> Lost:
    late = "late" in facts
    # A late weighing handled nothing again: only what the balance may be off is its own.
    handled = 0 if late else facts["handled_mg"]
    allowed = allowance_mg(entry.kind, handled, facts["weighings"], facts["foreseen_mg"])
    source, fine, owner = _fine(alias, entry.number)
    shares = {element: spread.sd(source, element) for element in fine} if source else {}
    weighed = late or bool(facts.get("weighed", True))
    return Lost(
        entry.kind, codes.get(entry.by, ""), owner, 0 if late else 1, handled, facts["loss_mg"],
        allowed, weighed, {} if late else fine, shares,
    )  # fmt: skip


def _fine(alias: str, number: int) -> tuple[str, dict[str, tuple[int, int]], str]:
    """The heap that was worked, its precious metals (handled, lost) in ng, and whose it is."""
    handled: dict[str, int] = {}
    lost: dict[str, int] = {}
    source = owner = ""
    rows = models.Part.objects.using(alias).filter(posting__entry_id=number, element__in=METALS)
    for place, body, code, mg, element, ng in rows.values_list(
        "posting__account__place", "posting__account__body", "posting__account__owner__code",
        "posting__gross_mg", "element", "ng",
    ):  # fmt: skip
        owner = code
        if place == "loss":
            lost[element] = lost.get(element, 0) + ng
        elif mg < 0:
            source = body
            handled[element] = handled.get(element, 0) - ng
    return source, {e: (ng, lost.get(e, 0)) for e, ng in handled.items()}, owner


def _joined(before: Lost, late: Lost) -> Lost:
    """Unweighed steps and the weighing that ended them, as one: its person and operation."""
    mean = before.allowed.mean_mg + late.allowed.mean_mg
    sd = sqrt(before.allowed.sd_mg**2 + late.allowed.sd_mg**2)
    loss = before.loss_mg + late.loss_mg
    fine = {
        element: (handled, round(handled * loss / before.handled_mg) if before.handled_mg else 0)
        for element, (handled, _) in before.fine.items()
    }
    return Lost(
        late.operation, late.by or before.by, before.owner, before.steps + late.steps,
        max(before.handled_mg, late.handled_mg), loss, Allowance(mean, sd), True, fine,
        before.sd_share,
    )  # fmt: skip


def _row(operation: str, by: str, steps: list[Lost]) -> LossRow:
    weighed = [one for one in steps if one.weighed]
    unweighed = sum(one.steps for one in steps if not one.weighed)
    if not weighed:
        return LossRow(operation, 0, 0, 0, 0.0, 0.0, 0.0, 0.0, "unweighed", by, unweighed)
    loss, mean = sum(one.loss_mg for one in weighed), sum(one.allowed.mean_mg for one in weighed)
    sd = sqrt(sum(one.allowed.sd_mg**2 for one in weighed))
    z, leak = (loss - mean) / sd, leak_of(one.z for one in weighed)
    grade = grade_of(z)
    if grade != "stop" and abs(leak) > rule("leak_limit"):
        grade = "leak"
    return LossRow(
        operation, sum(one.steps for one in weighed), sum(one.handled_mg for one in weighed), loss,
        mean, sd, z, leak, grade, by, unweighed, _fine_losses(operation, weighed),
    )  # fmt: skip


def grade_of(z: float) -> str:
    """fine, look or stop by how many sds something is off, in either direction."""
    if abs(z) > rule("stop_z"):
        return "stop"
    return "look" if abs(z) > rule("look_z") else "fine"


def _fine_losses(operation: str, steps: list[Lost]) -> tuple[FineLoss, ...]:
    """The same for each precious metal, and beside it what a mint was once allowed."""
    found = []
    for element in METALS:
        own = [one for one in steps if one.fine.get(element, (0, 0))[0]]
        if not own:
            continue
        handled = sum(one.fine[element][0] for one in own)
        lost = sum(one.fine[element][1] for one in own)
        allowed = sum(one.allowed_ng(element) for one in own)
        sd = sqrt(sum(one.sd_ng(element) ** 2 for one in own))
        found.append(
            FineLoss(
                element, handled, lost, allowed, sd, (lost - allowed) / sd if sd else 0.0,
                1000 * lost / handled, _precedent(operation, element),
            )
        )  # fmt: skip
    return tuple(found)


def _precedent(operation: str, element: str) -> float | None:
    """What a published rule once allowed of a thousand parts that went through the furnace."""
    row = shipped().table("book_precedents").get(element)
    return row.number("permille") if row is not None and operation == _OF_THE_MINT else None


def leak_of(standardised: Iterable[float]) -> float:
    """The two-sided running sum at its furthest: positive for a loss, negative for a gain.

    S = max(0, S + z - slack), and the same with -z (Page 1954). Steps with z of 1 pass a
    limit of 5 after eleven of them:

    >>> leak_of([1.0] * 11)
    5.5
    """
    slack = rule("leak_slack")
    up = down = furthest_up = furthest_down = 0.0
    for z in standardised:
        up, down = max(0.0, up + z - slack), max(0.0, down - z - slack)
        furthest_up, furthest_down = max(furthest_up, up), max(furthest_down, down)
    return furthest_up if furthest_up >= furthest_down else -furthest_down
