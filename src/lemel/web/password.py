"""The login of a book: one password of the house, kept as a hash in the book's folder."""

from __future__ import annotations

import os
from pathlib import Path

from lemel.errors import BadInput

__all__ = ["clear_password", "has_password", "is_password", "password_hash", "set_password"]

_FILE = "login"
#: Long enough that a guess a second for a year has little hope; common practice, no source.
LEAST_SIGNS = 10


def has_password(folder: Path) -> bool:
    """Whether the book asks for a login."""
    return (folder / _FILE).is_file()


def password_hash(folder: Path) -> str:
    """The hash as it is kept; "" where there is no login."""
    return (folder / _FILE).read_text("ascii").strip() if has_password(folder) else ""


def set_password(folder: Path, password: str) -> None:
    """Keep the hash of a password, readable by the owner of the folder alone."""
    from django.contrib.auth.hashers import make_password

    if len(password) < LEAST_SIGNS:
        raise BadInput(
            "password", "too short", f"{LEAST_SIGNS} signs or more",
            "Take a few words that belong together for you alone.",
        )  # fmt: skip
    fresh = folder / f"{_FILE}.new"
    fresh.unlink(missing_ok=True)
    handle = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w") as file:
        file.write(make_password(password) + "\n")
    os.replace(fresh, folder / _FILE)


def clear_password(folder: Path) -> None:
    """Ask for no login any more."""
    (folder / _FILE).unlink(missing_ok=True)


def is_password(folder: Path, password: str) -> bool:
    """Whether this is the book's password."""
    from django.contrib.auth.hashers import check_password

    return bool(check_password(password, password_hash(folder)))
