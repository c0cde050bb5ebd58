"""Readers of lots and readings: rows of CSV, or tables in one plan file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lemel.errors import BadInput
from lemel.files.keys import Key, pick
from lemel.files.leaf import (
    day,
    limited,
    millesimal,
    money,
    name,
    one_word,
    percent,
    positive,
    text,
    whole,
    words,
    yes_no,
)
from lemel.files.parts import flags, origin, read_section, shares, stated, temper
from lemel.files.place import Place, gathered
from lemel.values import COLOURS, FORMS, MADE_FOR, METALS, Lot, Reading

__all__ = ["LOT_KEYS", "READING_KEYS", "lot", "made_lot", "reading"]

LOT_KEYS = (
    Key("lot", name, needed=True, to="id"),
    Key("owner", name, needed=True),
    Key("metal", one_word(METALS), needed=True, to="main"),
    Key("form", one_word(FORMS), needed=True),
    Key("mass_g", positive, needed=True),
    Key("mass_sd_g", limited(0)),
    Key("class", name, to="scrap_class"),
    Key("stated", stated),
    Key("solder_percent", percent),
    Key("solder_sd_percent", percent),
    Key("whole", yes_no),
    Key("min_take_g", limited(0)),
    Key("min_remainder_g", limited(0)),
    Key("shape", read_section),
    Key("length_mm", positive),
    Key("temper", temper),
    Key("made_for", one_word(MADE_FOR)),
    Key("colour", one_word(COLOURS)),
    Key("remelts", whole(0, 100)),
    Key("flags", flags),
    Key("barred", words),
    Key("no_mixing", yes_no),
    Key("origin", origin),
    Key("received_on", day),
    Key("parents", words),
    Key("price_paid", money),
    Key("note", text),
)


def lot(data: Any, place: Place) -> Lot:
    """One lot. The two solder columns belong together."""
    return made_lot(pick(data, place, *LOT_KEYS), place)


def made_lot(values: dict[str, Any], place: Place) -> Lot:
    """A lot from its values by argument name."""
    share = values.pop("solder_percent", None)
    spread = values.pop("solder_sd_percent", None)
    if share is None and spread is not None:
        raise place.at("solder_percent").fault("missing", "a share of solder", "Give both.")
    if share is not None:
        # Without a spread of its own a guess of solder is taken as half of itself either way.
        values["solder_share"] = (share, share / 2 if spread is None else spread)
    try:
        return Lot(**values)
    except BadInput as fault:
        raise gathered([place.placed(fault)]) from None


READING_KEYS = (
    Key("reading", name, needed=True, to="id"),
    Key("on", name, needed=True),
    Key("method", name, needed=True),
    Key("fineness", millesimal),
    Key("metal", one_word(METALS)),
    Key("values", shares),
    Key("density_g_cm3", limited(0.5, 25)),
    Key("source", name),
    Key("sd_own", millesimal),
    Key("sd_shared", millesimal),
    Key("taken_on", day),
    Key("by", text),
    Key("withdrawn", yes_no),
    Key("note", text),
)


def reading(data: Any, place: Place, metals: Mapping[str, str]) -> Reading:
    """One reading; `metals` gives each lot's main metal, of which `fineness` speaks."""
    values = pick(data, place, *READING_KEYS)
    values.pop("note", None)
    metal = values.pop("metal", None) or metals.get(values["on"])
    fineness = values.pop("fineness", None)
    if fineness is not None:
        if metal is None:
            raise place.at("on").fault(
                values["on"], "a lot that is listed", "Check the id, or name the metal beside it."
            )
        values["values"] = {metal: fineness, **values.get("values", {})}
    try:
        return Reading(**values)
    except BadInput as fault:
        raise gathered([place.placed(fault)]) from None
