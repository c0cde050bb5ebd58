"""Who comes from whom: parents of every body, and origin by fine mass, frozen at the pour."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from lemel.book import again, ledger, models, records
from lemel.book.acts import Act
from lemel.book.flow import Planned
from lemel.book.holdings import body_of
from lemel.book.values import Account
from lemel.errors import BadInput
from lemel.values import Holding, Lot, Origin, Reading, from_plain

__all__ = [
    "CHARGES", "ancestors", "be_born", "come_out", "descendants", "heaps_of", "join",
    "new_reading_id", "origin_of", "parents_of", "relatives", "remelts_of",
]  # fmt: skip

#: Kinds of entry that bring metal from the store into a pot.
CHARGES = ("charge", "charge_more")

_PRECIOUS = ("Au", "Ag", "Pt", "Pd")
#: What a plan calls a thing that it makes, by the end of its id, and the form it has as scrap.
_FORMS = (("-feeder", "casting"), ("-end1", "offcut"), ("-scrap", "offcut"), ("-rest", "offcut"))


def join(act: Act, child: str, parents: Mapping[str, int]) -> None:
    """`child` is made of these (too), mg each."""
    parents = {parent: mg for parent, mg in sorted(parents.items()) if mg}
    rows = models.Kin.objects.using(act.alias)
    there = dict(rows.filter(child_id=child).values_list("parent_id", "gross_mg"))
    rows.bulk_create(
        models.Kin(child_id=child, parent_id=parent, gross_mg=mg)
        for parent, mg in parents.items()
        if parent not in there
    )
    anew = again.remade(act.alias).get(child)
    if anew is not None or set(there) & set(parents):
        known = dict(anew["parents"]) if anew is not None else there
        for parent, mg in parents.items():
            known[parent] = known.get(parent, 0) + mg
        again.parents_now(act, child, known)


def parents_of(alias: str, child: str) -> dict[str, int]:
    """What a body is made of now, mg by parent."""
    anew = again.remade(alias).get(child)
    if anew is not None:
        return dict(anew["parents"])
    rows = models.Kin.objects.using(alias).filter(child_id=child).order_by("id")
    return dict(rows.values_list("parent_id", "gross_mg"))


def origin_of(alias: str, body: str) -> Origin:
    """Shares of fine mass by origin class; for a heat those of what was charged."""
    text = models.Body.objects.using(alias).values_list("origin", flat=True).filter(pk=body).first()
    if text is None:
        raise BadInput("body", body, "a lot, bar or piece of this book", "Look it up.")
    anew = again.remade(alias).get(body, {})
    return from_plain(Origin, anew.get("origin") or json.loads(text))


def _origin_by_charge(alias: str, heat: str) -> Origin:
    """By the fine metal that was really charged; own rework brings its parents' with it."""
    charges = models.Entry.objects.using(alias).filter(
        kind__in=CHARGES, about=heat, entry__isnull=True
    )
    if not charges.exists():
        return origin_of(alias, heat)
    shares: dict[str, float] = {}
    fine = models.Part.objects.using(alias).filter(
        posting__entry__in=charges, posting__account__place="store", element__in=_PRECIOUS, ng__lt=0
    )
    for body, ng in fine.values_list("posting__account__body", "ng"):
        for name, part in origin_of(alias, body).shares:
            shares[name] = shares.get(name, 0.0) - ng * part
    return Origin.of(shares)


def come_out(
    act: Act, step: Planned, source: str, made: Sequence[tuple[Account, str, Holding]]
) -> tuple[str, ...]:
    """Bodies for what a step gave: bars, remnants and offcuts are lots again, pieces pieces."""
    alias, pouring = act.alias, step.kind == "melt_and_pour"
    origin = _origin_by_charge(alias, source) if pouring else origin_of(alias, source)
    remelts = remelts_of(alias, source) + (1 if pouring else 0)
    bodies = []
    for to, own, metal in made:
        if to.place not in ("store", "piece") or not metal.gross_mg:
            continue
        record: Any = {"id": own, "mass_mg": metal.gross_mg, "step": step.name}
        if to.place == "store":
            record = _as_lot(to, own, metal, step, origin, remelts)
        be_born(act, to, record, origin, {source: metal.gross_mg})
        if to.place == "store":
            records.enter_readings(alias, [_reading(alias, to.body, metal, step, source)])
        bodies.append(to.body)
    return tuple(bodies)


