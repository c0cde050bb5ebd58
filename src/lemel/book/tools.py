"""The bench's tools one by one: what each is now, how long a pot has lived, what was found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from lemel.book import filing, models, shelf
from lemel.book.bench_values import ToolNote, ToolRow
from lemel.book.foreseen import foreseen
from lemel.errors import BadInput
from lemel.values import (
    Balance,
    Crucible,
    DrawBench,
    DrawPlate,
    Furnace,
    Grooves,
    Instrument,
    Mill,
    Mould,
    Saw,
    Torch,
    from_plain,
    is_id,
    is_one_of,
    to_plain,
)

__all__ = ["GROUPS", "KINDS", "note", "notes", "retire", "rows", "set_tool", "values"]

#: Each kind of tool, the type of its value and where it stands in a `Workshop`.
_KINDS: Mapping[str, tuple[type, str]] = {
    "furnace": (Furnace, "furnaces"), "torch": (Torch, "torches"),
    "crucible": (Crucible, "crucibles"), "mould": (Mould, "moulds"), "mill": (Mill, "mills"),
    "grooves": (Grooves, "grooves"), "drawplate": (DrawPlate, "drawplates"),
    "drawbench": (DrawBench, "drawbenches"), "saw": (Saw, "saws"),
    "balance": (Balance, "balances"), "instrument": (Instrument, "instruments"),
}  # fmt: skip
#: A stick (for rings or bangles) is no value of a plan: plain data with an id.
STICK = "stick"
KINDS = (*_KINDS, STICK)
GROUPS: Mapping[str, str] = {kind: group for kind, (_, group) in _KINDS.items()}
_INSPECTION = "inspection"


def set_tool(alias: str, now: str, kind: str, tool: Any, by: str) -> ToolRow:
    """A tool as it is now, as a value or as its plain data; one that was retired comes back.

    A crucible's `melts_done` is what it has done up to this moment; from here on the book counts
    its own heats. The same tool given again changes nothing, so that a month's files may be
    taken in twice.
    """
    is_one_of("kind", kind, KINDS)
    made, plain = _made(kind, tool)
    name = str(plain["id"])
    is_id(f"{kind}.id", name)
    if isinstance(made, Grooves):
        _stands(alias, "mill", made.mill, f"grooves.{name}.mill")
    last = filing.newest(alias, _filed(kind), name)
    if last is None or last.record["tool"] != plain:
        record: dict[str, Any] = {"tool": plain}
        if isinstance(made, Crucible):
            record["start"] = made.melts_done - _melts(alias).get(name, 0)
        filing.file(alias, now, _filed(kind), name, record, by=by)
    return next(row for row in rows(alias, kind) if row.id == name)


def _filed(kind: str) -> str:
    return f"tool/{kind}"


def _made(kind: str, tool: Any) -> tuple[Any, dict[str, Any]]:
    if kind == STICK:
        if not isinstance(tool, Mapping) or "id" not in tool:
            raise BadInput("tool", tool, "a table with an id", "Give the stick a name.")
        return dict(tool), to_plain(dict(tool))
    of = _KINDS[kind][0]
    made = tool if isinstance(tool, of) else from_plain(of, to_plain(tool))
    return made, to_plain(made)


def _stands(alias: str, kind: str, name: str, field: str) -> filing.Filing:
    found = filing.newest(alias, _filed(kind), name)
    if found is None:
        known = ", ".join(filing.all_of(alias, _filed(kind))) or "none yet"
        raise BadInput(field, name, known, f"Enter the {kind} first, or name one that is there.")
    return found


def retire(alias: str, now: str, kind: str, name: str, why: str, by: str) -> None:
    """A tool is worn out, broken or sold; it stays in the book with its reason."""
    is_one_of("kind", kind, KINDS)
    if not why.strip():
        raise BadInput("why", why, "a reason in words", "Say why it is retired.")
    last = _stands(alias, kind, name, "id")
    filing.file(
        alias, now, _filed(kind), name, {**last.record, "why": why.strip()}, by=by, gone=True
    )


def rows(alias: str, kind: str, *, retired: bool = False) -> tuple[ToolRow, ...]:
    """Tools of a kind in the order of their entry; with `retired` those that are over too."""
    is_one_of("kind", kind, KINDS)
    melts = _melts(alias) if kind == "crucible" else {}
    last: dict[str, tuple[dict[str, Any], bool]] = {
        name: (record, gone) for name, record, gone in shelf.versions(alias, _filed(kind))
    }
    since = dict(
        models.Filed.objects.using(alias)
        .filter(kind=_filed(kind))
        .order_by("n")
        .values_list("name", "made_at")
    )
    found = []
    for name, (record, gone) in last.items():
        if gone and not retired:
            continue
        tool = record["tool"]
        if kind != STICK:
            tool = from_plain(_KINDS[kind][0], tool)
        if isinstance(tool, Crucible):
            done = max(0, record["start"] + melts.get(name, 0))
            tool = replace(tool, melts_done=done, retired=tool.retired or gone)
        found.append(ToolRow(kind, name, tool, since[name], record.get("why", "") if gone else ""))
    return tuple(found)


def values(alias: str) -> dict[str, tuple[Any, ...]]:
    """Every tool in use by its group of a `Workshop`."""
    return {group: tuple(row.tool for row in rows(alias, kind)) for kind, group in GROUPS.items()}


def note(alias: str, now: str, kind: str, name: str, text: str, by: str) -> ToolNote:
    """What an inspection found of a tool: a crack in the glaze, a hole worn wide."""
    is_one_of("kind", kind, KINDS)
    if not text.strip():
        raise BadInput("note", text, "what was seen, in words", "Say what was found.")
    _stands(alias, kind, name, "id")
    record = {"kind": kind, "tool": name, "note": text.strip()}
    filed = filing.file(alias, now, _INSPECTION, f"{kind} {name}", record, by=by)
    return ToolNote(kind, name, filed.made_at, filed.by, text.strip())


def notes(alias: str, kind: str, name: str) -> tuple[ToolNote, ...]:
    """Every inspection of a tool, the first one first."""
    is_one_of("kind", kind, KINDS)
    return tuple(
        ToolNote(kind, name, one.made_at, one.by, one.record["note"])
        for one in filing.history(alias, _INSPECTION, f"{kind} {name}")
    )


def _melts(alias: str) -> dict[str, int]:
    """Melts that the book knows of, by crucible: heats that came to be poured."""
    poured = models.Heat.objects.using(alias).filter(state__in=("poured", "proven", "closed"))
    names = list(poured.values_list("id", "plan_id"))
    found: dict[str, int] = {}
    for heat, plan in names:
        pot = foreseen(alias, plan).pots.get(heat.removeprefix(f"{plan}/"), "")
        if pot:
            found[pot] = found.get(pot, 0) + 1
    return found
