"""Filed records as a shelf: what stands, in the order in which it first came, and every version."""

from __future__ import annotations

import json
from typing import Any

from lemel.book import filing, models
from lemel.book.filing import Filing

__all__ = ["in_order", "natural", "standing", "versions"]


def standing(alias: str, kind: str) -> dict[str, Filing]:
    """What stands of a kind, by name, the first filed first: the order of a file is kept."""
    found = filing.all_of(alias, kind)
    return {name: found[name] for name in in_order(alias, kind) if name in found}


def in_order(alias: str, kind: str) -> list[str]:
    """Names of a kind as they first came, the ones that are over too."""
    rows = models.Filed.objects.using(alias).filter(kind=kind).order_by("number")
    return list(dict.fromkeys(rows.values_list("name", flat=True)))


def versions(alias: str, kind: str) -> list[tuple[str, dict[str, Any], bool]]:
    """Every version of every record of a kind, in the order of filing: name, record, over."""
    rows = models.Filed.objects.using(alias).filter(kind=kind).order_by("number")
    return [
        (name, json.loads(text), gone)
        for name, text, gone in rows.values_list("name", "record", "gone")
    ]


def natural(name: str) -> tuple[tuple[int, int, str], ...]:
    """A key by which C2 comes before C10.

    >>> sorted(["C10", "C2", "C1"], key=natural)
    ['C1', 'C2', 'C10']
    """
    parts: list[tuple[int, int, str]] = []
    word = ""
    for sign in f"{name} ":
        if word and sign.isdecimal() != word[-1].isdecimal():
            parts.append((0, int(word), "") if word.isdecimal() else (1, 0, word))
            word = ""
        word += sign
    return tuple(parts)
