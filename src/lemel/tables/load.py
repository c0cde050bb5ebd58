"""Reading the shipped tables and laying a house's own figures over them.

A table is `data/<name>.csv` with the columns `key, ..., source, trust`, or
`data/<name>.json` (a list of objects with the same three keys, for rows that are
themselves lists, such as polynomial coefficients). Sources live in
`data/sources/*.toml`, one section a key. Trust is one of TRUSTS.
"""

from __future__ import annotations

import csv
import hashlib
import json
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from io import StringIO
from types import MappingProxyType
from typing import Any

from lemel.errors import BadInput, NotKnown
from lemel.values import Figure

__all__ = ["TRUSTS", "Row", "Source", "Tables", "shipped"]

#: How a row is known, best first. "memory" and "unverified" are never shown as law.
TRUSTS = (
    "law", "standard", "handbook", "paper", "read", "practice", "memory", "estimate", "unverified",
    "house",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Source:
    """Where a figure comes from: author, title, year, place in the text, how far it was read."""

    key: str
    title: str
    author: str = ""
    year: str = ""
    place: str = ""
    trust: str = "memory"
    note: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table: named cells, with source and trust."""

    table: str
    key: str
    cells: Mapping[str, Any]
    source: str
    trust: str

    def text(self, column: str) -> str:
        """A cell as text; empty where it is blank."""
        return str(self._cell(column))

    def number(self, column: str) -> float:
        """A cell as a number; NotKnown where it is blank."""
        cell = self._cell(column)
        if cell in ("", None):
            raise NotKnown(
                f"{self.table}.{self.key}.{column}", "the cell is blank", "Enter a house figure."
            )
        return float(cell)

    def number_or(self, column: str, otherwise: float) -> float:
        """A cell as a number, or `otherwise` where it is blank or absent."""
        cell = self.cells.get(column, "")
        return otherwise if cell in ("", None) else float(cell)

    def figure(self, column: str, unit: str) -> Figure:
        """A cell as a Figure that carries its source; the spread comes from `<column>_sd`."""
        spread = self.cells.get(f"{column}_sd", "")
        known = "assumed" if self.trust in ("estimate", "practice", "unverified") else "table"
        return Figure(
            self.number(column),
            unit,
            "supplier" if self.trust == "house" else known,
            self.source,
            float(spread) if spread not in ("", None) else None,
        )

    def _cell(self, column: str) -> Any:
        if column not in self.cells:
            raise NotKnown(
                f"{self.table}.{column}", "the table has no such column", "Check the name."
            )
        return self.cells[column]


class Tables:
    """All facts, immutable. `digest` names this exact set of figures."""

    __slots__ = ("_rows", "digest", "sources")

    def __init__(
        self, rows: Mapping[str, Mapping[str, Row]], sources: Mapping[str, Source]
    ) -> None:
        self._rows = MappingProxyType({name: MappingProxyType(dict(t)) for name, t in rows.items()})
        self.sources: Mapping[str, Source] = MappingProxyType(dict(sources))
        self.digest = _digest(self._rows)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the tables."""
        return tuple(sorted(self._rows))

    def table(self, name: str) -> Mapping[str, Row]:
        """One table by name: key to row, in file order."""
        if name not in self._rows:
            raise NotKnown(f"table {name}", "no such table is shipped", "Check the name.")
        return self._rows[name]

    def rows(self, name: str) -> tuple[Row, ...]:
        """The rows of one table in file order."""
        return tuple(self.table(name).values())

    def row(self, name: str, key: str) -> Row:
        """One row; NotKnown with the keys there are."""
        table = self.table(name)
        if key not in table:
            known = ", ".join(list(table)[:12])
            raise NotKnown(f"{name} {key!r}", f"the table has {known}", "Use one of these.")
        return table[key]

    def source(self, key: str) -> Source:
        """A source by key."""
        if key not in self.sources:
            raise NotKnown(f"source {key!r}", "no such source is listed", "List the source.")
        return self.sources[key]

    def with_overrides(self, overrides: Mapping[str, Mapping[str, Mapping[str, object]]]) -> Tables:
        """A new set with a house's own figures laid over: {table: {key: {column: value}}}.

        An unknown table or column raises BadInput; a new key makes a new row. Overridden
        rows carry trust "house" and source "house".
        """
        rows: dict[str, dict[str, Row]] = {name: dict(t) for name, t in self._rows.items()}
        for name, changes in overrides.items():
            if name not in rows:
                raise BadInput(name, "", ", ".join(self.names), "Name a shipped table.")
            columns = {column for row in rows[name].values() for column in row.cells}
            for key, cells in changes.items():
                unknown = sorted(set(cells) - columns)
                if unknown:
                    raise BadInput(
                        f"{name}.{key}.{unknown[0]}",
                        cells[unknown[0]],
                        ", ".join(sorted(columns)),
                        "Name a column of the table.",
                    )
                old = rows[name].get(key)
                base = dict(old.cells) if old else dict.fromkeys(columns, "")
                rows[name][key] = Row(name, key, {**base, **cells}, "house", "house")
        house = Source("house", "the house's own figure", trust="house")
        return Tables(rows, {**self.sources, "house": house})


@cache
def shipped() -> Tables:
    """The tables in the package."""
    data = resources.files("lemel.tables") / "data"
    sources: dict[str, Source] = {}
    home: dict[str, str] = {}
    for file in sorted((data / "sources").iterdir(), key=lambda f: f.name):
        if file.name.endswith(".toml"):
            for key, entry in tomllib.loads(file.read_text("utf-8")).items():
                if key in sources:
                    do = f"It stands in {home[key]} and in {file.name}: keep one, or rename one."
                    raise BadInput("source", key, "each source key once", do)
                sources[key], home[key] = Source(key, **entry), file.name
    rows: dict[str, dict[str, Row]] = {}
    for file in sorted(data.iterdir(), key=lambda f: f.name):
        stem, _, ending = file.name.rpartition(".")
        if ending in ("csv", "json"):
            rows[stem] = {row.key: row for row in _read(stem, ending, file.read_text("utf-8"))}
    return Tables(rows, sources)


def _read(name: str, ending: str, text: str) -> Iterator[Row]:
    entries = csv.DictReader(StringIO(text)) if ending == "csv" else json.loads(text)
    seen: set[str] = set()
    for entry in entries:
        cells = dict(entry)
        key, source, trust = (str(cells.pop(k, "")) for k in ("key", "source", "trust"))
        if not key or key in seen:
            raise BadInput(f"{name}.key", key, "a key, once", "Give each row a key of its own.")
        if trust not in TRUSTS:
            raise BadInput(f"{name}.{key}.trust", trust, ", ".join(TRUSTS), "Grade the row.")
        seen.add(key)
        yield Row(name, key, MappingProxyType(cells), source, trust)


def _digest(rows: Mapping[str, Mapping[str, Row]]) -> str:
    plain = {
        name: {key: [dict(row.cells), row.source, row.trust] for key, row in table.items()}
        for name, table in rows.items()
    }
    text = json.dumps(plain, sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()[:16]
