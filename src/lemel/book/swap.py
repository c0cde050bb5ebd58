"""Out of the book and in again: one open JSON text, from which an identical book is made."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from django.db import IntegrityError, transaction
from django.db import models as orm

from lemel.book import ledger, models
from lemel.book.audit import audit
from lemel.book.values import Audit
from lemel.errors import BadInput

__all__ = ["FORMAT", "read_in", "written_out"]

FORMAT = "lemel-book 1"
#: In an order in which each row finds what it points at. The ledger comes in its own order.
_BEFORE = (models.Party, models.Account)
_AFTER = (
    models.Body, models.Kin, models.Evidence, models.Permission, models.Purchase, models.Kept,
    models.Step, models.Reservation, models.Heat, models.HeatEvent, models.Filed,
)  # fmt: skip
#: Tables that earlier files lack; there were no such records then.
_SINCE_THEN = {"filed"}
#: Kept by the database itself, so not written out.
_KEPT_TOTALS = {("account", "gross_mg")}


def written_out(alias: str) -> dict[str, Any]:
    """Everything in the book but its totals, which follow from the entries."""
    tables = {_name(model): list(_rows(alias, model)) for model in (*_BEFORE, *_AFTER)}
    entries = []
    lines: dict[int, list[Any]] = {}
    parts: dict[int, dict[str, int]] = {}
    for posting, element, ng in (
        models.Part.objects.using(alias).order_by("id").values_list("posting_id", "element", "ng")
    ):
        parts.setdefault(posting, {})[element] = ng
    for pk, entry, account, mg in (
        models.Posting.objects.using(alias)
        .order_by("entry_id", "line")
        .values_list("pk", "entry_id", "account_id", "gross_mg")
    ):
        lines.setdefault(entry, []).append([account, mg, parts.get(pk, {})])
    for row in _rows(alias, models.Entry):
        entries.append({**row, "postings": lines.get(row["number"], [])})
    return {"format": FORMAT, **tables, "entry": entries}


def _name(model: type[orm.Model]) -> str:
    return str(model._meta.model_name)


def _rows(alias: str, model: type[orm.Model]) -> Iterator[dict[str, Any]]:
    dropped = {field for table, field in _KEPT_TOTALS if table == _name(model)}
    fields = [f.attname for f in model._meta.concrete_fields if f.attname not in dropped]
    rows = model._default_manager.using(alias).order_by("pk").values(*fields)
    yield from rows


def read_in(alias: str, data: Mapping[str, Any]) -> Audit:
    """Into an empty book, through the same guards; all of it or nothing."""
    if data.get("format") != FORMAT:
        raise BadInput("format", data.get("format"), FORMAT, "Give a file that a book wrote.")
    wanted = {"format", "entry", *(_name(model) for model in (*_BEFORE, *_AFTER))}
    for key in sorted((set(data) ^ wanted) - (_SINCE_THEN - set(data))):
        raise BadInput(key, key in data, ", ".join(sorted(wanted)), "Mend the keys of the file.")
    if models.Party.objects.using(alias).exists() or ledger.tail(alias)[0]:
        raise BadInput("book", "not empty", "a book just begun", "Import into a new folder.")
    try:
        with transaction.atomic(using=alias):
            for model in _BEFORE:
                _create(alias, model, data[_name(model)])
            for row in data["entry"]:
                _seal(alias, row)
            # Each reservation is judged with the metal of today; first the released ones.
            for model in _AFTER:
                _create(alias, model, data.get(_name(model), []))
            # Photographs travel apart from this file, so they cannot be asked for yet.
            found = audit(alias, photographs=False)
            if not found.whole:
                fault = found.faults[0]
                raise BadInput("entry", fault.about, "a book that passes its audit", fault.code)
    except (IntegrityError, TypeError, ValueError, KeyError) as fault:
        raise BadInput(
            "file", str(fault).removeprefix("book: "), "a file that a book wrote, unchanged",
            "Nothing was taken in; export again.",
        ) from None  # fmt: skip
    return found


def _create(alias: str, model: type[orm.Model], rows: list[dict[str, Any]]) -> None:
    model._default_manager.using(alias).bulk_create([model(**row) for row in rows], batch_size=200)


def _seal(alias: str, row: Mapping[str, Any]) -> None:
    facts = dict(row)
    for line, (account, mg, elements) in enumerate(facts.pop("postings")):
        posting = models.Posting.objects.using(alias).create(
            entry_id=facts["number"], line=line, account_id=account, gross_mg=mg
        )
        models.Part.objects.using(alias).bulk_create(
            models.Part(posting_id=posting.pk, element=element, ng=ng)
            for element, ng in elements.items()
        )
    models.Entry.objects.using(alias).create(**facts)
