"""The heats as they were weighed, for whoever learns yields and losses from them."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

from lemel.book import models, records
from lemel.book.loss_values import ChargedBody, HeatRecord
from lemel.errors import BadInput

__all__ = ["heat_records"]


def heat_records(alias: str, since: str = "", until: str = "9999") -> tuple[HeatRecord, ...]:
    """Every heat poured from `since` to before `until`, in the order of pouring.

    What was taken back by a reversal is left out. Weights are the book's own postings: what went
    into the pot, what lay on the balance afterwards, what stayed in the pot.
    """
    poured = models.Entry.objects.using(alias).filter(
        kind="melt_and_pour", made_at__gte=since, made_at__lt=until, entry__isnull=True
    )
    codes = dict(models.Party.objects.using(alias).values_list("key", "code"))
    heats = dict(models.Heat.objects.using(alias).values_list("pk", "owner_id"))
    return tuple(
        _record(alias, entry, codes, heats)
        for entry in poured.order_by("number")
        if entry.about in heats and "late" not in json.loads(entry.memo)
    )


def _record(
    alias: str, entry: Any, codes: Mapping[str, str], heats: Mapping[str, str]
) -> HeatRecord:
    facts = json.loads(entry.memo)
    out = _by_place(alias, entry.number)
    charged, elements, spilled = _into_the_pot(alias, entry.about, entry.number)
    return HeatRecord(
        heat=entry.about,
        plan=str(facts.get("plan", "")),
        owner=codes.get(heats[entry.about], ""),
        made_at=entry.made_at,
        by=codes.get(entry.by, ""),
        charged=tuple(_charged(alias, body, mg) for body, mg in sorted(charged.items()) if mg),
        element_ng=elements,
        poured_mg=out.get("store", 0) + out.get("piece", 0),
        hold_up_mg=out.get("hold_up", 0),
        loss_mg=out.get("loss", 0),
        spilled_mg=spilled,
        weighed=tuple(facts.get("weighed", ())),
    )


def _by_place(alias: str, number: int) -> dict[str, int]:
    found: dict[str, int] = {}
    rows = models.Posting.objects.using(alias).filter(entry_id=number)
    for place, mg in rows.values_list("account__place", "gross_mg"):
        found[place] = found.get(place, 0) + mg
    return found


def _into_the_pot(alias: str, heat: str, before: int) -> tuple[dict[str, int], dict[str, int], int]:
    """What each heap gave to the pot, all of it by element, and what was spilled on the way."""
    charged: dict[str, int] = {}
    elements: dict[str, int] = {}
    spilled = 0
    entries = models.Entry.objects.using(alias).filter(
        number__lt=before, about=heat, entry__isnull=True
    )
    for entry in entries.exclude(kind="reversal").order_by("number"):
        lines = list(_lines(alias, entry.number))
        if sum(mg for place, _, mg, _ in lines if place == "process") == 0:
            continue
        if entry.kind == "spill":
            spilled += sum(mg for place, _, mg, _ in lines if place == "loss")
        for place, body, mg, parts in lines:
            if place == "store":
                charged[body] = charged.get(body, 0) - mg
            elif place == "process":
                for element, ng in parts.items():
                    elements[element] = elements.get(element, 0) + ng
    return charged, {e: ng for e, ng in elements.items() if ng}, spilled


def _lines(alias: str, number: int) -> Iterator[tuple[str, str, int, dict[str, int]]]:
    rows = models.Posting.objects.using(alias).filter(entry_id=number)
    for pk, place, body, mg in rows.values_list(
        "pk", "account__place", "account__body", "gross_mg"
    ):
        parts = models.Part.objects.using(alias).filter(posting_id=pk)
        yield place, body, mg, dict(parts.values_list("element", "ng"))


def _charged(alias: str, body: str, mg: int) -> ChargedBody:
    try:
        record = records.record_of(alias, body)
    except BadInput:
        return ChargedBody(body, "", "", "", mg)
    kind = type(record).__name__.lower()
    form = str(getattr(record, "form", "bar" if kind == "bar" else ""))
    return ChargedBody(body, kind, form, str(getattr(record, "scrap_class", "")), mg)
