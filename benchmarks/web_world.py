"""A book of very many lots, sealed in bulk through the ledger's own guards; drawn with a seed."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

from lemel.book import Account, Book, Draft, Line, models, open_book
from lemel.book.chain import spelled
from lemel.values import FORMS, Composition, Holding, Lot, OrderLine, Origin, Reading, to_plain

__all__ = ["large_book"]

_OWNERS = 20
_AT_ONCE = 5000
_FINENESS = (800, 900, 925, 958)


def large_book(folder: Path, count: int, seed: int = 1) -> None:
    """So many lots of twenty owners in the store, a thousand readings, a hundred orders."""
    dice = random.Random(seed)
    with open_book(folder, create=True) as book:
        owners = {f"owner{n:02d}": f"Owner {n}" for n in range(_OWNERS)}
        book.enter_owners(owners)
        book.bench.set_house("bench", "The large bench", "owner00")
        lots = [_lot(n, dice) for n in range(count)]
        _enter(book, lots)
        book.post_many(_drafts(lots))
        book.enter_readings(_readings(lots[:: max(1, count // 1000)]))
        book.bench.enter_orders(_orders())
        book.bench.set_price("fine/Ag", "0.92", source="entered by hand", currency="GBP")


def _lot(n: int, dice: random.Random) -> Lot:
    fineness = dice.choice(_FINENESS)
    return Lot(
        f"L{n:06d}", f"owner{dice.randrange(_OWNERS):02d}", "Ag", dice.choice(FORMS),
        round(dice.uniform(1, 300), 2), note=f"bag {dice.randrange(10_000)}",
        stated=Composition.from_millesimal({"Ag": fineness, "Cu": 1000 - fineness}),
        received_on=date(2026, 1, 1) + timedelta(days=dice.randrange(300)),
    )  # fmt: skip


def _enter(book: Book, lots: list[Lot]) -> None:
    keys = dict(models.Party.objects.using(book.alias).values_list("code", "key"))
    origin, now = spelled(to_plain(Origin())), book.now()
    for begin in range(0, len(lots), _AT_ONCE):
        models.Body.objects.using(book.alias).bulk_create(
            models.Body(
                id=lot.id, kind="lot", owner_id=keys[lot.owner], origin=origin, made_at=now,
                record=spelled({**to_plain(lot), "owner": keys[lot.owner]}),
            )
            for lot in lots[begin : begin + _AT_ONCE]
        )  # fmt: skip


def _drafts(lots: list[Lot]) -> Iterator[Draft]:
    for lot in lots:
        assert lot.stated is not None
        metal = Holding.of(round(lot.mass_g * 1000), lot.stated)
        lines = [
            Line(Account(lot.owner, "outside", "arrivals"), -metal),
            Line(Account(lot.owner, "store", lot.id), metal),
        ]
        yield Draft("weigh_in", lines, key=f"weigh_in {lot.id}", about=lot.id)


def _readings(lots: list[Lot]) -> list[Reading]:
    return [
        Reading(f"r-{lot.id}", lot.id, "xrf-hand-abraded", {"Ag": 0.92}, source="bench gun")
        for lot in lots
    ]


def _orders() -> list[OrderLine]:
    return [
        OrderLine(
            f"O{n}.1", f"O{n}", f"owner{n % _OWNERS:02d}", "disc", 1 + n % 5,
            {"diameter_mm": 20.0, "thickness_mm": 1.0}, "UK Ag 925",
        )
        for n in range(100)
    ]  # fmt: skip
