"""What must not stand in any file of the project."""

from __future__ import annotations

import re
import sys
import tomllib

import pytest

from tests.house.reading import HOUSE, SOURCE, agree, imports, modules, tracked_files

#: Names of documents' own grammars, which nobody is ever asked for.
GRAMMARS = ("http://www.w3.org/",)
#: This machine itself.
OWN_HOSTS = ("http://127.0.0.1", "http://{host}")
#: Put together here, so that this page does not name them itself.
BARRED = [
    "/".join(["", part, ""]) for part in ("work", "tmp", "root", "home", "opt")
] + ["shared" + "/facts", "pypi" + ".org", "files.python" + "hosted"]  # fmt: skip
ADDRESS = re.compile(r"https?:\\?/\\?/|\bwww\.|\"//[a-z0-9-]+\.[a-z]{2,}/")
#: Packages whose modules have another name.
IMPORTED_AS = {"django-ninja": "ninja", "django-htmx": "django_htmx"}
#: Loaded by Django, which finds their names in its settings.
NAMED_IN_SETTINGS = {"django_htmx", "whitenoise"}
TEXTS = [path for path in tracked_files() if path.suffix not in (".png", ".pdf", ".ttf", ".svgz")]


def test_there_are_files_to_read():
    assert len(TEXTS) > 50


def test_the_library_names_no_other_host():
    agree(
        str(path.relative_to(HOUSE))
        for path in SOURCE.rglob("*")
        if path.is_file() and path.suffix != ".pyc"
        if ADDRESS.search(_without_grammars(path.read_text("utf-8", "replace")))
    )


def test_no_file_names_a_place_on_somebodys_machine():
    agree(
        f"{path.relative_to(HOUSE)} names {word}"
        for path in TEXTS
        for word in BARRED
        if word in path.read_text("utf-8", "replace")
    )


def _without_grammars(text: str) -> str:
    for grammar in (*GRAMMARS, *OWN_HOSTS):
        text = text.replace(grammar, "")
    return text


@pytest.mark.parametrize("name", ["run.txt", "dev.txt", "uv.txt"])
def test_the_locked_lists_hold_hashes_and_no_address(name):
    text = (HOUSE / "locks" / name).read_text("utf-8")
    assert "://" not in text
    assert "--index" not in text
    pins = re.findall(r"^[a-z0-9._-]+==", text, re.MULTILINE)
    assert pins
    assert text.count("--hash=sha256:") >= len(pins)


def test_what_the_project_needs_is_in_the_locked_list():
    config = tomllib.loads((HOUSE / "pyproject.toml").read_text("utf-8"))
    for group, name in (
        (config["project"]["dependencies"], "run.txt"),
        (config["dependency-groups"]["dev"], "dev.txt"),
        (config["dependency-groups"]["build"], "run.txt"),
        (config["dependency-groups"]["uv"], "uv.txt"),
    ):
        locked = re.findall(r"^([a-z0-9._-]+)==", (HOUSE / "locks" / name).read_text(), re.M)
        named = [entry for entry in group if isinstance(entry, str)]
        needed = {re.split(r"[<>=!~ ]", entry)[0].lower() for entry in named}
        assert needed <= set(locked)


def test_the_library_needs_what_it_imports_and_no_more():
    project = tomllib.loads((HOUSE / "pyproject.toml").read_text("utf-8"))["project"]
    listed = [*project["dependencies"], *project["optional-dependencies"]["shop"]]
    needed = {re.split(r"[<>=!~ ]", entry)[0] for entry in listed}
    needed = {IMPORTED_AS.get(name, name) for name in needed}
    imported = {name.split(".")[0] for module in modules() for name, _ in imports(module)}
    foreign = imported - set(sys.stdlib_module_names) - {"lemel"}
    assert foreign - needed == set()
    assert needed - foreign == NAMED_IN_SETTINGS


def test_the_development_list_holds_the_same_releases_as_the_run_list():
    def pins(name: str) -> set[str]:
        text = (HOUSE / "locks" / name).read_text("utf-8")
        return set(re.findall(r"^([a-z0-9._-]+==[^\s\\]+)", text, re.MULTILINE))

    assert pins("run.txt") <= pins("dev.txt")
