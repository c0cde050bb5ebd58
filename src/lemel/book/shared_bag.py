"""What was read of a bag holds for each of its parts alike: one error, which the parts share.

Two parts of one bag in one heat must look no better than the whole bag would. So the error that
was the bag's own becomes that of a source of its own, shared by all readings of its parts:

    sd_shared^2 = own^2 + shared^2 + own of the class^2,      sd_own = 0

What it shared with other bags by the instrument is from then on carried by the method alone: a
heat of both may look better by a few hundredths of its sd (tested: under 4 %).
"""

from __future__ import annotations

from dataclasses import replace
from math import hypot

from lemel.book import house, models, records
from lemel.scrap import method_sd
from lemel.tables import Row, Tables
from lemel.values import Lot, Reading

__all__ = ["told_of_parts"]

_MARK = "bag "
_MILLESIMAL = 1e-3


def told_of_parts(alias: str, lot: Lot, parts: tuple[str, ...]) -> None:
    """The bag's evidence onto its parts, and onto what stays in it, with one error for all."""
    tables = house.own_tables(alias)
    live = [one for one in records.readings(alias, lot.id) if not one.withdrawn]
    stated = _stated(lot, live, tables)
    for one in (*live, *stated):
        shared = one if one.source.startswith(_MARK) else _of_bag(lot, one, tables)
        on = parts if shared is one else (*parts, lot.id)
        copies = [replace(shared, id=f"{one.id} of {name}", on=name) for name in on]
        records.enter_readings(alias, copies)
        if shared is not one:
            models.Evidence.objects.using(alias).filter(pk=one.id).update(withdrawn=True)


def _of_bag(lot: Lot, one: Reading, tables: Tables) -> Reading:
    row = _method(one.method, lot.main, tables)
    usual = method_sd(one.method, lot.main, tables=tables)
    own = usual[0] if one.sd_own is None else one.sd_own
    common = usual[1] if one.sd_shared is None else one.sd_shared
    apart = 0.0
    if row.text("class_applies") == "yes":
        apart = _class(lot, tables).number("own_sd") * _MILLESIMAL
    wide = min(1.0, hypot(own, common, apart))
    return replace(one, source=f"{_MARK}{lot.id}: {one.id}", sd_own=0.0, sd_shared=wide)


def _stated(lot: Lot, live: list[Reading], tables: Tables) -> tuple[Reading, ...]:
    """What the bag says of itself, where nothing that was told of it stands in its place."""
    if lot.stated is None or lot.stated.share(lot.main) <= 0:
        return ()
    if any(_method(one.method, lot.main, tables).text("kind") == "says" for one in live):
        return ()
    said = {lot.main: lot.stated.share(lot.main)}
    return (Reading(f"{lot.id} stated", lot.id, _class(lot, tables).text("says"), said),)


def _class(lot: Lot, tables: Tables) -> Row:
    name = lot.scrap_class or tables.row("scrap_forms", lot.form).text("class")
    return tables.row("scrap_classes", name)


def _method(code: str, main: str, tables: Tables) -> Row:
    special = f"{code}/{main}"
    known = tables.table("scrap_methods")
    return known[special] if special in known else tables.row("scrap_methods", code)
