"""Who comes from whom: parents of every body, and origin by fine mass, frozen at the pour."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from lemel.book import ledger, models, records
from lemel.book.flow import Planned
from lemel.book.holdings import body_of
from lemel.book.values import Account
from lemel.errors import BadInput
from lemel.values import Holding, Lot, Origin, Reading, from_plain

__all__ = ["ancestors", "come_out", "descendants", "join", "mark_suspect", "origin_of"]

_PRECIOUS = ("Au", "Ag", "Pt", "Pd")
#: What a plan calls a thing that it makes, by the end of its id, and the form it has as scrap.
_FORMS = (("-feeder", "casting"), ("-end1", "offcut"), ("-scrap", "offcut"), ("-rest", "offcut"))


def join(alias: str, child: str, parents: Mapping[str, int]) -> None:
    """`child` is made of these, mg each."""
    models.Kin.objects.using(alias).bulk_create(
        models.Kin(child_id=child, parent_id=parent, gross_mg=mg)
        for parent, mg in sorted(parents.items())
        if mg
    )


def origin_of(alias: str, body: str) -> Origin:
    """Shares of fine mass by origin class; for a heat those of what was charged."""
    text = models.Body.objects.using(alias).values_list("origin", flat=True).filter(pk=body).first()
    if text is None:
        raise BadInput("body", body, "a lot, bar or piece of this book", "Look it up.")
    return from_plain(Origin, json.loads(text))


def _origin_by_charge(alias: str, heat: str) -> Origin:
    """By the fine metal that was really charged; own rework brings its parents' with it."""
    entry = models.Entry.objects.using(alias).filter(kind="charge", about=heat).first()
    if entry is None:
        return origin_of(alias, heat)
    shares: dict[str, float] = {}
    fine = models.Part.objects.using(alias).filter(
        posting__entry=entry, element__in=_PRECIOUS, ng__lt=0
    )
    for body, ng in fine.values_list("posting__account__body", "ng"):
        for name, part in origin_of(alias, body).shares:
            shares[name] = shares.get(name, 0.0) - ng * part
    return Origin.of(shares)


def come_out(
    alias: str,
    now: str,
    step: Planned,
    source: str,
    made: Sequence[tuple[Account, str, Holding]],
) -> tuple[str, ...]:
    """Bodies for what a step gave: bars, remnants and offcuts are lots again, pieces pieces."""
    pouring = step.kind == "melt_and_pour"
    origin = _origin_by_charge(alias, source) if pouring else origin_of(alias, source)
    remelts = _remelts(alias, source) + (1 if pouring else 0)
    suspect = models.Body.objects.using(alias).filter(pk=source, suspect=True).exists()
    bodies = []
    for to, own, metal in made:
        if to.place not in ("store", "piece") or not metal.gross_mg:
            continue
        record: Any = {"id": own, "mass_mg": metal.gross_mg, "step": step.name}
        kind = "piece"
        if to.place == "store":
            kind, record = "lot", _as_lot(to, own, metal, step, origin, remelts)
        records.enter_body(alias, now, kind, to.body, to.owner, record, origin)
        join(alias, to.body, {source: metal.gross_mg})
        if suspect:
            models.Body.objects.using(alias).filter(pk=to.body).update(suspect=True)
        if kind == "lot":
            records.enter_readings(alias, [_reading(to.body, metal, step, source)])
        bodies.append(to.body)
    return tuple(bodies)


def _as_lot(
    to: Account, own: str, metal: Holding, step: Planned, origin: Origin, remelts: int
) -> Lot:
    body = body_of(metal)
    form = next((form for tail, form in _FORMS if own.endswith(tail)), "bar")
    return Lot(
        id=to.body, owner=to.owner, main=body.main(), form=form, mass_g=metal.gross_mg / 1000,
        note=own, stated=body, remelts=remelts, origin=origin, parents=(step.about,),
        made_for="rolling",
    )  # fmt: skip


def _reading(body: str, metal: Holding, step: Planned, source: str) -> Reading:
    """What the melt itself says of the bar, until an assay says more."""
    of = body_of(metal)
    main = of.main()
    return Reading(
        f"{body} predicted", body, "own-melt-predicted", {main: of.share(main)},
        source=source if step.kind == "melt_and_pour" else step.about,
    )  # fmt: skip


def _remelts(alias: str, source: str) -> int:
    """The most melts behind any of the metal; a heat's are those of its lots."""
    row = models.Body.objects.using(alias).filter(pk=source).first()
    if row is not None and row.kind == "heat":
        parents = models.Kin.objects.using(alias).filter(child_id=source)
        behind = [_remelts(alias, one) for one in parents.values_list("parent_id", flat=True)]
        return max(behind, default=0)
    return int(json.loads(row.record).get("remelts", 0)) if row is not None else 0


def ancestors(alias: str, body: str) -> dict[str, tuple[str, ...]]:
    """Every body that this one's metal comes from, and its own parents, nearest first."""
    return _walk(alias, body, "child_id", "parent_id")


def descendants(alias: str, body: str) -> dict[str, tuple[str, ...]]:
    """Every body that holds metal of this one, and its own children, nearest first."""
    return _walk(alias, body, "parent_id", "child_id")


def _walk(alias: str, body: str, start: str, end: str) -> dict[str, tuple[str, ...]]:
    if not records.is_known(alias, body):
        raise BadInput("body", body, "a lot, bar or piece of this book", "Look it up.")
    found: dict[str, tuple[str, ...]] = {}
    level = [body]
    while level:
        links: dict[str, list[str]] = {one: [] for one in level}
        rows = models.Kin.objects.using(alias).filter(**{f"{start}__in": level})
        for here, there in rows.order_by("id").values_list(start, end):
            links[here].append(there)
        found |= {one: tuple(there) for one, there in links.items()}
        level = sorted({there for all_there in links.values() for there in all_there} - set(found))
    return {one: there for one, there in found.items() if one != body or there}


def mark_suspect(alias: str, body: str) -> tuple[str, ...]:
    """A body, its heat and everything that came from that heat, barred from plans from now on."""
    found = {body, *descendants(alias, body)}
    for one in ancestors(alias, body):
        if models.Body.objects.using(alias).filter(pk=one, kind="heat").exists():
            found |= {one, *descendants(alias, one)}
    models.Body.objects.using(alias).filter(pk__in=found).update(suspect=True)
    return tuple(sorted(found))


def heaps_of(alias: str, heat: str) -> dict[Account, Holding]:
    """What still lies in the house of a heat's metal, as bars, remnants and pieces."""
    bodies = set(descendants(alias, heat)) - {heat}
    held = {**ledger.balances(alias, place="store"), **ledger.balances(alias, place="piece")}
    return {account: metal for account, metal in held.items() if account.body in bodies}
