"""The devices that may speak to a book with a login: one token each, kept as its digest alone.

They lie beside the login in the book's folder, not in the ledger, and no backup holds them.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import secrets
from collections.abc import Mapping
from pathlib import Path

from lemel.errors import BadInput
from lemel.values import is_id

__all__ = ["device_of", "devices_of", "forget_device", "new_token"]

_FILE = "devices"
_LONGEST = 60


def new_token(folder: Path, name: str) -> str:
    """A token for a device of this name; it is shown this once. An old one of the name is void."""
    is_id("device", name)
    if len(name) > _LONGEST:
        raise BadInput("device", name, f"up to {_LONGEST} signs", "Give it a shorter name.")
    token = f"lemel-{secrets.token_urlsafe(32)}"
    _keep(folder, {**devices_of(folder), name: _digest(token)})
    return token


def forget_device(folder: Path, name: str) -> None:
    """Its token opens nothing any more."""
    known = dict(devices_of(folder))
    if name not in known:
        raise BadInput("device", name, ", ".join(known) or "none yet", "Name a device.")
    del known[name]
    _keep(folder, known)


def devices_of(folder: Path) -> Mapping[str, str]:
    """The devices that have a token, by name, with its digest."""
    path = folder / _FILE
    known: Mapping[str, str] = json.loads(path.read_text("utf-8")) if path.is_file() else {}
    return known


def device_of(folder: Path, token: str) -> str:
    """The device that this token is of; "" for none. As long for a wrong one as for a right one."""
    digest, found = _digest(token), ""
    for name, kept in devices_of(folder).items():
        if hmac.compare_digest(digest, kept):
            found = name
    return found


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8")).hexdigest()


def _keep(folder: Path, known: Mapping[str, str]) -> None:
    fresh = folder / f"{_FILE}.new"
    fresh.unlink(missing_ok=True)
    handle = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(json.dumps(dict(known), indent=1) + "\n")
    os.replace(fresh, folder / _FILE)
