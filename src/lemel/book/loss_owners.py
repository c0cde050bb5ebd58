"""What each owner misses over a period, by element, wherever it was noticed, and its limits."""

from __future__ import annotations

import json
from math import sqrt
from typing import Any

from lemel.book import models, papers_refiner
from lemel.book.loss_values import OwnerLoss
from lemel.book.losses import OPERATIONS, grade_of, steps_lost
from lemel.book.papers_spread import Spread, method_sd
from lemel.book.records import readings
from lemel.book.rules import rule
from lemel.values import METALS

__all__ = ["unaccounted"]

_PLACES = ("loss", "stock_take", "assay_difference")


def unaccounted(alias: str, since: str, until: str) -> tuple[OwnerLoss, ...]:
    """U = lost in steps + stock-take + assay differences, by owner and element.

    allowed = the steps' allowances in fine metal.
    sd^2    = the steps' + for each heap counted 2 w^2 share^2 (w one weighing)
              + for each assay mass^2 x (sd of the belief before it^2 + sd of the assay^2)

    |U - allowed| beyond 2 sd is looked into, beyond 3 work stops; a gain counts like a loss.
    """
    found: dict[tuple[str, str], dict[str, float]] = {}

    def add(owner: str, element: str, what: str, amount: float) -> None:
        sums = found.setdefault((owner, element), {})
        sums[what] = sums.get(what, 0.0) + amount

    for lost in steps_lost(alias, since, until):
        for element in lost.fine:
            add(lost.owner, element, "allowed", lost.allowed_ng(element))
            add(lost.owner, element, "variance", lost.sd_ng(element) ** 2)
    spread = _Before(alias)
    for entry, owner, place, body, element, ng in _missed(alias, since, until):
        what = place
        if place == "loss" and entry.kind not in OPERATIONS:
            what = "told"
        add(owner, element, what, ng)
        if place == "stock_take":
            add(owner, element, "variance", _counted(ng, entry, alias) ** 2)
        elif place == "assay_difference":
            add(owner, element, "variance", spread.assay_sd_ng(entry, body, owner, element) ** 2)
    order = sorted(found, key=lambda one: (one[0], METALS.index(one[1])))
    return tuple(_row(owner, element, found[owner, element]) for owner, element in order)


def _row(owner: str, element: str, sums: dict[str, float]) -> OwnerLoss:
    steps, counted, assayed = (round(sums.get(place, 0)) for place in _PLACES)
    allowed, sd = sums.get("allowed", 0.0), sqrt(sums.get("variance", 0.0))
    off = steps + counted + assayed - allowed
    z = off / sd if sd else 0.0
    return OwnerLoss(
        owner, element, steps, counted, assayed, round(sums.get("told", 0)), allowed, sd, z,
        grade_of(z),
    )  # fmt: skip


def _missed(alias: str, since: str, until: str) -> list[tuple[Any, str, str, str, str, int]]:
    """Every posting to a place where metal is missed, by element."""
    rows = models.Part.objects.using(alias).filter(
        posting__entry__made_at__gte=since, posting__entry__made_at__lt=until,
        posting__entry__entry__isnull=True, posting__account__place__in=_PLACES,
        element__in=METALS,
    ).exclude(posting__entry__kind="reversal")  # fmt: skip
    rows = rows.select_related("posting__entry", "posting__account__owner").order_by("id")
    return [
        (one.posting.entry, one.posting.account.owner.code, one.posting.account.place,
         one.posting.account.body, one.element, one.ng)
        for one in rows
    ]  # fmt: skip


def _one_weighing_ng() -> float:
    return sqrt(rule("weighing_step_g") ** 2 / 12 + rule("weighing_sd_g") ** 2) * 1e9


def _counted(ng: int, entry: Any, alias: str) -> float:
    """The spread of a counted heap's difference: the weighing that put it there, and this one."""
    gross = sum(
        models.Posting.objects.using(alias)
        .filter(entry=entry, account__place="stock_take")
        .values_list("gross_mg", flat=True)
    )
    share = abs(ng) / (abs(gross) * 1e6) if gross else 0.0
    return sqrt(2) * _one_weighing_ng() * share


class _Before:
    """The beliefs as they were before the heats were assayed, and the assays' own spread."""

    def __init__(self, alias: str) -> None:
        self._alias = alias
        self._spread = Spread(alias, assays=False)
        self._readings = {one.id: one for one in readings(alias)}
        self._parcels = {one.number: one for one in papers_refiner.all_parcels(alias)}

    def assay_sd_ng(self, entry: Any, body: str, owner: str, element: str) -> float:
        """What an assay may differ from the belief, for all the metal that it was booked on."""
        parcel = self._parcels.get(body)
        if parcel is not None:
            lot = next((one for one in parcel.estimate if one.owner == owner), None)
            return 0.0 if lot is None else float(lot.sd_ng.get(element, 0))
        reading = self._readings.get(json.loads(entry.memo).get("reading", ""))
        own, common = method_sd(reading) if reading is not None else (0.0, 0.0)
        believed = self._spread.sd(body, element)
        return self._mass_mg(body) * 1e6 * sqrt(believed**2 + own**2 + common**2)

    def _mass_mg(self, heat: str) -> int:
        """What came out of a heat: its assay speaks for all of it that is in the house."""
        rows = models.Kin.objects.using(self._alias).filter(parent_id=heat)
        return sum(rows.values_list("gross_mg", flat=True))
