"""The plan's question made from the book as it is now, and a month's files taken into it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from lemel.book import (
    allowed,
    filing,
    gates,
    house,
    ledger,
    lineage,
    models,
    orders,
    people,
    records,
    shelf,
    stocklist,
)
from lemel.book.bench_values import TakenIn
from lemel.book.chain import spelled
from lemel.book.promised import free_mg
from lemel.plan import PlanOptions, PlanProblem
from lemel.values import Addition, Bar, Lot, OrderLine, Reading, Workshop, to_plain

__all__ = ["problem", "proven", "take_in", "workshop"]

#: Why a lot that came of a suspect heat stays out of a clean one.
SUSPECT = "suspect"


def workshop(alias: str, as_of: date) -> Workshop:
    """The workshop whole: tools, owners, rules, prices, and the metal that is free."""
    free = {(a.owner, a.body): mg for a, mg in free_mg(alias).items()}
    return house.workshop(alias, as_of, _metal(alias, free))


def problem(
    alias: str, as_of: date, options: PlanOptions, lines: Iterable[str] | None
) -> PlanProblem:
    """The whole question: what is there and promised to nobody, and what is still to be made."""
    free = {(a.owner, a.body): mg for a, mg in free_mg(alias).items()}
    shop = house.workshop(alias, as_of, _metal(alias, free))
    lots = _lots(alias, free)
    wanted = _makeable(alias, orders.still_to_make(alias, lines), (*lots, *shop.stock))
    return PlanProblem(shop, lots, _readings(alias, lots, shop.stock), wanted, options)


def _makeable(
    alias: str, wanted: Iterable[OrderLine], bodies: Iterable[Lot | Bar]
) -> tuple[OrderLine, ...]:
    """Lines that name bags take what came of them too; those of whose bags nothing is left here
    are left out, since nothing may be put in their place."""
    lines = tuple(wanted)
    if not any(line.use_lots for line in lines):
        return lines
    came_of = {
        body.id: {body.id, *(lineage.ancestors(alias, body.id) if body.parents else ())}
        for body in bodies
    }
    found = []
    for line in lines:
        own = tuple(n for n, names in came_of.items() if not names.isdisjoint(line.use_lots))
        if own or not line.use_lots:
            found.append(replace(line, use_lots=own))
    return tuple(found)


def _metal(alias: str, free: Mapping[tuple[str, str], int]) -> dict[str, Any]:
    came = stocklist.first_come(alias)
    melt = stocklist.to_melt(alias)
    bars = [bar for bar in stocklist.bars_at_hand(alias).values() if bar.id not in melt]
    stock = [_free_bar(bar, free.get((bar.owner, bar.id), 0)) for bar in bars]
    consents = sorted(allowed.standing_consents(alias), key=lambda one: shelf.natural(one.id))
    return {
        "additions": _additions(alias, free),
        "stock": tuple(
            sorted((b for b in stock if b), key=lambda b: (came.get(b.id, 0), shelf.natural(b.id)))
        ),
        "consents": tuple(consents),
    }


def _free_bar(bar: Bar, mg: int) -> Bar | None:
    if mg <= 0:
        return None
    if mg == round(bar.mass_g * 1000):
        return bar
    share = mg / 1000 / bar.mass_g
    return replace(bar, mass_g=mg / 1000, length_mm=bar.length_mm * share)


def _additions(alias: str, free: Mapping[tuple[str, str], int]) -> tuple[Addition, ...]:
    """Clean metal that is free, used up ones too; what may be bought without end stays so."""
    rows = models.Body.objects.using(alias).filter(kind="addition", withdrawn=False)
    came = stocklist.first_come(alias)
    found = []
    for body in rows.values_list("id", flat=True):
        one = records.record_of(alias, body)
        if one.stock_g is not None:
            one = replace(one, stock_g=free.get((one.owner, body), 0) / 1000)
        found.append(one)
    return tuple(sorted(found, key=lambda one: (came.get(one.id, 0), shelf.natural(one.id))))


def _lots(alias: str, free: Mapping[tuple[str, str], int]) -> tuple[Lot, ...]:
    """Lots with what is free of them and the newest answers; a suspect one is barred."""
    came = stocklist.first_come(alias)
    bars = models.Body.objects.using(alias).filter(kind="lot", suspect=True)
    suspect = set(bars.values_list("id", flat=True))
    melt, bars = stocklist.to_melt(alias), stocklist.bars_at_hand(alias)
    at_hand = {lot.id: lot for lot in records.at_hand(alias, "lot")}
    at_hand |= {name: _as_lot(bar) for name, bar in bars.items() if name not in at_hand}
    found = []
    for lot in gates.answered(alias, at_hand.values()):
        mg = free.get((lot.owner, lot.id), 0)
        if mg <= 0 or (lot.id in bars and lot.id not in melt):
            continue
        barred = (*lot.barred, SUSPECT) if lot.id in suspect else lot.barred
        found.append(replace(lot, mass_g=mg / 1000, barred=tuple(dict.fromkeys(barred))))
    return tuple(sorted(found, key=lambda lot: (came.get(lot.id, 0), shelf.natural(lot.id))))


def _as_lot(bar: Bar) -> Lot:
    """A bar that was weighed in as one, as the scrap that it is put by for."""
    form = "bar" if bar.kind == "ingot" else "sheet" if bar.section.kind == "flat" else "wire"
    return Lot(
        bar.id, bar.owner, bar.body.main(), form, bar.mass_g, note=bar.note, shape=bar.section,
        length_mm=bar.length_mm, made_for="rolling", stated=bar.body, origin=bar.origin,
        parents=bar.parents,
    )  # fmt: skip


def _readings(alias: str, lots: Iterable[Lot], bars: Iterable[Bar]) -> tuple[Reading, ...]:
    """Evidence on what is asked about, in the order of the lots; an assayed heat speaks for its
    lots."""
    lots, bars = tuple(lots), tuple(bars)
    place = {body: n for n, body in enumerate([*(x.id for x in lots), *(x.id for x in bars)])}
    own = [one for one in records.readings(alias) if one.on in place]
    told = proven(alias, lots)
    own.sort(key=lambda one: (place[one.on], shelf.natural(one.id)))
    return (*own, *told)


def proven(alias: str, lots: Iterable[Lot]) -> list[Reading]:
    """What the assay of a heat says of each lot that came of it: one error, which they share."""
    events = models.HeatEvent.objects.using(alias).filter(what="proven").order_by("heat_id", "n")
    said: dict[str, str] = {}
    for heat, facts in events.values_list("heat_id", "facts"):
        said[heat] = json.loads(facts).get("reading", "")
    if not said:
        return []
    readings = {one.id: one for one in records.readings(alias) if not one.withdrawn}
    found = []
    for lot in lots:
        heat = _heat_of(alias, lot.id, said)
        reading = readings.get(said.get(heat, ""))
        if reading is not None and lot.main in reading.values:
            values = {lot.main: reading.values[lot.main]}
            name = f"{lot.id} proven"[:120]
            found.append(Reading(name, lot.id, "own-melt-proven", values, source=heat))
    return found


def _heat_of(alias: str, body: str, heats: Mapping[str, str]) -> str:
    """The proven heat that a lot came of, by its nearest parents; "" for none or several."""
    kin = models.Kin.objects.using(alias)
    level = {body}
    while level:
        level = set(kin.filter(child_id__in=level).values_list("parent_id", flat=True))
        found = level & set(heats)
        if found:
            return found.pop() if len(level) == 1 else ""
        kinds = models.Body.objects.using(alias).filter(pk__in=level, kind="heat")
        if kinds.exists():
            return ""
    return ""


@dataclass(frozen=True, slots=True)
class _Arrivals:
    """What of a file is not in the book yet; what is there must say the same as it did."""

    alias: str
    now: str

    def of(self, kind: str, found: Iterable[Any]) -> tuple[Any, ...]:
        """The new ones: metal that is there is not weighed in again, whatever is believed now."""
        new = []
        for one in found:
            if records.is_known(self.alias, one.id):
                records.enter_body(
                    self.alias, self.now, kind, one.id, one.owner, one, one.origin, apart=True
                )
            else:
                new.append(one)
        return tuple(new)


def take_in(alias: str, now: str, given: PlanProblem, source: str, by: str) -> TakenIn:
    """A month's files into the book, all or nothing; what is there already is nothing new.

    Raises BadInput where a lot, reading or consent of the same id says something else.
    """
    shop = given.workshop
    people.enter_owners(alias, shop.owners)
    records.enter_consents(alias, now, shop.consents)
    before = ledger.tail(alias)[0]
    records.enter_readings(alias, given.readings)
    new = _Arrivals(alias, now)
    records.weigh_in(
        alias, now, new.of("lot", given.lots), given.readings,
        new.of("addition", shop.additions), new.of("bar", shop.stock), {}, by,
    )  # fmt: skip
    tools = house.enter_workshop(alias, now, shop, source, by)
    lines = [line for line in given.orders if not _over(alias, line.id)]
    orders.enter(alias, now, lines, {}, by)
    entries = ledger.tail(alias)[0] - before
    asked = problem(alias, shop.as_of, given.options, None)
    return TakenIn(entries, len(given.lots), len(lines), tools, differences(given, asked))


def _over(alias: str, line: str) -> bool:
    last = filing.newest(alias, orders.KIND, line)
    return last is not None and last.record["state"] != "open"


def differences(given: PlanProblem, asked: PlanProblem) -> dict[str, str]:
    """Where the book's question is not the file's: what, and in which of its parts."""
    found: dict[str, str] = {}
    for name in ("lots", "readings", "orders"):
        found |= _unlike(name, getattr(given, name), getattr(asked, name))
    for part in to_plain(given.workshop):
        mine, theirs = getattr(given.workshop, part), getattr(asked.workshop, part)
        if isinstance(mine, tuple):
            found |= _unlike(part, mine, theirs)
        elif spelled(to_plain(mine)) != spelled(to_plain(theirs)):
            found[part] = "another value"
    return found


def _unlike(part: str, mine: tuple[Any, ...], theirs: tuple[Any, ...]) -> dict[str, str]:
    ours, others = {one.id: one for one in mine}, {one.id: one for one in theirs}
    found = {}
    for name in dict.fromkeys([*ours, *others]):
        if name not in others:
            found[f"{part} {name}"] = "not in the book's question"
        elif name not in ours:
            found[f"{part} {name}"] = "in the book, not in the files"
        elif ours[name] != others[name]:
            fields = [
                f
                for f in to_plain(ours[name])
                if to_plain(getattr(ours[name], f)) != to_plain(getattr(others[name], f))
            ]
            found[f"{part} {name}"] = ", ".join(fields)
    if not found and list(ours) != list(others):
        found[part] = "another order"
    return found
