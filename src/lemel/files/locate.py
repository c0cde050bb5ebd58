"""On which line each key of a TOML or JSON text stands. Only for naming faults: never fails."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from lemel.files.place import Path

__all__ = ["lines_of_json", "lines_of_toml"]

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(#.*)?$")
_ASSIGN = re.compile(r"""^\s*([A-Za-z0-9_\-."' ]+?)\s*=\s*(.*)$""")
_INLINE = re.compile(r"""[{,]\s*([A-Za-z0-9_\-]+|"[^"]*")\s*=""")
_JSON_TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"|[{}\[\],:]|[^\s{}\[\],:"]+|\n')


def lines_of_toml(text: str) -> dict[Path, int]:
    """Line numbers, counted from one, of tables and keys."""
    lines: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    table: Path = ()
    depth, quoted = 0, ""
    for number, line in enumerate(text.splitlines(), 1):
        if quoted:
            quoted = "" if quoted in line else quoted
            continue
        if depth > 0:
            depth += _open_brackets(line)
            continue
        header = _HEADER.match(line)
        if header:
            table = _table_path(_names(header[2]), header[1] == "[[", counts)
            lines[table] = number
            continue
        assign = _ASSIGN.match(line)
        if assign:
            here = (*table, *_names(assign[1]))
            lines[here] = number
            for name in _INLINE.findall(assign[2]):
                lines.setdefault((*here, name.strip('"')), number)
            quoted = _open_quote(assign[2])
            depth = 0 if quoted else max(0, _open_brackets(assign[2]))
    return lines


def _names(dotted: str) -> Path:
    return tuple(name.strip().strip("\"'") for name in dotted.split("."))


def _table_path(names: Path, is_list: bool, counts: dict[Path, int]) -> Path:
    """The path of a header, with the position of the last entry of each list it goes through."""
    path: Path = ()
    for position, name in enumerate(names):
        path = (*path, name)
        last = position == len(names) - 1
        if last and is_list:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = (*path, counts[path])
    return path


def _open_brackets(line: str) -> int:
    bare = re.sub(r""""(?:[^"\\]|\\.)*"|'[^']*'|#.*$""", "", line)
    return bare.count("[") + bare.count("{") - bare.count("]") - bare.count("}")


def _open_quote(rest: str) -> str:
    for mark in ('"""', "'''"):
        if rest.count(mark) % 2:
            return mark
    return ""


def lines_of_json(text: str) -> dict[Path, int]:
    """Line numbers, counted from one, of members and list entries."""
    lines: dict[Path, int] = {(): 1}
    open_things: list[_Open] = []
    for token, number in _tokens(text):
        inside = open_things[-1] if open_things else None
        if token in ("}", "]"):
            if open_things:
                open_things.pop()
        elif token == ",":
            if inside:
                inside.next = inside.next + 1 if isinstance(inside.next, int) else None
        elif token != ":":
            if inside and inside.next is None:
                inside.next = token.strip('"')
                lines.setdefault((*inside.path, inside.next), number)
                continue
            path = (*inside.path, inside.next) if inside and inside.next is not None else ()
            lines.setdefault(path, number)
            if token in ("{", "["):
                open_things.append(_Open(path, 0 if token == "[" else None))
    return lines


@dataclass(slots=True)
class _Open:
    """An object or list being read, and the key or position of what comes next in it."""

    path: Path
    next: str | int | None


def _tokens(text: str) -> Iterator[tuple[str, int]]:
    number = 1
    for match in _JSON_TOKEN.finditer(text):
        if match[0] == "\n":
            number += 1
        else:
            yield match[0], number
