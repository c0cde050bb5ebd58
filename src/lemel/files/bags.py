"""Readers of bags and their evidence alone: CSV files, or the sheets of a spreadsheet.

A spreadsheet has sheets named `lots` and `readings` (either may be absent); the first row names
the columns, the same as in the CSV. What a formula gave when the file was saved is what counts.
"""

from __future__ import annotations

import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from io import BytesIO
from pathlib import Path
from typing import Any, TypeVar

from lemel.errors import BadInput
from lemel.files.lots import lot, reading
from lemel.files.place import Place
from lemel.files.source import MOST_BYTES, read_text, rows_of
from lemel.values import METALS, Lot, Reading

__all__ = ["BagsFile", "read_bags"]

Made = TypeVar("Made")
Rows = Iterator[tuple[dict[str, str], Place]]

#: What a spreadsheet may unpack to, bytes, and how many rows are read of a sheet.
_UNPACKED_MOST, _ROWS_MOST = 100_000_000, 20_000
_SHEETS = ("lots", "readings")


@dataclass(frozen=True, slots=True)
class BagsFile:
    """What a file of bags says, row by row, and every fault that it has."""

    lots: tuple[tuple[Lot, Place], ...]
    readings: tuple[tuple[Reading, Place], ...]
    faults: tuple[BadInput, ...]


def read_bags(
    path: str | Path, data: bytes | None = None, metals: dict[str, str] | None = None
) -> BagsFile:
    """Lots and readings of one CSV or .xlsx file; `data` its content where it came by a page.

    `metals`: the metal of lots that are known already, for readings on them. Faults of rows
    are collected, not raised; BadInput for a file that is no such file at all.
    """
    known = dict(metals or {})
    lots: list[tuple[Lot, Place]] = []
    readings: list[tuple[Reading, Place]] = []
    faults: list[BadInput] = []

    def read_one(row: dict[str, str], place: Place) -> Reading:
        return reading(row, place, _Guess(known))

    for kind, rows in _parts(path, data):
        if kind == "lots":
            lots += _each(rows, lot, faults)
            known.update({one.id: one.main for one, _ in lots})
        else:
            readings += _each(rows, read_one, faults)
    return BagsFile(tuple(lots), tuple(readings), tuple(faults))


class _Guess(dict[str, str]):
    """Metals by lot; a lot that is not known is taken as the first metal, and told elsewhere."""

    def __missing__(self, key: str) -> str:
        return METALS[0]


def _each(
    rows: Rows, read: Callable[[Any, Place], Made], faults: list[BadInput]
) -> list[tuple[Made, Place]]:
    made: list[tuple[Made, Place]] = []
    while True:
        try:
            row, place = next(rows)
        except StopIteration:
            return made
        except BadInput as fault:
            # A file whose lines cannot be told apart ends here.
            faults += fault.all
            return made
        try:
            made.append((read(row, place), place))
        except BadInput as fault:
            faults += fault.all


def _parts(path: str | Path, data: bytes | None) -> list[tuple[str, Rows]]:
    """The tables of a file in the order lots, readings."""
    name = Path(path).name
    if name.lower().endswith(".xlsx"):
        return _sheets(name, _bytes_of(path) if data is None else data)
    text = read_text(path)[0] if data is None else _decoded(name, data)
    first = text.partition("\n")[0]
    kind = next((kind for kind in _SHEETS if f"lemel-{kind} 1" in first), "lots")
    return [(kind, rows_of(text, name, kind))]


def _bytes_of(path: str | Path) -> bytes:
    try:
        with Path(path).open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except OSError as fault:
        raise BadInput(
            str(path), fault.strerror or "unreadable", "a file that is there", "Check the path."
        ) from None


def _decoded(name: str, data: bytes) -> str:
    if len(data) > MOST_BYTES:
        raise BadInput(name, f"over {MOST_BYTES} bytes", f"{MOST_BYTES} bytes at most", "Split it.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInput(
            name, f"byte {error.start}", "text in UTF-8", "Save the file as UTF-8."
        ) from None


def _sheets(name: str, data: bytes) -> list[tuple[str, Rows]]:
    from openpyxl import load_workbook

    allowed = f"a spreadsheet (.xlsx) of {MOST_BYTES} bytes at most"
    try:
        with zipfile.ZipFile(BytesIO(data)) as packed:
            size = sum(one.file_size for one in packed.infolist())
        if len(data) > MOST_BYTES or size > _UNPACKED_MOST:
            raise BadInput(name, f"{size} bytes unpacked", allowed, "Split it.")
        made = load_workbook(BytesIO(data), read_only=True, data_only=True)
    except (zipfile.BadZipFile, KeyError, ValueError, OSError) as fault:
        raise BadInput(name, str(fault)[:60], allowed, "Save it anew as .xlsx.") from None
    there = [kind for kind in _SHEETS if kind in made.sheetnames]
    if not there:
        raise BadInput(
            f"{name}, sheets", ", ".join(made.sheetnames)[:80], "lots, readings",
            "Name the sheet that holds the bags `lots`.",
        )  # fmt: skip
    return [(kind, _rows_of_sheet(made[kind], f"{name}, {kind}")) for kind in there]


def _rows_of_sheet(sheet: Any, name: str) -> Rows:
    header: list[str] = []
    for number, cells in enumerate(sheet.iter_rows(values_only=True), 1):
        if number > _ROWS_MOST:
            raise BadInput(name, f"over {_ROWS_MOST} rows", f"{_ROWS_MOST} at most", "Split it.")
        texts = [_text(cell) for cell in cells]
        if not any(texts) or texts[0].startswith("#"):
            continue
        if not header:
            header = texts
            continue
        row = {column: cell for column, cell in zip(header, texts, strict=False) if column and cell}
        yield row, Place(name, (), {(): number}, textual=True)


def _text(cell: Any) -> str:
    """A cell as a person would write it in a CSV."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, datetime):
        return cell.date().isoformat()
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell).strip()
