"""`lemel where`: the places that the program uses, and which rule chose each."""

from __future__ import annotations

import os
import sys
import tomllib
from pathlib import Path

from lemel.cli.answer import Told
from lemel.cli.run import verb
from lemel.errors import BadInput

__all__ = ["book_place", "where"]

SETTINGS = "lemel.toml"
_BOOK_VARIABLE = "LEMEL_BOOK"


def book_place() -> tuple[Path, str]:
    """The book's folder and what named it: environment, ./lemel.toml, or the user's data folder."""
    named = os.environ.get(_BOOK_VARIABLE)
    if named:
        return Path(named).expanduser(), _BOOK_VARIABLE
    settings = Path(SETTINGS)
    if settings.is_file():
        try:
            folder = tomllib.loads(settings.read_text("utf-8")).get("book")
        except (tomllib.TOMLDecodeError, UnicodeDecodeError, OSError) as error:
            raise BadInput(SETTINGS, str(error), "TOML that can be read", "Mend it.") from None
        if folder is not None and not isinstance(folder, str):
            raise BadInput(f"{SETTINGS}, book", str(folder), "a folder in quotes", "Mend it.")
        if folder:
            return Path(folder).expanduser(), SETTINGS
    return _data_folder() / "lemel" / "book", "data folder"


def _data_folder() -> Path:
    """Where this system keeps a user's data."""
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support"
    return Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")


@verb("where")
def where() -> Told:
    """Where the program, its tables, the demo and the book lie."""
    from lemel import __version__
    from lemel.demo import examples, quillmarsh

    book, named_by = book_place()
    program = Path(__file__).resolve().parents[1]
    payload = {
        "version": __version__,
        "python": sys.version.split()[0],
        "program": str(program),
        "tables": str(program / "tables" / "data"),
        "demo": str(quillmarsh()),
        "examples": str(examples()),
        "settings": str(Path(SETTINGS).resolve()),
        "settings_found": Path(SETTINGS).is_file(),
        "book": str(book),
        "book_named_by": named_by,
        "book_found": book.is_dir(),
    }
    rows = [
        ("program", f"{payload['program']} (version {__version__}, Python {payload['python']})"),
        ("tables", str(payload["tables"])),
        ("demo month", str(payload["demo"])),
        ("examples", str(payload["examples"])),
        ("settings", f"{payload['settings']}{_absent(payload['settings_found'])}"),
        ("book", f"{book}{_absent(payload['book_found'])}, by {named_by}"),
    ]
    return Told(payload, lambda paper: paper.table(("", ""), rows, left=2, header=False))


def _absent(there: object) -> str:
    return "" if there else " (not there yet)"
