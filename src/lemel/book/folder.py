"""The folder of a book: database, photographs, backups, and a secret that only its owner reads."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from lemel.book.engine import DATABASE
from lemel.errors import BadInput

__all__ = ["BACKUPS", "PHOTOS", "SECRET", "is_book", "make_folder"]

PHOTOS, BACKUPS, SECRET = "photos", "backups", "secret"


def is_book(folder: Path) -> bool:
    """Whether a book lies there."""
    return (folder / DATABASE).is_file()


def make_folder(folder: Path) -> None:
    """The folder and what lies in it beside the database; what is there stays."""
    try:
        for part in (folder, folder / PHOTOS, folder / BACKUPS):
            part.mkdir(mode=0o700, parents=True, exist_ok=True)
        secret = folder / SECRET
        if not secret.exists():
            handle = os.open(secret, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(handle, "w") as file:
                file.write(secrets.token_urlsafe(48) + "\n")
    except OSError as fault:
        raise BadInput(
            "book", str(folder), "a folder that can be written", f"{fault.strerror}."
        ) from None
