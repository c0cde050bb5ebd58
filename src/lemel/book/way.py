"""Where the metal lies along its way, and what fell from it: sums of the accounts, no more."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db.models import Count, Sum

from lemel.book import filing, models

if TYPE_CHECKING:
    from lemel.book.shop import Book

__all__ = ["BESIDE", "REACHES", "Lying", "lying"]

#: The reaches in the order of the work.
REACHES = ("scrap", "heats", "ingots", "stock", "pieces")
#: What lies beside the way, by place: the reach that it fell from or waits at. A supply is
#: clean metal that was bought to be added; it is on the way once it is in a pot.
BESIDE = {
    "supply": "scrap",
    "hold_up": "heats",
    "slag": "heats",
    "lemel_box": "pieces",
    "sweeps": "pieces",
    "refiner": "scrap",
    "parcel": "pieces",
}
_ON_THE_WAY = {"store": "scrap", "scrap": "scrap", "process": "heats", "piece": "pieces"}
#: The reach that a step loses metal at.
_LOST_AT = {"melt_and_pour": "heats", "mill": "stock", "part": "stock", "take": "stock"}
#: Forms in which metal that was worked is worked on; what else comes of a bar is scrap again.
_WORKED = ("bar", "sheet", "wire")
#: How plans name what is left of stock after cutting.
_REMNANT = "-rest"


@dataclass(frozen=True, slots=True)
class Lying:
    """So many mg of an owner at a reach, in so many heaps.

    `beside` "" is metal on the way itself; else the place that it fell to, or "loss".
    """

    reach: str
    owner: str
    gross_mg: int
    parts: int
    beside: str = ""


def lying(book: Book) -> tuple[Lying, ...]:
    """Every gram in the house and every gram lost, once.

    The sum over all is what came in from outside, with assay differences and stock-takes: the
    accounts that may go below nothing, turned round, without the loss.
    """
    alias = book.alias
    heaps = models.Account.objects.using(alias).exclude(gross_mg=0)
    sums: dict[tuple[str, str, str], tuple[int, int]] = {}
    whole = heaps.values_list("owner__code", "place").annotate(Sum("gross_mg"), Count("pk"))
    for owner, place, mg, parts in whole.order_by():
        if place in _ON_THE_WAY:
            _add(sums, (_ON_THE_WAY[place], owner, ""), mg, parts)
        elif place in BESIDE:
            _add(sums, (BESIDE[place], owner, place), mg, parts)
    lost = heaps.filter(place="loss").values_list("owner__code", "body").annotate(Sum("gross_mg"))
    for owner, step, mg in lost.order_by():
        _add(sums, (_LOST_AT.get(step, "pieces"), owner, "loss"), mg, 1)
    supplies = models.Body.objects.using(alias).filter(kind="addition")
    for owner, _, mg in _in_store(alias, supplies.values_list("pk", flat=True)):
        _add(sums, ("scrap", owner, ""), -mg, -1)
        _add(sums, ("scrap", owner, "supply"), mg, 1)
    for reach, owner, mg in _worked(alias):
        _add(sums, ("scrap", owner, ""), -mg, -1)
        _add(sums, (reach, owner, ""), mg, 1)
    return tuple(
        Lying(reach, owner, mg, parts, beside)
        for (reach, owner, beside), (mg, parts) in sorted(sums.items())
        if mg
    )


def _add(
    sums: dict[tuple[str, str, str], tuple[int, int]],
    at: tuple[str, str, str],
    mg: int,
    parts: int,
) -> None:
    before = sums.get(at, (0, 0))
    sums[at] = (before[0] + mg, before[1] + parts)


def _worked(alias: str) -> Iterator[tuple[str, str, int]]:
    """Heaps of the store that are no scrap: ingots as they were poured, and stock."""
    bodies, kin = models.Body.objects.using(alias), models.Kin.objects.using(alias)
    to_melt = {
        name for name, one in filing.all_of(alias, "place").items() if one.record.get("melt")
    }
    poured = set(kin.filter(parent__kind="heat").values_list("child_id", flat=True))
    made = bodies.filter(kind="lot", pk__in=kin.values("child_id"))
    worked = {body for body, text in made.values_list("pk", "record") if _is_worked(text)}
    weighed_in = set(bodies.filter(kind="bar").values_list("pk", flat=True))
    for owner, body, mg in _in_store(alias, (worked | weighed_in) - to_melt):
        yield ("ingots" if body in poured else "stock"), owner, mg


def _is_worked(record: str) -> bool:
    lot: dict[str, Any] = json.loads(record)
    return lot.get("form") in _WORKED or str(lot.get("id", "")).endswith(_REMNANT)


def _in_store(alias: str, bodies: Iterable[str]) -> Iterator[tuple[str, str, int]]:
    """Owner, body and mg; asked in handfuls, since a database takes so many names at once."""
    names, handful = sorted(bodies), 400
    for start in range(0, len(names), handful):
        rows = models.Account.objects.using(alias).filter(
            place="store", gross_mg__gt=0, body__in=names[start : start + handful]
        )
        yield from rows.values_list("owner__code", "body", "gross_mg")
