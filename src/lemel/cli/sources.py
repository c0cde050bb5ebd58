"""`lemel explain`: the figures of an answer, or one fact of the tables, with their sources."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import Told
from lemel.cli.run import verb
from lemel.errors import BadInput
from lemel.files import STDIN, read_data
from lemel.tables import Row, Source, shipped

if TYPE_CHECKING:
    from lemel.cli.paper import Paper

__all__ = ["explain"]

#: Keys of an answer whose text names sources.
_SOURCE_KEYS = ("source", "sources")


@verb("explain")
@click.argument("what", metavar="FILE|KEY")
def explain(what: str) -> Told:
    """Print an answer's figures with their sources.

    FILE is an answer saved with --json (- is stdin); KEY names a source, a table or a row
    of it (table.row).
    """
    if what == STDIN or Path(what).is_file():
        return _of_answer(*_answer(what))
    facts = shipped()
    if what in facts.sources:
        return _of_source(facts.sources[what])
    table, dot, key = what.partition(".")
    if table in facts.names:
        rows = facts.rows(table) if not dot else (facts.row(table, key),)
        return _of_rows(table, rows)
    known = f"a file, a source, or a table: {', '.join(facts.names)}"
    raise BadInput("FILE|KEY", what, known, "Save an answer with --json and name the file.")


def _answer(path: str) -> tuple[str, dict[str, Any]]:
    data, place = read_data(path, exact=False)
    return place.file, data


def _of_answer(name: str, data: dict[str, Any]) -> Told:
    facts = shipped()
    figures = [
        {"figure": where, "value": one.get("value"), "unit": one.get("unit", ""), **_known(one)}
        for where, one in _figures(data, "")
    ]
    keys = sorted({key for key in _sources_named(data) if key in facts.sources})
    told = [_plain_source(facts.sources[key]) for key in keys]
    payload = {"file": name, "figures": figures, "sources": told}

    def show(paper: Paper) -> None:
        if figures:
            paper.table(
                ("figure", "value", "unit", "known", "source"),
                [
                    (f["figure"], _short(f["value"]), f["unit"], f["known"], f["source"])
                    for f in figures
                ],
            )
        if not told:
            paper.line(f"{name} names no source.")
        for one in told:
            paper.line(_cited(one))

    return Told(payload, show)


def _figures(data: Any, where: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Everything in an answer that carries how it is known."""
    if isinstance(data, Mapping):
        if "value" in data and "known" in data:
            yield where, data
            return
        for key, item in data.items():
            yield from _figures(item, f"{where}.{key}" if where else str(key))
    elif isinstance(data, list):
        for position, item in enumerate(data, 1):
            yield from _figures(item, f"{where}[{position}]")


def _known(figure: Mapping[str, Any]) -> dict[str, str]:
    return {"known": str(figure.get("known", "")), "source": str(figure.get("source", ""))}


def _sources_named(data: Any) -> Iterator[str]:
    if isinstance(data, Mapping):
        for key, item in data.items():
            if key in _SOURCE_KEYS:
                names = item if isinstance(item, list) else [item]
                yield from (name for name in names if isinstance(name, str))
            yield from _sources_named(item)
    elif isinstance(data, list):
        for item in data:
            yield from _sources_named(item)


def _of_source(source: Source) -> Told:
    told = _plain_source(source)
    return Told({"sources": [told]}, lambda paper: paper.line(_cited(told)))


def _of_rows(table: str, rows: tuple[Row, ...]) -> Told:
    facts = shipped()
    told = [
        {"key": row.key, **dict(row.cells), "source": row.source, "trust": row.trust}
        for row in rows
    ]
    keys = sorted({row.source for row in rows if row.source in facts.sources})
    cited = [_plain_source(facts.sources[key]) for key in keys]

    def show(paper: Paper) -> None:
        if len(rows) == 1:
            (row,) = rows
            facts_of_row = [(name, str(cell)) for name, cell in row.cells.items() if cell != ""]
            paper.line(f"{table}.{row.key} ({row.trust})")
            paper.table(("", ""), facts_of_row, left=2, header=False)
        else:
            listed = [(row.key, row.source, row.trust) for row in rows]
            paper.table(("row", "source", "trust"), listed, left=3)
            paper.line(f"One row in full: lemel explain {table}.{rows[0].key}" if rows else "")
        for one in cited:
            paper.line(_cited(one))

    return Told({"table": table, "rows": told, "sources": cited}, show)


def _plain_source(source: Source) -> dict[str, str]:
    return {
        "key": source.key,
        "title": source.title,
        "author": source.author,
        "year": source.year,
        "place": source.place,
        "trust": source.trust,
        "note": source.note,
    }


def _cited(source: Mapping[str, str]) -> str:
    """Author, title, year, place, and how far it can be trusted."""
    parts = [source[k] for k in ("author", "title", "year", "place") if source[k]]
    note = f" {source['note']}." if source["note"] else ""
    return f"{source['key']}: {', '.join(parts)} ({source['trust']}).{note}"


def _short(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:.6g}"
    text = str(value)
    return text if len(text) <= 30 else f"{text[:27]}..."
