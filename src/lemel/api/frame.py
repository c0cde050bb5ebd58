"""The frame of every act: the book, its key, one transaction, one shape of answer.

An act that is sent twice with the same `Idempotency-Key` is done once: what it answered stands
in the book, filed as "api_key", and is told again. Nothing of an act that was refused is kept.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable
from contextlib import nullcontext
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.utils.crypto import constant_time_compare, salted_hmac
from ninja import Status

from lemel.api.problems import Halted
from lemel.api.shapes import plain_out
from lemel.book import Book, open_book
from lemel.errors import BadInput

__all__ = ["KEY_HEADER", "KEY_PATTERN", "act", "as_done", "book"]

KEY_HEADER = "Idempotency-Key"
KEY_PATTERN = "^[!-~]{8,100}$"
_KIND = "api_key"


def book() -> Book:
    """The book that is served. Every thread has its own connection to it; never close it."""
    return _open(settings.LEMEL_BOOK)


@lru_cache(maxsize=8)
def _open(folder: Path) -> Book:
    return open_book(folder)


def act(
    request: HttpRequest, do: Callable[[Book], Any], status: int = 200, *, alone: bool = False
) -> Status[Any]:
    """Do something once, and its answer.

    `do` gets the book; what it gives is made plain. `alone`: it cannot be part of a transaction
    (it writes files or starts a process), so its key is filed after it.
    """
    key, shop = _key(request), book()
    digest = _digest(request) if key else ""
    with nullcontext() if alone else shop.together():
        kept = _kept(shop, key, digest) if key else None
        if kept is None:
            kept = status, plain_out(do(shop))
            if key:
                _keep(shop, key, digest, *kept)
        return Status(*kept)


def as_done(done: Any) -> Any:
    """What a step or a mishap gave; one that stopped halts the act and leaves nothing."""
    stopped = getattr(done, "stopped", None)
    if stopped if stopped is not None else done.entry is None:
        raise Halted(done.objections)
    return done


def _key(request: HttpRequest) -> str:
    key = str(request.headers.get(KEY_HEADER, ""))
    if key and not re.fullmatch(KEY_PATTERN, key):
        raise BadInput(KEY_HEADER, key, "8 to 100 signs, no spaces", "Draw a new one at random.")
    return key


def _digest(request: HttpRequest) -> str:
    """What was sent, in one spelling, tied to the book's own secret: it says nothing by itself."""
    said: list[Any] = [request.method, request.get_full_path()]
    if request.content_type == "multipart/form-data":
        said.append(sorted(request.POST.items()))
        for name, file in sorted(request.FILES.items()):
            file.seek(0)
            said.append([name, hashlib.sha256(file.read()).hexdigest()])
            file.seek(0)
    elif request.body:
        said.append(json.loads(request.body))
    return str(salted_hmac("lemel.api", json.dumps(said, sort_keys=True)).hexdigest())


def _kept(shop: Book, key: str, digest: str) -> tuple[int, Any] | None:
    """The answer that was given under this key; BadInput where another thing was sent with it."""
    there = shop.filed_history(_KIND, key)
    if not there:
        return None
    if not constant_time_compare(there[0].record["digest"], digest):
        raise BadInput(
            "key", key, "a key that is new, or the same act again",
            f"Something else was sent with this {KEY_HEADER}; draw a new one.",
        )  # fmt: skip
    return int(there[0].record["status"]), json.loads(there[0].private["answer"])


def _keep(shop: Book, key: str, digest: str, status: int, answer: Any) -> None:
    # The answer lies apart from the digests, as all does that might name a person.
    record, apart = {"digest": digest, "status": status}, {"answer": json.dumps(answer)}
    shop.file(_KIND, key, record, private=apart)
