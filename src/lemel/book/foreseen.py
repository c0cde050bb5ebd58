"""What a kept plan foresaw of bars, pots and pieces, without opening the whole of it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import lru_cache
from typing import Any, NamedTuple

from lemel.book import models
from lemel.values import Bar, from_plain

__all__ = ["Foreseen", "foreseen"]


class Foreseen(NamedTuple):
    """By the plan's own ids: every bar, the pot of each heat, how many pieces a blank yields."""

    bars: Mapping[str, Bar]
    pots: Mapping[str, str]
    pieces: Mapping[str, int]


def foreseen(alias: str, plan: str) -> Foreseen:
    """The facts of a kept plan; nothing where there is no such plan."""
    digest = models.Kept.objects.using(alias).values_list("digest", flat=True).filter(pk=plan)
    return _read(alias, plan, digest[0]) if digest else Foreseen({}, {}, {})


# By the digest, so that a plan is read once and read anew when a name in it was erased.
@lru_cache(maxsize=128)
def _read(alias: str, plan: str, digest: str) -> Foreseen:  # noqa: ARG001
    text = models.Kept.objects.using(alias).values_list("record", flat=True).get(pk=plan)
    data = json.loads(text)
    plain: list[Any] = list(data["drawer"])
    pieces: dict[str, int] = {}
    for work in data["stock"]:
        for one in work["bars"]:
            plain += [one["bar"], *one["route"]["stock"]]
        pieces |= {blank["piece"]: blank["count"] for blank in work["blanks"]}
    return Foreseen(
        {one["id"]: from_plain(Bar, one) for one in plain},
        {heat["id"]: heat["pot"] for heat in data["heats"]},
        pieces,
    )
