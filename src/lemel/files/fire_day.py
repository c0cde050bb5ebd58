"""Readers of the files for a whole day at the fire, and for a heat that is followed as it runs."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from lemel.files import kit
from lemel.files.fire import charge
from lemel.files.keys import Key, listed, pick
from lemel.files.leaf import limited, name, positive, text, whole, yes_no
from lemel.files.parts import composition
from lemel.files.place import Place
from lemel.files.source import STDIN, has_format, read_data, read_text
from lemel.values import Charge, Composition, Crucible, Furnace, Mould

__all__ = [
    "DAY_KEYS", "DAY_HEAT_KEYS", "TEND_KEYS", "DayFile", "DayHeatFile", "TendFile", "log_text",
    "read_day", "read_tend",
]  # fmt: skip

_CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)")


def _clock(data: Any, place: Place) -> float:
    """A time of day in minutes after midnight; 24:00 is the end of the day."""
    said = text(data, place)
    found = _CLOCK.fullmatch(said)
    if found is None and said != "24:00":
        raise place.fault(said, 'a time such as "17:30"', "Write hours and minutes in quotes.")
    return 1440.0 if found is None else 60.0 * int(found[1]) + int(found[2])


@dataclass(frozen=True, slots=True)
class DayHeatFile:
    """One heat of a day. None: `pour_at_c`, `pours` and `wait_s` are worked out for the mould
    (None: a wire bar), `family` from the metal."""

    charge: Charge
    piece_g: Mapping[str, tuple[float, ...]]
    condition: Mapping[str, str]
    crucible: Crucible
    mould: Mould | None
    family: str | None
    pour_at_c: float | None
    pours: int | None
    wait_s: float | None
    kiln_min: float
    mill_min: float


@dataclass(frozen=True, slots=True)
class DayFile:
    """A day as written; times in minutes after midnight. `light_up_min` None: as late as may
    be. `keep_order`: the heats stay as they stand, else they are put by alloy family."""

    furnace: Furnace
    heats: tuple[DayHeatFile, ...]
    opens_min: float
    closes_min: float
    light_up_min: float | None
    ambient_c: float
    keep_order: bool


DAY_HEAT_KEYS = (
    Key("id", name, needed=True),
    Key("owner", name),
    Key("charge", charge, needed=True),
    Key("crucible", name, needed=True),
    Key("mould", name),
    Key("family", name),
    Key("pour_at_c", limited(200, 2000)),
    Key("pours", whole(1, 50)),
    Key("wait_s", limited(0, 7200)),
    Key("kiln_min", limited(0, 600)),
    Key("mill_min", limited(0, 600)),
)
DAY_KEYS = (
    Key("format", text, needed=True),
    Key("furnace", kit.furnace, needed=True),
    Key("crucible", listed(kit.crucible), needed=True),
    Key("mould", listed(kit.mould)),
    Key("heat", listed(lambda data, place: pick(data, place, *DAY_HEAT_KEYS)), needed=True),
    Key("opens", _clock),
    Key("closes", _clock, needed=True),
    Key("light_up", _clock),
    Key("ambient_c", limited(-30, 60)),
    Key("keep_order", yes_no),
)


def read_day(path: str | Path) -> DayFile:
    """`format = "lemel-day 1"`: the day's heats on one furnace, and when the door is shut."""
    data, place = read_data(path)
    has_format(data, place, "day")
    values = pick(data, place, *DAY_KEYS)
    pots = {pot.id: pot for pot in values["crucible"]}
    moulds = {mould.id: mould for mould in values.get("mould", ())}
    heats = tuple(
        _heat(one, place.at("heat").at(n), pots, moulds) for n, one in enumerate(values["heat"])
    )
    if not heats:
        raise place.at("heat").fault("none", "at least one heat", "Name the day's heats.")
    names = [one.charge.heat for one in heats]
    for n, one in enumerate(names):
        if one in names[:n]:
            raise place.at("heat").at(n, "id").fault(one, "each id once", "Give it its own name.")
    return DayFile(
        values["furnace"],
        heats,
        values.get("opens", 0.0),
        values["closes"],
        values.get("light_up"),
        values.get("ambient_c", 18.0),
        values.get("keep_order", False),
    )


def _heat(
    one: dict[str, Any], place: Place, pots: Mapping[str, Crucible], moulds: Mapping[str, Mould]
) -> DayHeatFile:
    made, pieces, condition = one["charge"]
    return DayHeatFile(
        charge=replace(made, heat=one["id"], owner=one.get("owner", "shop")),
        piece_g=pieces,
        condition=condition,
        crucible=_known(one["crucible"], pots, place.at("crucible")),
        mould=_known(one["mould"], moulds, place.at("mould")) if "mould" in one else None,
        family=one.get("family"),
        pour_at_c=one.get("pour_at_c"),
        pours=one.get("pours"),
        wait_s=one.get("wait_s"),
        kiln_min=one.get("kiln_min", 0.0),
        mill_min=one.get("mill_min", 0.0),
    )


def _known(wanted: str, there: Mapping[str, Any], place: Place) -> Any:
    if wanted not in there:
        raise place.fault(wanted, ", ".join(there) or "one that is listed", "List it, by its id.")
    return there[wanted]


@dataclass(frozen=True, slots=True)
class TendFile:
    """A heat that is about to be followed; `charge_g` is in the pot when the fire is lit,
    `top_ups_g` are the fillings to come.

    `pour_at_c` None: as hot as the mould (None: a wire bar) wants it; `setpoint_c` None: that.
    """

    furnace: Furnace
    crucible: Crucible | None
    body: Composition
    charge_g: float
    top_ups_g: tuple[float, ...]
    pour_at_c: float | None
    setpoint_c: float | None
    mould: Mould | None
    start_c: float
    ambient_c: float


TEND_KEYS = (
    Key("format", text, needed=True),
    Key("furnace", kit.furnace, needed=True),
    Key("crucible", kit.crucible),
    Key("composition", composition, needed=True, to="body"),
    Key("charge_g", positive, needed=True),
    Key("top_ups_g", listed(positive)),
    Key("pour_at_c", limited(200, 2000)),
    Key("setpoint_c", limited(200, 2000)),
    Key("mould", kit.mould),
    Key("start_c", limited(-30, 1500)),
    Key("ambient_c", limited(-30, 60)),
)


def read_tend(path: str | Path) -> TendFile:
    """`format = "lemel-tend 1"`: the furnace and what is in the pot as the fire is lit."""
    data, place = read_data(path)
    has_format(data, place, "tend")
    values = pick(data, place, *TEND_KEYS)
    ambient_c = values.get("ambient_c", 18.0)
    return TendFile(
        values["furnace"],
        values.get("crucible"),
        values["body"],
        values["charge_g"],
        values.get("top_ups_g", ()),
        values.get("pour_at_c"),
        values.get("setpoint_c"),
        values.get("mould"),
        values.get("start_c", ambient_c),
        ambient_c,
    )


def log_text(path: str | Path) -> Iterator[str]:
    """The lines of a log one by one; those of stdin (`-`) as they come."""
    if str(path) == STDIN:
        yield from sys.stdin
    else:
        yield from read_text(path)[0].splitlines()
