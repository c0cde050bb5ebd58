"""Backup and restore: one zip, which counts only once it was opened and its copy audited."""

from __future__ import annotations

import json
import shutil
import sqlite3
import tempfile
import zipfile
from pathlib import Path, PurePosixPath

from django.db import connections

from lemel import __version__
from lemel.book import engine, folder, ledger
from lemel.book.audit import audit
from lemel.book.values import Audit
from lemel.errors import BadInput

__all__ = ["FORMAT", "backup", "restore"]

FORMAT = "lemel-book-backup 1"
_MANIFEST = "manifest.json"


def backup(alias: str, home: Path, now: str, to: Path | None) -> tuple[Path, Audit]:
    """A zip of database and photographs, verified by opening and auditing the copy.

    Named by the hour in the book's own backups unless `to` names a file. A copy that does not
    hold is not kept (BadInput).
    """
    target = to or home / folder.BACKUPS / f"book-{now.replace(':', '')}.zip"
    if target.exists():
        raise BadInput("backup", str(target), "a file that is not there yet", "Name another.")
    with tempfile.TemporaryDirectory(prefix="lemel-book-") as work:
        copy = Path(work) / engine.DATABASE
        number, digest = _copy(alias, copy)
        manifest = {
            "format": FORMAT, "lemel": __version__, "made_at": now, "entries": number,
            "head": digest,
        }  # fmt: skip
        draft = Path(work) / "draft.zip"
        with zipfile.ZipFile(draft, "w", zipfile.ZIP_DEFLATED) as packed:
            packed.writestr(_MANIFEST, json.dumps(manifest, indent=1, sort_keys=True))
            packed.write(copy, engine.DATABASE)
            for photo in sorted((home / folder.PHOTOS).rglob("*")):
                if photo.is_file():
                    packed.write(photo, photo.relative_to(home).as_posix())
        found = _unpack(draft, Path(work) / "copy")
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(draft, target)
        target.chmod(0o600)
    return target, found


def _copy(alias: str, to: Path) -> tuple[int, str]:
    """The database as of one moment, and its head at that moment."""
    connections[alias].ensure_connection()
    copy = sqlite3.connect(to)
    try:
        connections[alias].connection.backup(copy)
        copy.execute("PRAGMA journal_mode=DELETE")
        row = copy.execute("SELECT number, digest FROM book_entry ORDER BY number DESC LIMIT 1")
        head: tuple[int, str] = row.fetchone() or (0, "")
    finally:
        copy.close()
    return head


def restore(zipped: Path, home: Path) -> Audit:
    """A book from its backup, into a folder that has none; audited before it is there."""
    if folder.is_book(home):
        raise BadInput("book", str(home), "a folder without a book", "Restore to another folder.")
    if not zipped.is_file():
        raise BadInput("backup", str(zipped), "a backup file", "Check the name.")
    with tempfile.TemporaryDirectory(prefix="lemel-book-") as work:
        copy = Path(work) / "copy"
        found = _unpack(zipped, copy)
        folder.make_folder(home)
        shutil.copytree(copy / folder.PHOTOS, home / folder.PHOTOS, dirs_exist_ok=True)
        # The database comes last: without it the folder is no book.
        shutil.copyfile(copy / engine.DATABASE, home / engine.DATABASE)
    return found


def _unpack(zipped: Path, into: Path) -> Audit:
    """Open a backup and audit it; BadInput if it does not hold."""
    try:
        with zipfile.ZipFile(zipped) as packed:
            manifest = json.loads(packed.read(_MANIFEST))
            for name in packed.namelist():
                path = PurePosixPath(name)
                if path.is_absolute() or ".." in path.parts or "\\" in name:
                    raise BadInput("backup", name, "plain names", "This is no backup of a book.")
            packed.extractall(into)
    except (zipfile.BadZipFile, KeyError, ValueError, OSError) as fault:
        raise BadInput(
            "backup", str(fault), "a backup that can be read", "Take an earlier one."
        ) from None
    (into / folder.PHOTOS).mkdir(exist_ok=True)
    if manifest.get("format") != FORMAT or not (into / engine.DATABASE).is_file():
        raise BadInput("backup", manifest.get("format"), FORMAT, "Take a backup of a book.")
    expect = (manifest["entries"], manifest["head"]) if manifest["entries"] else None
    alias = engine.connect(into)
    try:
        engine.migrate(alias)
        found = audit(alias, expect)
        if (found.entries, found.head) != (manifest["entries"], manifest["head"]) or found.faults:
            codes = ", ".join(sorted({fault.code for fault in found.faults})) or "another head"
            raise BadInput("backup", codes, "a copy that passes its audit", "Take an earlier one.")
        assert ledger.tail(alias) == (found.entries, found.head)
        with connections[alias].cursor() as cursor:
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    finally:
        engine.let_go(alias)
    return found
