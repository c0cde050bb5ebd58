"""Tools: what the shop has to work with, what each has been through, and what the house decided."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.urls import include, path

from lemel.book import Book, ToolRow
from lemel.errors import BadInput
from lemel.values import Balance, Crucible, Furnace, to_plain
from lemel.web import given, shell
from lemel.web.books_parts import checked, link, once, sheet
from lemel.web.tools_fields import KINDS, Asked, fields_of, read, shown

__all__ = ["urlpatterns"]

_LIFE_WIDE = 96
#: A balance that was not checked for so long is named.
_CHECK_DAYS = 365


@dataclass(frozen=True, slots=True)
class Line:
    """One tool as its row shows it; `life` the share of its melts that is used, None for others."""

    row: ToolRow
    said: tuple[str, ...]
    life: float | None
    figures: tuple[tuple[str, str, str], ...]
    mind: str = ""


def index(request: HttpRequest) -> HttpResponse:
    """Every tool by kind, retired ones below."""
    book = shell.book()
    groups = [
        {
            "kind": kind,
            "word": many,
            "one": one,
            "lines": [_line(book, row) for row in book.bench.tools(kind)],
            "retired": [row for row in book.bench.tools(kind, retired=True) if row.retired_why],
        }
        for kind, (one, many) in KINDS.items()
    ]
    return sheet(request, "web/tools/index.html", {"groups": groups, "wide": _LIFE_WIDE})


def _line(book: Book, row: ToolRow) -> Line:
    tool = row.tool
    if row.kind == "stick":
        return Line(row, (str(tool.get("note", "")),), None, ())
    figures = tuple(
        (one.label, shown(one, getattr(tool, one.name, "")), one.unit)
        for one in fields_of(row.kind)
        if one.how not in ("sections", "measured")
    )
    said = tuple(f"{label.lower()} {value} {unit}".strip() for label, value, unit in figures[:2])
    life, mind = None, ""
    if isinstance(tool, Crucible):
        life = min(1.0, tool.melts_done / tool.melts_most) if tool.melts_most else 1.0
        said = (f"for {tool.family}", f"{tool.melts_done} of {tool.melts_most} melts")
        if life >= 1:
            mind = "Its life is over: retire it before it cracks with metal in it."
    if isinstance(tool, Balance):
        said, mind = _checked(book, tool)
    if isinstance(tool, Furnace):
        learnt = [one for one in tool.parameters.values() if one.known == "calibrated"]
        said = (*said, f"{len(learnt)} figures from its own log" if learnt else "not calibrated")
    return Line(row, said, life, figures, mind)


def _checked(book: Book, tool: Balance) -> tuple[tuple[str, ...], str]:
    step = f"step {tool.step_g:g} g"
    if tool.calibrated_on is None:
        return (step,), "No check against a weight is on record: check it, and enter the day."
    days = (book.bench.today() - tool.calibrated_on).days
    mind = f"Last checked {days} days ago: check it again." if days > _CHECK_DAYS else ""
    return (step, f"checked {tool.calibrated_on.isoformat()}"), mind


def _mills(book: Book) -> tuple[str, ...]:
    return tuple(row.id for row in book.bench.tools("mill"))


def _form(request: HttpRequest, asked: tuple[Asked, ...], tool: Any) -> list[dict[str, Any]]:
    """Each field with what stands in it: what was just sent, else what the tool has."""
    sent = request.POST if request.method == "POST" else {}
    found = getattr(request, "faults", {})
    rows = []
    for one in asked:
        value = tool.get(one.name) if isinstance(tool, dict) else getattr(tool, one.name, None)
        there = str(sent.get(one.name, shown(one, value)))
        ticked = bool(sent.get(one.name)) if sent else value is True
        rows.append({"asked": one, "value": there, "ticked": ticked,
                     "fault": found.get(one.name, "")})  # fmt: skip
    return rows


def new(request: HttpRequest, kind: str) -> HttpResponseBase:
    """A new tool of a kind."""
    book = shell.book()
    checked(kind, "kind", KINDS)
    asked = fields_of(kind, _mills(book))
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _enter(request, book, kind, asked))
    form = _form(request, asked, None)
    return sheet(request, "web/tools/new.html", {"kind": kind, "one": KINDS[kind][0], "form": form})


def _enter(request: HttpRequest, book: Book, kind: str, asked: tuple[Asked, ...]) -> str:
    name = given.text(request, "id", longest=80)
    if name in {row.id for row in book.bench.tools(kind, retired=True)}:
        raise BadInput("id", name, "a name that is new", "Open the tool of this name instead.")
    book.bench.set_tool(kind, {"id": name, **_values(request, asked)})
    shell.tell(request, f"{name} is entered.")
    return link("tools-one", kind, name)


def _values(request: HttpRequest, asked: tuple[Asked, ...]) -> dict[str, Any]:
    return {one.name: to_plain(read(request, one)) for one in asked}


def one(request: HttpRequest, kind: str, name: str) -> HttpResponseBase:
    """One tool: change it, note what was seen of it, retire it, or take it back into use."""
    book = shell.book()
    checked(kind, "kind", KINDS)
    there = {row.id: row for row in book.bench.tools(kind, retired=True)}
    row = there[checked(name, "tool", there)]
    asked = fields_of(kind, _mills(book))
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _act(request, book, row, asked))
    context = {
        "kind": kind, "one": KINDS[kind][0], "row": row, "line": _line(book, row),
        "form": _form(request, asked, row.tool), "wide": _LIFE_WIDE,
        "notes": book.bench.tool_notes(kind, name)[::-1], "learnt": _learnt(row.tool),
    }  # fmt: skip
    return sheet(request, "web/tools/one.html", context)


def _learnt(tool: Any) -> list[tuple[str, Any]]:
    """A furnace's own figures with how each is known."""
    return list(tool.parameters.items()) if isinstance(tool, Furnace) else []


def _act(request: HttpRequest, book: Book, row: ToolRow, asked: tuple[Asked, ...]) -> str:
    act = given.choice(request, "do", ("change", "note", "retire", "back"))
    by = given.text(request, "by", need=False, longest=60)
    if act == "change":
        values = _values(request, asked)
        book.bench.set_tool(row.kind, {**_plain(row), **values}, by=by)
        shell.tell(request, f"{row.id} is changed.")
    elif act == "note":
        book.bench.note_tool(row.kind, row.id, given.text(request, "note", longest=400), by=by)
        shell.tell(request, "Noted.")
    elif act == "retire":
        book.bench.retire_tool(row.kind, row.id, given.text(request, "why", longest=300), by=by)
        shell.tell(request, f"{row.id} is out of use; it stays in the book with its reason.")
    else:
        book.bench.set_tool(row.kind, _plain(row), by=by)
        shell.tell(request, f"{row.id} is back in use.")
    return link("tools-one", row.kind, row.id)


def _plain(row: ToolRow) -> dict[str, Any]:
    plain: dict[str, Any] = dict(to_plain(row.tool))
    if row.kind == "crucible":
        plain["retired"] = False
    return plain


urlpatterns = [
    path("", index, name="tools"),
    path("", include("lemel.web.tools_house")),
    path("", include("lemel.web.tools_figures")),
    path("<str:kind>/", new, name="tools-new"),
    path("<str:kind>/<path:name>/", one, name="tools-one"),
]
