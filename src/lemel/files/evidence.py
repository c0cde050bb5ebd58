"""Reader of a belief file: lots with what was read off them, and heats that were assayed."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lemel.errors import BadInput
from lemel.files.keys import Key, listed, mapping, pick
from lemel.files.leaf import (
    day,
    limited,
    millesimal,
    name,
    one_word,
    positive,
    text,
    yes_no,
)
from lemel.files.lots import LOT_KEYS, made_lot
from lemel.files.parts import shares
from lemel.files.place import Place, gathered
from lemel.files.source import has_format, read_data
from lemel.values import METALS, Lot, Reading

__all__ = ["BELIEVE_HEAT_KEYS", "BELIEVE_LOT_KEYS", "BELIEVE_READING_KEYS", "BelieveFile",
           "read_believe"]  # fmt: skip


@dataclass(frozen=True, slots=True)
class BelieveFile:
    """Lots and readings of a belief file; `heats` as the scrap room takes them.

    `alone` says that the file was the short form: one lot and nothing else.
    """

    lots: tuple[Lot, ...]
    readings: tuple[Reading, ...]
    heats: tuple[tuple[str, tuple[tuple[str, float], ...], float, float], ...]
    alone: bool


BELIEVE_READING_KEYS = (
    Key("reading", name, to="id"),
    Key("method", name, needed=True),
    Key("fineness", millesimal),
    Key("values", shares),
    Key("density_g_cm3", limited(0.5, 25)),
    Key("source", name),
    Key("sd_own", millesimal),
    Key("sd_shared", millesimal),
    Key("taken_on", day),
    Key("by", text),
    Key("withdrawn", yes_no),
)


def _readings(data: Any, place: Place) -> list[tuple[dict[str, Any], Place]]:
    """Readings as values by argument name; they wait for the body that they are of."""
    return [
        (values, place.at(position))
        for position, values in enumerate(
            listed(lambda one, at: pick(one, at, *BELIEVE_READING_KEYS))(data, place)
        )
    ]


_READINGS = Key("readings", _readings)
#: A lot is as in lots.csv, but its owner and form may be left out, and its readings hang on it.
BELIEVE_LOT_KEYS = (
    *(Key(key.name, key.read, key.name in ("lot", "mass_g", "metal"), key.to) for key in LOT_KEYS),
    _READINGS,
)
BELIEVE_HEAT_KEYS = (
    Key("heat", name, needed=True),
    Key("metal", one_word(METALS), needed=True),
    Key("lots", mapping(positive), needed=True),
    Key("fine_g", limited(0)),
    Key("metal_g", positive, needed=True),
    _READINGS,
)


def read_believe(path: str | Path) -> BelieveFile:
    """Lots with their readings, heats with theirs. Raises BadInput with every fault.

    The short form is one lot alone. `format` may be left out here.
    """
    data, place = read_data(path)
    has_format(data, place, "believe", needed=False)
    data = {key: value for key, value in data.items() if key != "format"}
    if "lots" not in data:
        lot, readings = _lot(data, place)
        return BelieveFile((lot,), readings, (), alone=True)
    parts = pick(data, place, Key("lots", listed(_lot), needed=True), Key("heats", listed(_heat)))
    lots = tuple(lot for lot, _ in parts["lots"])
    heats = parts.get("heats", ())
    _names_fit(lots, heats, place)
    readings = (
        *(one for _, found in parts["lots"] for one in found),
        *(one for _, _, found in heats for one in found),
    )
    return BelieveFile(lots, readings, tuple(heat for heat, _, _ in heats), alone=False)


def _lot(data: Any, place: Place) -> tuple[Lot, tuple[Reading, ...]]:
    values = pick(data, place, *BELIEVE_LOT_KEYS)
    raw = values.pop("readings", [])
    values.setdefault("owner", "shop")
    # An offcut carries no solder and hides nothing, so the readings alone speak.
    values.setdefault("form", "offcut")
    lot = made_lot(values, place)
    return lot, _placed(raw, lot.id, lot.main)


def _heat(data: Any, place: Place) -> tuple[Any, str, tuple[Reading, ...]]:
    """A heat, the metal that it is of, and its readings."""
    values = pick(data, place, *BELIEVE_HEAT_KEYS)
    heat = (
        values["heat"],
        tuple(sorted(values["lots"].items())),
        values.get("fine_g", 0.0),
        values["metal_g"],
    )
    metal = values["metal"]
    return heat, metal, _placed(values.get("readings", []), values["heat"], metal)


def _placed(raw: list[tuple[dict[str, Any], Place]], on: str, metal: str) -> tuple[Reading, ...]:
    made: list[Reading] = []
    faults: list[BadInput] = []
    for count, (given, place) in enumerate(raw, 1):
        values = dict(given)
        fineness = values.pop("fineness", None)
        if fineness is not None:
            values["values"] = {metal: fineness, **values.get("values", {})}
        values.setdefault("id", f"{on}-{count}")
        try:
            made.append(Reading(on=on, **values))
        except BadInput as fault:
            faults.append(place.placed(fault))
    if faults:
        raise gathered(faults)
    return tuple(made)


def _names_fit(lots: tuple[Lot, ...], heats: Any, place: Place) -> None:
    names = [lot.id for lot in lots]
    faults = [
        place.at("lots", position, "lot").fault(name, "each lot once", "Rename one of the two.")
        for position, name in enumerate(names)
        if name in names[:position]
    ]
    metals = {lot.id: lot.main for lot in lots}
    faults += [
        place.at("heats", position, "lots", lot).fault(
            lot, f"a lot of {metal} among the lots", "List the lot, or take it out of the heat."
        )
        for position, (heat, metal, _) in enumerate(heats)
        for lot, _ in heat[1]
        if metals.get(lot) != metal
    ]
    if faults:
        raise gathered(faults)
