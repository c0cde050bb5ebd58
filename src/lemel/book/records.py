"""Lots, readings and consents as they came in; none is edited, a wrong one is withdrawn."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from django.db.models import Q

from lemel.book import again, ledger, models, people, told
from lemel.book.chain import spelled
from lemel.book.values import Account, Line, Sealed
from lemel.errors import BadInput
from lemel.scrap import ScrapProblem, believe
from lemel.values import (
    Addition,
    Bar,
    Composition,
    Consent,
    Holding,
    Lot,
    Origin,
    Reading,
    from_plain,
    to_plain,
)

__all__ = [
    "KINDS", "at_hand", "body_in", "consents", "enter_body", "enter_consents", "enter_readings",
    "is_known", "readings", "record_of", "weigh_in", "withdraw",
]  # fmt: skip

#: What a body may be, and the type of its record.
KINDS: Mapping[str, type] = {"lot": Lot, "addition": Addition, "bar": Bar}
_OUTSIDE = "arrivals"
#: So many bodies are looked up one by one; for more the whole store is read.
_FEW = 500


def is_known(alias: str, body: str) -> bool:
    """Whether the book has such a lot, bar, addition, heat or piece."""
    return bool(models.Body.objects.using(alias).filter(pk=body).exists())


def enter_body(
    alias: str,
    now: str,
    kind: str,
    body: str,
    owner: str,
    record: Any,
    origin: Origin,
    *,
    apart: bool = False,
) -> None:
    """A new body with what is known of it. The same again is nothing new; another is refused.

    `apart`: its note is somebody's words, and is kept where it can be erased.
    """
    key = people.key_of(alias, owner)
    plain = to_plain(record)
    if isinstance(plain, dict) and "owner" in plain:
        plain["owner"] = key
    there = models.Body.objects.using(alias).filter(pk=body).first()
    if apart and plain.get("note") is not None:
        if there is None:
            told.keep(alias, now, told.BODY, body, owner, plain["note"])
        elif not _same_words(alias, body, there, plain["note"]):
            raise BadInput("id", body, "an id that is new", "Give it a name that the book lacks.")
        plain["note"] = json.loads(there.record).get("note", "") if there else ""
    text, shares = spelled(plain), spelled(to_plain(origin))
    if there is None:
        models.Body.objects.using(alias).create(
            id=body, kind=kind, owner_id=key, record=text, origin=shares, made_at=now
        )
    elif (there.kind, there.record) != (kind, text):
        raise BadInput("id", body, "an id that is new", "Give it a name that the book lacks.")


def _same_words(alias: str, body: str, there: Any, note: str) -> bool:
    """Whether a body was told of in these words; what was erased is not asked for again."""
    kept = told.told(alias, told.BODY, [body])
    if body in kept:
        return kept[body] in ("", note)
    return bool(json.loads(there.record).get("note", "") == note)


def record_of(alias: str, body: str) -> Any:
    """A body as it came to be: a Lot, Addition or Bar; plain data for a heat or piece."""
    row = models.Body.objects.using(alias).filter(pk=body).select_related("owner").first()
    if row is None:
        raise BadInput("body", body, "a lot, bar or piece of this book", "Look it up.")
    return body_in(row, again.remade(alias), told.told(alias, told.BODY, [body]))


def body_in(row: Any, anew: Mapping[str, Mapping[str, Any]], words: Mapping[str, str]) -> Any:
    """The value in a body's row; `anew` is what `again.remade` says, `words` what `told` does."""
    plain = anew.get(row.id, {}).get("record") or json.loads(row.record)
    if isinstance(plain, dict) and row.kind in KINDS:
        plain = {**plain, "owner": row.owner.code}
        if words.get(row.id):
            plain["note"] = words[row.id]
    return from_plain(KINDS[row.kind], plain) if row.kind in KINDS else plain


def enter_readings(alias: str, found: Iterable[Reading]) -> None:
    """Readings as they were taken. The same again is nothing new; another is refused."""
    for reading in found:
        plain = {**to_plain(reading), "by": people.person_key(alias, reading.by)}
        _enter(alias, models.Evidence, reading.id, plain, about=reading.on)


def enter_consents(alias: str, now: str, given: Iterable[Consent]) -> None:
    """Consents as they were given; their owners must be known. Where it is written lies apart."""
    for consent in given:
        key = people.key_of(alias, consent.owner)
        plain = {**to_plain(consent), "owner": key}
        there = models.Permission.objects.using(alias).filter(pk=consent.id).first()
        if there is None or json.loads(there.record)["document"] is None:
            kept = told.told(alias, told.CONSENT, [consent.id])
            plain["document"] = None
            said = consent.document or ""
            if there is not None and kept.get(consent.id, "") not in ("", said):
                plain["document"] = said
            elif there is None:
                told.keep(alias, now, told.CONSENT, consent.id, consent.owner, said)
        _enter(alias, models.Permission, consent.id, plain, owner_id=key)


def _enter(alias: str, model: Any, name: str, plain: Any, **more: str) -> None:
    text = spelled(plain)
    there = model.objects.using(alias).filter(pk=name).first()
    if there is None:
        model.objects.using(alias).create(id=name, record=text, **more)
    elif there.record != text:
        raise BadInput("id", name, "an id that is new", "Withdraw the old one and give it a name.")


