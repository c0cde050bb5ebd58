"""Loss by operation against its allowance, and the running sum that finds a slow leak."""

from __future__ import annotations

import json
from collections.abc import Iterable
from math import sqrt
from typing import NamedTuple

from lemel.book import models
from lemel.book.rules import Allowance, allowance_mg, rule
from lemel.book.values import LossRow

__all__ = ["leak_of", "losses"]

#: Kinds of entry that may lose metal; their memo says what was handled and what was missed.
OPERATIONS = ("melt_and_pour", "take", "part", "mill", "cut")


class _Lost(NamedTuple):
    """One step: what it handled, what was missed after it, what it may lose."""

    handled_mg: int
    loss_mg: int
    allowed: Allowance


def losses(alias: str, since: str, until: str) -> tuple[LossRow, ...]:
    """One row an operation: what it lost, what it may, how many sds off, and the running sum.

    A gain is an error too: the signs are not hidden. `grade` is fine, look (2 sd), stop
    (3 sd) or leak (the running sum of Page 1954 passed its limit, in either direction).
    Reversed entries are left out.
    """
    rows = models.Entry.objects.using(alias).filter(
        kind__in=OPERATIONS, made_at__gte=since, made_at__lt=until, entry__isnull=True
    )
    by_kind: dict[str, list[_Lost]] = {}
    for kind, memo in rows.order_by("number").values_list("kind", "memo"):
        facts = json.loads(memo)
        by_kind.setdefault(kind, []).append(
            _Lost(
                facts["handled_mg"],
                facts["loss_mg"],
                allowance_mg(kind, facts["handled_mg"], facts["weighings"], facts["foreseen_mg"]),
            )
        )
    return tuple(_row(kind, by_kind[kind]) for kind in OPERATIONS if kind in by_kind)


def _row(kind: str, steps: list[_Lost]) -> LossRow:
    loss, mean = sum(one.loss_mg for one in steps), sum(one.allowed.mean_mg for one in steps)
    sd = sqrt(sum(one.allowed.sd_mg**2 for one in steps))
    z = (loss - mean) / sd
    leak = leak_of((one.loss_mg - one.allowed.mean_mg) / one.allowed.sd_mg for one in steps)
    grade = "fine"
    if abs(z) > rule("stop_z"):
        grade = "stop"
    elif abs(leak) > rule("leak_limit"):
        grade = "leak"
    elif abs(z) > rule("look_z"):
        grade = "look"
    handled = sum(one.handled_mg for one in steps)
    return LossRow(kind, len(steps), handled, loss, mean, sd, z, leak, grade)


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
