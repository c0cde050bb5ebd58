"""Assumed figures: what the shop relies on, with trust and source, and its own over it."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponseBase
from django.urls import path

from lemel.book import Book
from lemel.tables import Row, Tables, shipped
from lemel.values import Saying
from lemel.web import given, shell
from lemel.web.books_parts import checked, link, once, sheet
from lemel.web.reader import say
from lemel.words import placeholders, template

__all__ = ["urlpatterns"]

#: How a figure is known that the house would do well to replace by its own.
_ASSUMED = ("estimate", "practice", "memory", "unverified")
_MOST = 1e12
#: How names of columns end that carry a unit, the longest first.
_UNITS = {
    "_j_gk": "J/(g K)", "_g_cm3": "g/cm³", "_percent": "%", "_millesimal": "‰", "_mm": "mm",
    "_min": "min", "_hv": "HV", "_c": "°C", "_k": "K", "_g": "g",
}  # fmt: skip
_SPREAD = ("lo", "hi", "ln_sd")
_WORDY = ("what", "note")
#: What replaces the figures of a table, where something learns them from the shop's own work.
_LEARNT = {
    "melt_furnace": "furnace", "melt_torch": "furnace", "melt_form": "heats", "melt_pot": "heats",
    "scrap_forms": "heats", "mill_rules": "mill", "metal_working": "mill",
    "book_allowances": "weighed", "scrap_methods": "assays", "scrap_classes": "assays",
    "scrap_figures": "assays",
}  # fmt: skip
_ROOMS = {
    "book": "The book", "blend": "Blending", "cards": "Cards", "cut": "Cutting", "melt": "Melting",
    "metal": "The metal", "mill": "Milling", "plan": "Planning", "pour": "Pouring",
    "scrap": "Scrap and its evidence", "worth": "Worth",
}  # fmt: skip


def figures(request: HttpRequest) -> HttpResponseBase:
    """All tables by room; with `table` its rows, each to be overlaid by the house."""
    book = shell.book()
    own = book.bench.figures()
    name = str(request.GET.get("table", ""))
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _set(request, book))
    if not name:
        return sheet(request, "web/tools/figures.html", {"rooms": _rooms(own)})
    tables = shipped()
    checked(name, "table", dict.fromkeys(tables.names))
    everything = bool(request.GET.get("all"))
    rows = [
        _shown(tables, row, own.get(name, {}).get(row.key, {}))
        for row in tables.rows(name)
        if everything or row.trust in _ASSUMED or row.key in own.get(name, {})
    ]
    context = {
        "table": name, "title": _title(name), "rows": rows, "everything": everything,
        "others": len(tables.rows(name)) - len(rows), "learnt": _learnt(name),
    }  # fmt: skip
    return sheet(request, "web/tools/table.html", context)


def _title(name: str) -> str:
    room, _, rest = name.partition("_")
    return f"{_ROOMS.get(room, room)}: {rest.replace('_', ' ')}"


def _learnt(table: str) -> str:
    return say(Saying(f"web.learn.{_LEARNT[table]}")) if table in _LEARNT else ""


def _rooms(own: Any) -> list[dict[str, Any]]:
    found: dict[str, list[dict[str, Any]]] = {}
    for name in shipped().names:
        rows = shipped().rows(name)
        assumed = sum(1 for row in rows if row.trust in _ASSUMED)
        room, _, rest = name.partition("_")
        found.setdefault(room, []).append(
            {"name": name, "word": rest.replace("_", " "), "rows": len(rows), "assumed": assumed,
             "own": len(own.get(name, {})), "learnt": name in _LEARNT}
        )  # fmt: skip
    return [{"word": _ROOMS.get(room, room), "tables": tables} for room, tables in found.items()]


def _shown(tables: Tables, row: Row, own: Any) -> dict[str, Any]:
    wordy = [str(row.cells[name]) for name in _WORDY if row.cells.get(name)]
    cells = [
        {"name": name, "value": cell, "own": own.get(name),
         "number": _is_number(cell), "label": _label(name),
         "said": _said(cell)}
        for name, cell in row.cells.items()
        if name not in (*_WORDY, "unit") and cell not in ("", None)
        and not isinstance(cell, (list, dict))
    ]  # fmt: skip
    return {
        "key": row.key, "word": row.key.replace("_", " "), "what": "; ".join(wordy),
        "unit": str(row.cells.get("unit", "")), "cells": cells, "trust": row.trust,
        "source": tables.source(row.source), "own": own,
        "main": next((one for one in cells if one["number"] and one["name"] not in _SPREAD), None),
    }  # fmt: skip


def _label(column: str) -> str:
    """A column's name with its unit set apart: "c_j_gk" is "c, J/(g K)"."""
    for tail, unit in _UNITS.items():
        if column.endswith(tail):
            return f"{column.removesuffix(tail).replace('_', ' ')}, {unit}"
    return column.replace("_", " ")


def _said(cell: Any) -> Any:
    """A cell in words where it is a code with words of its own that want no values."""
    text = template(cell) if isinstance(cell, str) else None
    return cell if text is None or placeholders(text) else say(Saying(cell))


def _is_number(cell: Any) -> bool:
    try:
        float(cell)
    except (TypeError, ValueError):
        return False
    return True


def _set(request: HttpRequest, book: Book) -> str:
    """The house's own figure over one cell, or back to the shipped one where it is left empty."""
    table = given.choice(request, "table", shipped().names)
    row = given.choice(request, "row", shipped().table(table))
    cells = shipped().row(table, row).cells
    column = given.choice(request, "column", [one for one in cells if _is_number(cells[one])])
    value = given.optional_number(request, "value", least=-_MOST, most=_MOST)
    by = given.text(request, "by", need=False, longest=60)
    there = f"{link('tools-figures')}?table={table}"
    if value is None:
        if column in book.bench.figures().get(table, {}).get(row, {}):
            book.bench.set_figure(table, row, column, None, by=by)
        shell.tell(request, f"{row.replace('_', ' ')}: back to the program's figure.")
        return there
    book.bench.set_figure(table, row, column, value, by=by)
    shell.tell(request, f"{row.replace('_', ' ')}: {value:g} is the house's own figure now.")
    return there


urlpatterns = [path("figures/", figures, name="tools-figures")]
