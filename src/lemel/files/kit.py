"""Readers of the workshop's tools, one table each."""

from __future__ import annotations

from typing import Any

from lemel.files.keys import Key, listed, mapping, pick, table
from lemel.files.leaf import (
    day,
    limited,
    money,
    name,
    one_word,
    percent,
    positive,
    whole,
    words,
    yes_no,
)
from lemel.files.parts import figure, read_section
from lemel.files.place import Place
from lemel.values import (
    MOULD_KINDS,
    Balance,
    Crucible,
    DrawBench,
    DrawPlate,
    Figure,
    Furnace,
    Grooves,
    Instrument,
    Mill,
    Mould,
    Saw,
    Section,
    Torch,
)

__all__ = [
    "balance", "crucible", "drawbench", "drawplate", "furnace", "grooves", "instrument", "mill",
    "mould", "saw", "torch",
]  # fmt: skip

_ID = Key("id", name, needed=True)

furnace = table(
    Furnace,
    _ID,
    Key("power_w", positive, needed=True),
    Key("top_c", limited(300, 2000), needed=True),
    Key("parameters", mapping(figure)),
    Key("logs", words),
)

torch = table(
    Torch,
    _ID,
    Key("flame_w", positive, needed=True),
    Key("dish_g", positive, needed=True),
    Key("most_g", positive, needed=True),
    Key("gas", name),
    Key("families", words),
)

crucible = table(
    Crucible,
    _ID,
    Key("family", name, needed=True),
    Key("material", name, needed=True),
    Key("volume_cm3", positive, needed=True),
    Key("mass_g", positive, needed=True),
    Key("melts_done", whole()),
    Key("melts_most", whole(1)),
    Key("retired", yes_no),
    Key("least_fill_percent", percent, to="least_fill"),
)


def _transfer(data: Any, place: Place) -> Figure:
    """A heat transfer coefficient that the house has entered itself."""
    return Figure(limited(50, 50_000)(data, place), "W/m2K", "measured", "")


mould = table(
    Mould,
    _ID,
    Key("kind", one_word(MOULD_KINDS), needed=True),
    Key("cavity", read_section, needed=True),
    Key("length_mm", positive, needed=True),
    Key("mass_g", positive, needed=True),
    Key("channels", whole(1, 20)),
    Key("c_j_gk", limited(0.05, 5)),
    Key("h_w_m2k", _transfer),
    Key("coating", name),
    Key(
        "preheat_c",
        lambda data, place: _pair(listed(limited(0, 600))(data, place), place),
    ),
)


def _pair(pair: tuple[float, ...], place: Place) -> tuple[float, float]:
    if len(pair) != 2 or pair[0] > pair[1]:
        raise place.fault(list(pair), "two numbers, the lower first", "Write [150, 200].")
    return pair[0], pair[1]


mill = table(
    Mill,
    _ID,
    *(
        Key(key, positive, needed=True)
        for key in (
            "roll_r_mm", "barrel_mm", "opening_mm", "least_mm", "torque_nm", "frame_n",
            "modulus_n_mm",
        )
    ),
    Key("bearing_mu", limited(0, 1)),
    Key("roll_mu", limited(0, 1, above=True)),
    *(Key(key, positive) for key in ("neck_mm", "lead_mm", "feed_mm_s", "gap_step_mm")),
    Key("comfort_percent", percent, to="comfort"),
)  # fmt: skip

grooves = table(
    Grooves, _ID, Key("mill", name, needed=True), Key("sizes_mm", listed(positive), needed=True)
)


def drawplate(data: Any, place: Place) -> DrawPlate:
    """A drawplate; round holes may be given by their diameters alone, largest first."""
    values = pick(
        data,
        place,
        _ID,
        Key("holes", listed(read_section)),
        Key("round_mm", listed(positive)),
        Key("measured_mm", mapping(positive)),
    )
    round_holes = tuple(Section.round(size) for size in values.pop("round_mm", ()))
    holes = (*values.pop("holes", ()), *round_holes)
    if not holes:
        raise place.at("holes").fault("missing", "at least one hole", "Give holes or round_mm.")
    return DrawPlate(holes=holes, **values)


drawbench = table(
    DrawBench,
    _ID,
    Key("pull_n", positive, needed=True),
    Key("stroke_mm", positive, needed=True),
)

saw = table(
    Saw,
    _ID,
    Key("kerf_mm", limited(0, 5), needed=True),
    Key("longest_mm", positive, needed=True),
    Key("straight_only", yes_no),
)

balance = table(
    Balance,
    _ID,
    Key("step_g", positive, needed=True),
    Key("sd_g", limited(0), needed=True),
    Key("most_g", positive, needed=True),
    Key("calibrated_on", day),
)

instrument = table(
    Instrument,
    _ID,
    Key("method", name, needed=True),
    Key("minutes_to_answer", limited(0), needed=True),
    Key("fee", money, needed=True),
    Key("own", yes_no),
)
