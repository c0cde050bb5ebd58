"""The house keeps its own order: who may ask whom, what each room shows, how long a page is."""

from __future__ import annotations

import ast
import importlib
import inspect
import tomllib
from collections.abc import Iterator

from tests.house.reading import (
    HOUSE,
    SOURCE,
    agree,
    calls,
    functions,
    imports,
    modules,
    rooms,
)

#: Rooms of pure thought: no database, web, clock, chance; usable as a library.
PURE = (
    "quantities values tables solve metal scrap blend melt pour mill cut worth plan files words"
).split()
#: Libraries that one room alone may import.
ONE_DOOR = {"highspy": "solve", "matplotlib": "sketch", "typst": "cards", "segno": "cards"}
BARRED = set(
    "sqlite3 django pydantic click requests httpx urllib http socket asyncio secrets uuid time "
    "pickle subprocess threading multiprocessing".split()
)
CLOCKS = {"now", "today", "utcnow", "fromtimestamp"}
#: Rooms that hold files and no code.
DATA_ROOMS = {"demo"}
#: What a module needs for itself and shows to nobody.
OF_THE_LANGUAGE = {"annotations", "Any", "TYPE_CHECKING"}
#: Longer than the measure, with the reason.
LONG_MODULES: dict[str, str] = {}
LONG_FUNCTIONS: dict[str, str] = {}
#: Rooms that lack a page or tests; these lists only shrink.
NO_PAGE: set[str] = set()
NO_TESTS: set[str] = set()


def test_the_layers_leave_no_room_out():
    config = tomllib.loads((HOUSE / "pyproject.toml").read_text("utf-8"))
    (contract,) = config["tool"]["importlinter"]["contracts"]
    named = {name.strip() for layer in contract["layers"] for name in layer.split("|")}
    assert contract["exhaustive"]
    assert set(rooms()) <= named


def test_nobody_imports_anothers_private_modules():
    agree(
        f"{module.place}:{line} imports {name}"
        for module in modules()
        for name, line in imports(module)
        if name.startswith("lemel.") and name.count(".") > 1
        if name.split(".")[1] != module.room
    )


def test_each_outside_library_has_one_door():
    agree(
        f"{module.place}:{line}: only {ONE_DOOR[name.split('.')[0]]} imports {name}"
        for module in modules()
        for name, line in imports(module)
        if ONE_DOOR.get(name.split(".")[0], module.room) != module.room
    )


def test_pure_rooms_have_no_clock_and_no_wires():
    pure = [module for module in modules() if module.room in PURE]
    agree(
        f"{module.place}:{line} imports {name}"
        for module in pure
        for name, line in imports(module)
        if name.split(".")[0] in BARRED
    )
    agree(
        f"{module.place}:{call.lineno} asks {ast.unparse(call)}"
        for module in pure
        for call in calls(module, CLOCKS | {"eval", "exec", "input"})
    )


def test_chance_has_a_seed():
    agree(
        f"{module.place}:{call.lineno} draws without a seed"
        for module in modules()
        for call in calls(module, {"Random", "default_rng", "RandomState"})
        if not call.args and not call.keywords
    )
    agree(
        f"{module.place}:{call.lineno} draws from the shared dice: {ast.unparse(call)}"
        for module in modules()
        for call in ast.walk(module.tree)
        if isinstance(call, ast.Call)
        and ast.unparse(call.func).startswith(("random.", "np.random.", "numpy.random."))
        and ast.unparse(call.func).split(".")[-1] not in {"Random", "default_rng", "Generator"}
    )


def test_every_module_says_what_it_is():
    agree(module.place for module in modules() if not ast.get_docstring(module.tree))


def test_a_module_is_one_idea_long():
    agree(
        f"{module.place}: {module.lines} lines"
        for module in modules()
        if module.lines > 400 and module.place not in LONG_MODULES
    )


def test_a_function_is_one_thought_long():
    agree(
        f"{module.place}:{name}: {lines} lines"
        for module in modules()
        for name, lines in functions(module)
        if lines > 50 and f"{module.place}:{name}" not in LONG_FUNCTIONS
    )


def test_reasons_for_length_are_still_needed():
    lengths = {m.place: m.lines for m in modules()}
    assert all(lengths.get(place, 0) > 400 for place in LONG_MODULES)
    long = {f"{m.place}:{name}" for m in modules() for name, n in functions(m) if n > 50}
    assert set(LONG_FUNCTIONS) <= long


def test_what_a_room_shows_is_counted_and_described():
    agree(fault for room in rooms() if room not in DATA_ROOMS for fault in _faults_of_face(room))


def _faults_of_face(room: str) -> Iterator[str]:
    package = importlib.import_module(f"lemel.{room}")
    listed = getattr(package, "__all__", [])
    shown = {
        name
        for name, value in vars(package).items()
        if not name.startswith("_") and not inspect.ismodule(value) and name not in OF_THE_LANGUAGE
    }
    if len(set(listed)) < len(listed):
        yield f"{room}: a name stands twice in __all__"
    for name in shown - set(listed):
        yield f"{room}: {name} is shown and not listed"
    for name in listed:
        if not hasattr(package, name):
            yield f"{room}: {name} is listed and not shown"
        value = getattr(package, name, None)
        described = (getattr(value, "__doc__", None) or "").strip()
        if (inspect.isclass(value) or inspect.isfunction(value)) and not described:
            yield f"{room}: {name} has no docstring"


def test_a_name_that_is_loaded_late_is_not_the_name_of_its_module():
    """Else whoever loads the module first gets the module under that name."""
    agree(
        f"{room}: {name} is shown late and is also a module"
        for room in rooms()
        for name in getattr(importlib.import_module(f"lemel.{room}"), "__all__", [])
        if (SOURCE / room / f"{name}.py").exists() and name not in _shown_at_once(room)
    )


def _shown_at_once(room: str) -> set[str]:
    tree = ast.parse((SOURCE / room / "__init__.py").read_text("utf-8"))
    taken = [node for node in tree.body if isinstance(node, ast.ImportFrom)]
    return {alias.asname or alias.name for node in taken for alias in node.names}


def test_a_room_says_what_comes_in_and_what_goes_out():
    said = {
        room: ast.get_docstring(ast.parse((SOURCE / room / "__init__.py").read_text("utf-8"))) or ""
        for room in rooms()
    }
    agree(room for room, text in said.items() if len(text.split()) < 8)
    agree(f"{room}: too long" for room, text in said.items() if len(text.splitlines()) > 12)


def test_a_room_has_tests_and_a_page():
    named = set(rooms())
    tested = {room for room in named if any((HOUSE / "tests" / room).glob("test_*.py"))}
    described = {room for room in named if (HOUSE / "docs" / f"{room}.md").exists()}
    agree(f"{room}: no tests" for room in named - tested - NO_TESTS)
    agree(f"{room}: no page" for room in named - described - NO_PAGE)
    assert not tested & NO_TESTS
    assert not described & NO_PAGE
