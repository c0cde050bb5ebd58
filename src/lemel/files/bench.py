"""Reader of a bar by itself, as the files for the bench hold it."""

from __future__ import annotations

from typing import Any

from lemel.errors import BadInput
from lemel.files.keys import Key, pick
from lemel.files.place import Place, gathered
from lemel.files.workshop import BAR_KEYS
from lemel.values import Bar

__all__ = ["BENCH_BAR_KEYS", "bench_bar"]

#: A bar alone needs no owner, and what is not said of it is taken as an ingot as cast.
BENCH_BAR_KEYS = tuple(
    Key(
        key.name,
        key.read,
        key.name in ("id", "composition", "section", "length_mm", "mass_g"),
        key.to,
    )
    for key in BAR_KEYS
)


def bench_bar(data: Any, place: Place) -> Bar:
    """A bar of a bench file."""
    values = pick(data, place, *BENCH_BAR_KEYS)
    for key, otherwise in (("owner", "shop"), ("kind", "ingot"), ("sd", 0.0)):
        values.setdefault(key, otherwise)
    try:
        return Bar(**values)
    except BadInput as fault:
        raise gathered([place.placed(fault)]) from None
