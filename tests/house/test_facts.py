"""Facts are data with a source, and every source that is named exists."""

from __future__ import annotations

import ast

from lemel.tables import shipped
from lemel.tables.load import TRUSTS
from tests.house.reading import agree, calls, data_rows, modules

ROWS = list(data_rows())
#: Place of `source` in the positional arguments of values that carry one.
SOURCE_AT = {"Figure": 3, "Caution": 3, "Standard": 4}


def _sources_of(row: dict[str, object]) -> list[str]:
    return str(row.get("source") or "").replace(";", " ").split()


def test_every_row_has_a_key_a_source_and_a_trust():
    agree(
        f"{place}: {row.get('key')!r} has source {row.get('source')!r}, trust {row.get('trust')!r}"
        for place, row in ROWS
        if None in row or not (row.get("key") and _sources_of(row) and row.get("trust") in TRUSTS)
    )


def test_every_source_that_a_row_names_is_listed():
    known = set(shipped().sources)
    agree({f"{place}: {s}" for place, row in ROWS for s in _sources_of(row) if s not in known})


def test_every_source_that_the_code_names_is_listed():
    known = set(shipped().sources)
    agree(
        f"{module.place}:{call.lineno}: {source.value}"
        for module in modules()
        for call in calls(module, set(SOURCE_AT))
        for source in _given_source(call)
        if isinstance(source, ast.Constant) and source.value and source.value not in known
    )


def _given_source(call: ast.Call) -> list[ast.expr]:
    name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
    at = SOURCE_AT[name]
    return [k.value for k in call.keywords if k.arg == "source"] + call.args[at : at + 1]


def test_every_listed_source_is_used_and_graded():
    used = {source for _, row in ROWS for source in _sources_of(row)}
    used |= {
        node.value
        for module in modules()
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    sources = shipped().sources
    agree(key for key in sources if key not in used)
    assert all(source.title and source.trust in TRUSTS for source in sources.values())


def test_what_is_from_memory_is_not_called_law():
    weak = {
        key
        for key, source in shipped().sources.items()
        if source.trust in ("memory", "unverified", "practice", "estimate")
    }
    agree(
        f"{place}: {row['key']} is {row['trust']} but its source is not"
        for place, row in ROWS
        if row["trust"] in ("law", "standard") and weak & set(_sources_of(row))
    )
