"""Digests: one spelling of an entry, and the hash that ties it to the one before.

Only opaque keys of people go in, so a name can be erased and the chain still holds.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from typing import Any

__all__ = ["content_digest", "entry_digest", "spelled", "text_digest"]

#: One posting in its spelling: owner's key, place, body, mg, {element: ng}.
SpelledLine = tuple[str, str, str, int, dict[str, int]]


def spelled(data: Any) -> str:
    """One text for the same data, whoever writes it."""
    return json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=True)


def text_digest(text: str) -> str:
    """SHA-256 of a text."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def content_digest(
    kind: str, about: str, consent: str, memo: str, reverses: int | None, by: str,
    lines: Iterable[SpelledLine],
) -> str:  # fmt: skip
    """What an entry says, without number, key and hour: the same act, the same digest."""
    said = [kind, about, consent, json.loads(memo), reverses, by, list(lines)]
    return text_digest(spelled(said))


def entry_digest(number: int, key: str, made_at: str, content: str, previous: str) -> str:
    """The link: number, key, hour and content, tied to the digest before."""
    return text_digest(spelled([number, key, made_at, content, previous]))
