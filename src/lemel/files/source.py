"""Getting a file's text and its plain data: TOML, JSON or CSV, from a path or from stdin."""

from __future__ import annotations

import csv
import io
import json
import sys
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

from lemel.errors import BadInput
from lemel.files.locate import lines_of_json, lines_of_toml
from lemel.files.place import Place

__all__ = ["MOST_BYTES", "STDIN", "data_of", "has_format", "read_data", "read_text", "rows_of"]

STDIN = "-"
#: Larger files are refused: nothing that a bench writes comes near it.
MOST_BYTES = 8_000_000


def read_text(path: str | Path) -> tuple[str, str]:
    """The text and the name of a file; `-` is stdin. Raises BadInput."""
    name = "stdin" if str(path) == STDIN else Path(path).name
    try:
        if str(path) == STDIN:
            raw = sys.stdin.buffer.read(MOST_BYTES + 1)
        else:
            with Path(path).open("rb") as file:
                raw = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise BadInput(str(path), "missing", "a file that is there", "Check the path.") from None
    except (OSError, ValueError) as error:
        raise BadInput(
            str(path), type(error).__name__, "a file that can be read", "Check path and rights."
        ) from None
    if len(raw) > MOST_BYTES:
        raise BadInput(name, f"over {MOST_BYTES} bytes", f"{MOST_BYTES} bytes at most", "Split it.")
    try:
        return raw.decode("utf-8-sig"), name
    except UnicodeDecodeError as error:
        raise BadInput(
            name, f"byte {error.start}", "text in UTF-8", "Save the file as UTF-8."
        ) from None


def read_data(path: str | Path, *, exact: bool = True) -> tuple[dict[str, Any], Place]:
    """A TOML or JSON file as plain data, with its place. Raises BadInput.

    With `exact` fractions come as Decimal, so that money keeps its digits.
    """
    text, name = read_text(path)
    data, place = data_of(text, name, exact=exact)
    return data, replace(place, beside=None if str(path) == STDIN else Path(path).parent)


def data_of(text: str, name: str, *, exact: bool = True) -> tuple[dict[str, Any], Place]:
    """A TOML or JSON text as plain data: JSON where it begins with a brace."""
    fraction = _exact if exact else float
    is_json = text.lstrip()[:1] in ("{", "[")
    if not is_json or name.endswith(".toml"):
        return _toml(text, name, fraction), Place(name, (), lines_of_toml(text))
    return _json(text, name, fraction), Place(name, (), lines_of_json(text))


def _toml(text: str, name: str, fraction: Callable[[str], Any]) -> dict[str, Any]:
    try:
        return tomllib.loads(text, parse_float=fraction)
    except tomllib.TOMLDecodeError as error:
        raise BadInput(name, str(error), "TOML that can be read", "Mend the line named.") from None
    except (RecursionError, ValueError, ArithmeticError) as error:
        raise BadInput(name, str(error)[:80], "TOML that can be read", "Mend the file.") from None


def _json(text: str, name: str, fraction: Callable[[str], Any]) -> dict[str, Any]:
    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        seen: dict[str, Any] = {}
        for key, value in pairs:
            if key in seen:
                raise BadInput(f"{name}, {key}", "twice", "each key once", "Remove one.")
            seen[key] = value
        return seen

    def no_constant(word: str) -> Any:
        raise BadInput(name, word, "finite numbers", "Give a number.")

    try:
        data = json.loads(
            text, parse_float=fraction, parse_constant=no_constant, object_pairs_hook=once
        )
    except json.JSONDecodeError as error:
        raise BadInput(
            f"{name} line {error.lineno}", error.msg, "JSON that can be read", "Mend the line."
        ) from None
    except (RecursionError, ValueError, ArithmeticError) as error:
        raise BadInput(name, str(error)[:80], "JSON that can be read", "Mend the file.") from None
    if not isinstance(data, dict):
        raise BadInput(name, type(data).__name__, "an object at the top", "Wrap it in { }.")
    return data


def _exact(written: str) -> Decimal | float:
    """Money must keep its digits, so fractions are read as decimals."""
    try:
        return Decimal(written)
    except ArithmeticError:
        return float(written)


def has_format(data: Mapping[str, Any], place: Place, kind: str, *, needed: bool = True) -> None:
    """Check `format = "lemel-<kind> 1"`. Raises BadInput that names what is wanted."""
    wanted = f"lemel-{kind} 1"
    given = data.get("format")
    if given is None and not needed:
        return
    if given != wanted:
        shown = "missing" if given is None else given
        raise place.at("format").fault(shown, f'"{wanted}"', f'Write format = "{wanted}" on top.')


def rows_of(text: str, name: str, kind: str) -> Iterator[tuple[dict[str, str], Place]]:
    """The rows of a CSV text: filled cells by column, each row with its place.

    The first line is the comment `# format = "lemel-<kind> 1"`; further lines that begin
    with # and empty lines are skipped. Commas, semicolons or tabs separate, by the header.
    """
    wanted = f'# format = "lemel-{kind} 1"'
    lines = text.splitlines()
    first = lines[0].strip().rstrip(",;\t") if lines else ""
    # A spreadsheet that saves the file puts the whole comment into quotes and doubles its own.
    if first not in (wanted, '"' + wanted.replace('"', '""') + '"'):
        raise BadInput(
            f"{name} line 1", first[:60] or "missing", wanted, "Make this the first line."
        )
    numbered = [
        (number, line)
        for number, line in enumerate(lines, 1)
        if line.strip(" \t,;") and not line.startswith(("#", '"#'))
    ]
    if not numbered:
        raise BadInput(name, "no header", "a line of column names", "Name the columns.")
    header_line = numbered[0][1]
    mark = max(",;\t", key=header_line.count)
    header = _cells(header_line, mark, name, numbered[0][0])
    twice = sorted({column for column in header if header.count(column) > 1})
    if twice:
        raise BadInput(
            f"{name} line {numbered[0][0]}", twice[0], "each column once", "Rename one of them."
        )
    for number, line in numbered[1:]:
        place = Place(name, (), {(): number}, textual=True)
        cells = _cells(line, mark, name, number)
        if len(cells) > len(header):
            raise place.fault(
                f"{len(cells)} cells",
                f"{len(header)} cells",
                "Put a cell that holds a comma in quotes.",
            )
        yield {column: cell for column, cell in zip(header, cells, strict=False) if cell}, place


def _cells(line: str, mark: str, name: str, number: int) -> list[str]:
    try:
        rows = list(csv.reader(io.StringIO(line), delimiter=mark, strict=True))
    except csv.Error as error:
        raise BadInput(
            f"{name} line {number}", str(error), "cells that can be read", "Mend the quotes."
        ) from None
    return [cell.strip() for cell in rows[0]] if rows else []