def be_born(act: Act, at: Account, record: Any, origin: Origin, parents: Mapping[str, int]) -> None:
    """A body that some act made, with its parents; suspect where one of them is.

    One whose act was undone before is made anew. Any other that is known is refused.
    """
    alias, kind = act.alias, "lot" if isinstance(record, Lot) else "piece"
    if again.is_dead(alias, at.body):
        again.make_anew(act, at.body, record, origin)
    elif records.is_known(alias, at.body):
        raise BadInput("id", at.body, "an id that is new", "Give it a name that the book lacks.")
    else:
        records.enter_body(alias, act.now, kind, at.body, at.owner, record, origin)
    join(act, at.body, parents)
    rows = models.Body.objects.using(alias)
    if rows.filter(pk__in=parents, suspect=True).exists():
        rows.filter(pk=at.body).update(suspect=True)


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


def _reading(alias: str, body: str, metal: Holding, step: Planned, source: str) -> Reading:
    """What the melt itself says of the bar, until an assay says more."""
    of = body_of(metal)
    main = of.main()
    return Reading(
        new_reading_id(alias, body), body, "own-melt-predicted", {main: of.share(main)},
        source=source if step.kind == "melt_and_pour" else step.about,
    )  # fmt: skip


def new_reading_id(alias: str, body: str) -> str:
    """An id for what is foretold of a body; counted where that was done before."""
    name = f"{body} predicted"
    count = models.Evidence.objects.using(alias).filter(about=body, id__startswith=name).count()
    return f"{name} {count + 1}" if count else name


def remelts_of(alias: str, source: str) -> int:
    """The most melts behind any of the metal; a heat's are those of its lots."""
    row = models.Body.objects.using(alias).filter(pk=source).first()
    if row is not None and row.kind == "heat":
        return max((remelts_of(alias, one) for one in parents_of(alias, source)), default=0)
    if row is None:
        return 0
    anew = again.remade(alias).get(source, {})
    return int((anew.get("record") or json.loads(row.record)).get("remelts", 0))


def ancestors(alias: str, body: str) -> dict[str, tuple[str, ...]]:
    """Every body that this one's metal comes from, and its own parents, nearest first."""
    return _walk(alias, body, "child_id")


def descendants(alias: str, body: str) -> dict[str, tuple[str, ...]]:
    """Every body that holds metal of this one, and its own children, nearest first."""
    return _walk(alias, body, "parent_id")


def _walk(alias: str, body: str, start: str) -> dict[str, tuple[str, ...]]:
    if not records.is_known(alias, body):
        raise BadInput("body", body, "a lot, bar or piece of this book", "Look it up.")
    anew = again.remade(alias)
    found: dict[str, tuple[str, ...]] = {}
    level = [body]
    while level:
        links = _links(alias, level, start, anew)
        found |= {one: tuple(there) for one, there in links.items()}
        level = sorted({there for all_there in links.values() for there in all_there} - set(found))
    return {one: there for one, there in found.items() if one != body or there}


def _links(
    alias: str, level: Sequence[str], start: str, anew: Mapping[str, Any]
) -> dict[str, list[str]]:
    """One generation; of a body that was undone or mended only what is said of it since."""
    links: dict[str, list[str]] = {one: [] for one in level}
    rows = models.Kin.objects.using(alias).filter(**{f"{start}__in": level}).order_by("id")
    for child, parent in rows.values_list("child_id", "parent_id"):
        if child in anew and parent not in anew[child]["parents"]:
            continue
        here, there = (child, parent) if start == "child_id" else (parent, child)
        links[here].append(there)
    return links


def relatives(alias: str, body: str) -> set[str]:
    """A body, its heats and everything that came of them: who shares a fault of the metal."""
    found = {body, *descendants(alias, body)}
    for one in ancestors(alias, body):
        if models.Body.objects.using(alias).filter(pk=one, kind="heat").exists():
            found |= {one, *descendants(alias, one)}
    return found


def heaps_of(alias: str, heat: str) -> dict[Account, Holding]:
    """What still lies in the house of a heat's own metal, as bars, remnants and pieces.

    Metal that went on into another heat, or was put together with other metal, is not among
    it: what is found of this heat does not say what that is.
    """
    bodies: set[str] = set()
    level = {heat}
    while level:
        below = {one for here in level for one in descendants(alias, here).get(here, ())}
        kinds = dict(
            models.Body.objects.using(alias).filter(pk__in=below).values_list("id", "kind")
        )
        level = {
            one
            for one in below - bodies
            if kinds[one] != "heat" and len(parents_of(alias, one)) == 1
        }
        bodies |= level
    held = {**ledger.balances(alias, place="store"), **ledger.balances(alias, place="piece")}
    return {account: metal for account, metal in held.items() if account.body in bodies}
