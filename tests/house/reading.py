"""Reading the house's own files: modules as syntax trees, codes, sources, sizes."""

from __future__ import annotations

import ast
import csv
import json
import subprocess
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from io import StringIO
from pathlib import Path

HOUSE = Path(__file__).resolve().parents[2]
SOURCE = HOUSE / "src" / "lemel"


@dataclass(frozen=True)
class Module:
    """One Python file of the library."""

    path: Path
    tree: ast.Module
    lines: int

    @property
    def room(self) -> str:
        """The room that it lies in; a top-level module is its own room."""
        return self.path.relative_to(SOURCE).parts[0].removesuffix(".py")

    @property
    def place(self) -> str:
        """Path inside the library."""
        return self.path.relative_to(SOURCE).as_posix()


@cache
def modules() -> tuple[Module, ...]:
    """Every module of the library."""
    found = []
    for path in sorted(SOURCE.rglob("*.py")):
        text = path.read_text("utf-8")
        found.append(Module(path, ast.parse(text, str(path)), text.count("\n") + 1))
    return tuple(found)


def rooms() -> tuple[str, ...]:
    """Every room: a package of the library."""
    return tuple(
        sorted(path.parent.name for path in SOURCE.glob("*/__init__.py") if path.parent != SOURCE)
    )


def agree(faults: Iterable[str]) -> None:
    """No fault, or all of them in one list."""
    told = sorted(faults)
    assert not told, "\n" + "\n".join(told)


def tracked_files() -> list[Path]:
    """The files that belong to the project, by the word of git, or all if there is no git."""
    done = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=HOUSE, capture_output=True, check=False,
    )  # fmt: skip
    names = done.stdout.decode().split("\0") if done.returncode == 0 else []
    listed = [HOUSE / name for name in names if name]
    files = listed or [p for p in HOUSE.rglob("*") if ".venv" not in p.parts]
    return [path for path in files if path.is_file()]


def imports(module: Module) -> Iterator[tuple[str, int]]:
    """Dotted names that a module imports, with the line."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            for name in node.names:
                yield name.name, node.lineno
        elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            yield node.module, node.lineno


def functions(module: Module) -> Iterator[tuple[str, int]]:
    """Functions with their length in lines, the docstring left out."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            body = node.body[1:] if ast.get_docstring(node) else node.body
            start = body[0].lineno if body else node.lineno
            head = node.body[0].lineno - node.lineno
            yield node.name, (node.end_lineno or start) - start + 1 + head


def calls(module: Module, names: set[str]) -> Iterator[ast.Call]:
    """Calls of any of these names, plain or as an attribute."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Call):
            called = node.func
            name = called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")
            if name in names:
                yield node


def texts(module: Module) -> Iterator[str]:
    """Every literal text of a module; the gaps of an f-string are written as \\0."""
    inside: set[int] = set()
    for node in ast.walk(module.tree):
        if isinstance(node, ast.JoinedStr):
            inside |= {id(part) for part in node.values}
            yield pattern_of(node)
        elif id(node) not in inside and pattern_of(node):
            yield pattern_of(node)


def pattern_of(node: ast.AST) -> str:
    """A literal text, or an f-string with \\0 where a value goes; "" for anything else."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(
            part.value if isinstance(part, ast.Constant) else "\0" for part in node.values
        )
    return ""


def data_rows() -> Iterator[tuple[str, dict[str, object]]]:
    """Every row of every fact table of the house with its file's place."""
    for path in sorted(SOURCE.rglob("data/*.csv")):
        for row in csv.DictReader(StringIO(path.read_text("utf-8"))):
            yield path.relative_to(SOURCE).as_posix(), dict(row)
    for path in sorted(SOURCE.rglob("data/*.json")):
        for row in json.loads(path.read_text("utf-8")):
            yield path.relative_to(SOURCE).as_posix(), row