def readings(alias: str, about: str | Sequence[str] | None = None) -> tuple[Reading, ...]:
    """All readings, or those on one body or some; the withdrawn ones are marked so."""
    rows = models.Evidence.objects.using(alias).order_by("id")
    if about is not None:
        rows = rows.filter(about__in=[about] if isinstance(about, str) else about)
    people_by_key = dict(models.Party.objects.using(alias).values_list("key", "code"))
    found = []
    for text, withdrawn in rows.values_list("record", "withdrawn"):
        reading = from_plain(Reading, json.loads(text))
        by = people_by_key.get(reading.by, "")
        found.append(replace(reading, by=by, withdrawn=withdrawn or reading.withdrawn))
    return tuple(found)


def consents(alias: str) -> dict[str, Consent]:
    """Consents that hold, by id."""
    rows = models.Permission.objects.using(alias).filter(withdrawn=False).select_related("owner")
    words = told.told(alias, told.CONSENT)
    found = {}
    for row in rows:
        plain = {**json.loads(row.record), "owner": row.owner.code}
        plain["document"] = plain["document"] or words.get(row.id) or None
        found[row.id] = from_plain(Consent, plain)
    return found


def withdraw(alias: str, name: str) -> None:
    """Take back a lot that holds nothing more, a reading or a consent; it stays to be seen."""
    for model in (models.Evidence, models.Permission, models.Body):
        if model is models.Body and any(
            h.gross_mg for h in ledger.balances(alias, body=name).values()
        ):
            raise BadInput(
                "id", name, "a body that holds nothing",
                "Reverse the entry that brought it in, then withdraw it.",
            )  # fmt: skip
        if model.objects.using(alias).filter(pk=name).update(withdrawn=True):
            return
    raise BadInput("id", name, "a lot, reading or consent of this book", "Look it up.")


def weigh_in(
    alias: str,
    now: str,
    lots: Sequence[Lot],
    found: Sequence[Reading],
    additions: Sequence[Addition],
    bars: Sequence[Bar],
    compositions: Mapping[str, Composition],
    by: str,
) -> tuple[Sealed, ...]:
    """One entry a lot, addition or bar, from outside into the store, by the belief of this hour."""
    enter_readings(alias, found)
    believed = {**_believed(lots, found), **compositions}
    arrivals: list[tuple[str, Any, str, float, Composition, Origin]] = [
        ("lot", lot, lot.owner, lot.mass_g, believed[lot.id], lot.origin) for lot in lots
    ]
    arrivals += [
        ("addition", one, one.owner, one.stock_g or 0.0, one.composition, one.origin)
        for one in additions
    ]
    arrivals += [("bar", bar, bar.owner, bar.mass_g, bar.body, bar.origin) for bar in bars]
    sealed = []
    for kind, record, owner, mass_g, body, origin in arrivals:
        enter_body(alias, now, kind, record.id, owner, record, origin, apart=True)
        metal = Holding.of(round(mass_g * 1000), body)
        if metal.gross_mg:
            lines = [
                Line(Account(owner, "outside", _OUTSIDE), -metal),
                Line(Account(owner, "store", record.id), metal),
            ]
            key = f"weigh_in {record.id}"
            sealed.append(
                ledger.post(alias, now, "weigh_in", lines, key=key, about=record.id, by=by)
            )
    return tuple(sealed)


def _believed(lots: Sequence[Lot], found: Sequence[Reading]) -> dict[str, Composition]:
    """What each lot is believed to be, one batch a metal."""
    means: dict[str, Composition] = {}
    for main in sorted({lot.main for lot in lots}):
        of_metal = tuple(lot for lot in lots if lot.main == main)
        ids = {lot.id for lot in of_metal}
        own = tuple(one for one in found if one.on in ids)
        beliefs = believe(ScrapProblem(of_metal, own)).beliefs
        means |= dict(zip(beliefs.bodies, beliefs.mean, strict=True))
    return means


def at_hand(alias: str, kind: str, only: Q | None = None) -> tuple[Any, ...]:
    """Lots, bars or additions that hold metal in the store now, with the mass they hold.

    `only`: those bodies alone that the database finds by it; a large book is not read for few.
    """
    rows = (
        models.Body.objects.using(alias)
        .filter(kind=kind, withdrawn=False)
        .select_related("owner")
        .order_by("id")
    )
    found = list(rows if only is None else rows.filter(only))
    names = [row.id for row in found]
    held = _in_store(alias, names)
    few = len(names) <= _FEW
    anew = again.remade(alias)
    words = told.told(alias, told.BODY, names) if few else told.told(alias, told.BODY)
    field = "stock_g" if kind == "addition" else "mass_g"
    return tuple(
        replace(body_in(row, anew, words), **{field: held[row.owner_id, row.id] / 1000})
        for row in found
        if held.get((row.owner_id, row.id), 0) > 0
    )


def _in_store(alias: str, bodies: Sequence[str]) -> dict[tuple[str, str], int]:
    """mg by owner's key and body; for few bodies the database looks for them alone."""
    rows = models.Account.objects.using(alias).filter(place="store")
    if len(bodies) <= _FEW:
        # With the owners beside them the index over owner, place and body finds each at once.
        owners = list(models.Party.objects.using(alias).values_list("key", flat=True))
        rows = rows.filter(owner_id__in=owners, body__in=bodies)
    return {
        (owner, body): mg for owner, body, mg in rows.values_list("owner_id", "body", "gross_mg")
    }
