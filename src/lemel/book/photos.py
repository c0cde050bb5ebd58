"""Photographs of what is about to be melted: kept by their digest, registered, never replaced."""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from django.db import connections

from lemel.book import filing, folder, gates, models, records, shelf
from lemel.book.bench_values import Photo
from lemel.book.chain import text_digest
from lemel.errors import BadInput
from lemel.values import Lot, is_one_of

__all__ = ["MOST_BYTES", "OF", "keep", "missing_or_changed", "photos", "read"]

KIND = "photo"
OF = ("mark", "whole", "damage")
MOST_BYTES = 12 * 1024 * 1024
_MEDIA = {"png": "image/png", "jpg": "image/jpeg", "webp": "image/webp"}


def _ending(data: bytes) -> str:
    """What the bytes themselves say they are; the name of a file says nothing."""
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "png"
    if data.startswith(b"\xff\xd8\xff"):
        return "jpg"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "webp"
    raise BadInput("photo", data[:8].hex(), "a PNG, JPEG or WebP picture", "Take it again.")


def keep(
    alias: str, home: Path, now: str, about: str, data: bytes, taken_on: date, of: str, by: str
) -> Photo:
    """Store a picture and register it. One of a lot's mark answers the gate that asks for it."""
    is_one_of("of", of, OF)
    if not records.is_known(alias, about):
        raise BadInput("about", about, "a lot, bar or piece of this book", "Weigh it in first.")
    if not 0 < len(data) <= MOST_BYTES:
        raise BadInput("photo", f"{len(data)} bytes", "up to 12 MiB", "Take a smaller one.")
    digest, ending = hashlib.sha256(data).hexdigest(), _ending(data)
    # The file first: a file without its record does no harm, a record without its file would.
    _store(home / folder.PHOTOS / f"{digest}.{ending}", data)
    record = {
        "about": about, "of": of, "digest": digest, "ending": ending, "bytes": len(data),
        "taken_on": taken_on.isoformat(),
    }  # fmt: skip
    name = text_digest(f"{about}\n{of}\n{digest}")[:32]
    filed = filing.file(alias, now, KIND, name, record, by=by)
    if of == "mark" and isinstance(records.record_of(alias, about), Lot):
        gates.answer(alias, now, about, gates.MARKS, "no", f"photograph {digest[:16]}", by)
    return _photo(filed)


def _store(path: Path, data: bytes) -> None:
    if path.is_file() and path.read_bytes() == data:
        return
    try:
        handle, draft = tempfile.mkstemp(dir=path.parent, prefix=".draft-")
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(draft).replace(path)
    except OSError as fault:
        raise BadInput(
            "photo", str(path), "a folder that can be written", f"{fault.strerror}."
        ) from None


def _photo(filed: filing.Filing) -> Photo:
    said = filed.record
    return Photo(
        said["about"], said["of"], said["digest"], _MEDIA[said["ending"]], said["bytes"],
        date.fromisoformat(said["taken_on"]), filed.by,
        f"{folder.PHOTOS}/{said['digest']}.{said['ending']}",
    )  # fmt: skip


def photos(alias: str, about: str | None = None) -> tuple[Photo, ...]:
    """Registered pictures, or those about one body, the first one first."""
    return tuple(
        _photo(one)
        for one in shelf.standing(alias, KIND).values()
        if about is None or one.record["about"] == about
    )


def read(alias: str, home: Path, digest: str) -> tuple[bytes, str]:
    """A registered picture's bytes and media type; BadInput where it is unknown or changed."""
    for photo in photos(alias):
        if photo.digest == digest:
            path = home / photo.file
            data = path.read_bytes() if path.is_file() else b""
            if hashlib.sha256(data).hexdigest() == digest:
                return data, photo.media
            raise BadInput("photo", digest, "the picture as it was kept", "Run the audit.")
    raise BadInput("photo", digest, "a registered picture", "Look it up by its lot.")


def missing_or_changed(alias: str) -> Iterator[tuple[str, Photo]]:
    """Registered pictures that are not there ("missing"), or not as they were ("changed")."""
    home = Path(connections[alias].settings_dict["NAME"]).parent
    if not models.Filed.objects.using(alias).filter(kind=KIND).exists():
        return
    for photo in photos(alias):
        path = home / photo.file
        if not path.is_file():
            yield "missing", photo
        elif hashlib.sha256(path.read_bytes()).hexdigest() != photo.digest:
            yield "changed", photo
