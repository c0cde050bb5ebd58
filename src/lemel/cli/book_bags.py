"""`lemel book take-in`: bags from a CSV or a spreadsheet, looked over row by row first."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import Told
from lemel.cli.book_parts import BOOK, open_at, told
from lemel.cli.run import verb
from lemel.errors import BadInput

if TYPE_CHECKING:
    from lemel.book import Book, TakenBags

__all__ = ["take_in"]


@verb("take-in", help="Bags from CSV or spreadsheet files: all of them, or the faults by row.")
@click.argument("files", metavar="FILE...", nargs=-1, required=True)
@click.option("--look-over", "dry_run", is_flag=True, help="Look over every row and write nothing.")
@click.option("--new-owner", "owners", metavar="ID=NAME", multiple=True, help="An owner to enter.")
@BOOK
def take_in(
    files: tuple[str, ...], dry_run: bool, owners: tuple[str, ...], place: str | None
) -> Told:
    """Exit code 2 if any row has a fault; then nothing of any file was written."""
    new = dict(_owner(one) for one in owners)
    with open_at(place) as opened:
        done = _take(opened, files, new, dry_run)
    if done.faults:
        first, *rest = done.faults
        raise BadInput(first.field, first.value, first.allowed, first.do, rest)
    payload: dict[str, Any] = {
        "lots": [lot.id for lot in done.lots],
        "readings": [reading.id for reading in done.readings],
        "mass_g": sum(lot.mass_g for lot in done.lots),
        "written": done.written,
        "dry_run": dry_run,
    }
    end = "would be weighed in" if dry_run else "are weighed in"
    line = f"{len(done.lots)} bags with {len(done.readings)} readings {end}."
    return told(payload, lambda paper: paper.line(line))


def _owner(given: str) -> tuple[str, str]:
    code, mark, name = given.partition("=")
    if not mark or not code.strip():
        raise BadInput("--new-owner", given, "ID=NAME", "Write for example lena=Lena.")
    return code.strip(), name.strip()


def _take(book: Book, files: tuple[str, ...], owners: dict[str, str], dry_run: bool) -> TakenBags:
    """All files as one: readings may lie in another file than their bags."""
    from lemel.book import take_bags
    from lemel.files import BagsFile, read_bags

    metals = {lot.id: lot.main for lot in book.lots()}
    found: list[BagsFile] = []
    for file in sorted(files, key=lambda one: "reading" in Path(one).name):
        found.append(read_bags(file, metals=metals))
        metals.update({lot.id: lot.main for lot, _ in found[-1].lots})
    whole = BagsFile(
        tuple(lot for one in found for lot in one.lots),
        tuple(reading for one in found for reading in one.readings),
        tuple(fault for one in found for fault in one.faults),
    )
    return take_bags(book, whole, owners=owners, dry_run=dry_run)
