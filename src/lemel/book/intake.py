"""Many bags at once, from a file: first looked over row by row, then all of them or none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lemel.book import ledger, records
from lemel.book.shop import Book
from lemel.errors import BadInput
from lemel.files import BagsFile
from lemel.values import Lot, Reading

__all__ = ["TakenBags", "take_bags"]


@dataclass(frozen=True, slots=True)
class TakenBags:
    """What was found in a file of bags. With `faults`, or in a dry run, nothing was written."""

    lots: tuple[Lot, ...]
    readings: tuple[Reading, ...]
    faults: tuple[BadInput, ...]
    written: bool


def take_bags(
    book: Book,
    bags: BagsFile,
    *,
    owners: Mapping[str, str] | None = None,
    dry_run: bool = False,
    by: str = "",
) -> TakenBags:
    """Weigh in every bag of a file, or say by row what stands against it.

    `owners` are new ones by id and name. A dry run does all that the real one would and then
    leaves nothing behind.
    """
    lots = tuple(lot for lot, _ in bags.lots)
    found = tuple(reading for reading, _ in bags.readings)
    with ledger.writing(book.alias):
        faults = [*bags.faults, *_misfits(book, bags, owners or {})]
        if not faults:
            try:
                book.weigh_in(lots, found, owners, by=by)
            except BadInput as fault:
                faults += fault.all
        if faults or dry_run:
            ledger.undo(book.alias)
    return TakenBags(lots, found, tuple(faults), written=not faults and not dry_run)


def _misfits(book: Book, bags: BagsFile, owners: Mapping[str, str]) -> list[BadInput]:
    """What does not fit the book or another row."""
    known_owners = {**book.owners(), **owners}
    faults: list[BadInput] = []
    seen: set[str] = set()
    for lot, place in bags.lots:
        if lot.owner not in known_owners:
            allowed = ", ".join(known_owners) or "nobody yet"
            faults.append(place.at("owner").fault(lot.owner, allowed, "Enter the owner first."))
        if lot.id in seen:
            faults.append(place.at("lot").fault(lot.id, "each lot once", "Rename one of the two."))
        elif records.is_known(book.alias, lot.id):
            faults.append(
                place.at("lot").fault(lot.id, "an id that is new", "Give the bag another id.")
            )
        seen.add(lot.id)
    names: set[str] = set()
    for reading, place in bags.readings:
        if reading.on not in seen and not records.is_known(book.alias, reading.on):
            faults.append(
                place.at("on").fault(reading.on, "a lot or bar of the book", "Check the id.")
            )
        if reading.id in names:
            faults.append(
                place.at("reading").fault(reading.id, "each id once", "Rename one of the two.")
            )
        names.add(reading.id)
    return faults
