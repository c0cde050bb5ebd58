"""Readers of the files for heats: a blend instance, and a sampled heat to be mended."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lemel.errors import BadInput
from lemel.files.keys import Key, listed, mapping, pick
from lemel.files.leaf import limited, millesimal, name, one_word, percent_from, positive, text
from lemel.files.parts import composition
from lemel.files.place import Path as Way
from lemel.files.place import Place
from lemel.files.source import has_format, read_data
from lemel.values import METALS

if TYPE_CHECKING:
    from lemel.blend import BlendAddition, BlendOptions, BlendProblem

__all__ = ["ASSAY_KEYS", "CLEAN_KEYS", "CORRECT_KEYS", "PLANNED_KEYS", "POT_KEYS", "CorrectFile",
           "located", "read_blend", "read_correct"]  # fmt: skip

_STEP = re.compile(r"([^.\[\]]+)|\[(\d+)\]")


def read_blend(path: str | Path, options: BlendOptions | None = None) -> BlendProblem:
    """`format = "lemel-blend-instance 1"`; docs/files.md has the keys. Raises BadInput."""
    from lemel.blend import from_instance

    data, place = read_data(path, exact=False)
    try:
        return from_instance(data, options)
    except BadInput as fault:
        raise located(fault, place) from None


def located(fault: BadInput, place: Place) -> BadInput:
    """A room's fault whose field is a way such as lots[0].comp.Ag, with file and line."""
    steps: list[str | int] = []
    for key, position in _STEP.findall(fault.field):
        steps.append(int(position) if position else key)
    way: Way = tuple(steps)
    others = [located(other, place) for other in fault.others]
    return BadInput(str(place.at(*way)), fault.value, fault.allowed, fault.do, others)


@dataclass(frozen=True, slots=True)
class CorrectFile:
    """A heat in the pot, what was planned of it, what the sample said, and what may be added.

    All shares are mass fractions. `standard` is a key of the standards, "" where `least`
    is given instead. `planned` and `sample` are (mean, sd); a sample's sd None: the usual
    one of its `method`.
    """

    id: str
    main: str
    mass_g: float
    standard: str
    least: float | None
    probability: float
    room_g: float | None
    worth_per_g: float
    giveaway_most: float | None
    planned: tuple[float, float] | None
    sample: tuple[float, float | None]
    method: str
    lower: Mapping[str, float]
    additions: tuple[BlendAddition, ...]


POT_KEYS = (
    Key("id", name),
    Key("metal", one_word(METALS), needed=True),
    Key("mass_g", positive, needed=True),
    Key("standard", name),
    Key("least_fineness", millesimal),
    Key("promise_percent", percent_from(50, 99.9)),
    Key("room_g", limited(0)),
    Key("worth_per_g", limited(0)),
    Key("giveaway_most_millesimal", millesimal),
    Key("lower_standards", mapping(millesimal)),
)
PLANNED_KEYS = (
    Key("fineness", millesimal, needed=True),
    Key("sd_millesimal", millesimal, needed=True),
)
ASSAY_KEYS = (
    Key("fineness", millesimal, needed=True),
    Key("sd_millesimal", millesimal),
    Key("method", name),
)
CLEAN_KEYS = (
    Key("id", name, needed=True),
    Key("composition", composition, needed=True),
    Key("sd_millesimal", millesimal, to="sd"),
    Key("price_per_g", limited(0), needed=True),
    Key("stock_g", limited(0)),
)


def _clean(data: Any, place: Place) -> BlendAddition:
    from lemel.blend import BlendAddition

    values = pick(data, place, *CLEAN_KEYS)
    values.setdefault("sd", 0.0)
    return BlendAddition(**values)


CORRECT_KEYS = (
    Key("format", text, needed=True),
    Key("heat", lambda data, place: pick(data, place, *POT_KEYS), needed=True),
    Key("planned", lambda data, place: pick(data, place, *PLANNED_KEYS)),
    Key("assay", lambda data, place: pick(data, place, *ASSAY_KEYS), needed=True),
    Key("addition", listed(_clean), needed=True),
)


def read_correct(path: str | Path) -> CorrectFile:
    """`format = "lemel-correct 1"`: a heat that was sampled, and clean metal to mend it with."""
    data, place = read_data(path)
    has_format(data, place, "correct")
    values = pick(data, place, *CORRECT_KEYS)
    pot, assay, planned = values["heat"], values["assay"], values.get("planned")
    if ("standard" in pot) == ("least_fineness" in pot):
        raise place.at("heat", "standard").fault(
            "both or neither", "a standard such as UK Ag 925, or least_fineness", "Give one."
        )
    if "sd_millesimal" not in assay and "method" not in assay:
        raise place.at("assay", "sd_millesimal").fault(
            "missing", "the assay's spread, or its method", "Say how far the assay may be off."
        )
    return CorrectFile(
        id=pot.get("id", "heat"),
        main=pot["metal"],
        mass_g=pot["mass_g"],
        standard=pot.get("standard", ""),
        least=pot.get("least_fineness"),
        probability=pot.get("promise_percent", 0.99),
        room_g=pot.get("room_g"),
        worth_per_g=pot.get("worth_per_g", 0.0),
        giveaway_most=pot.get("giveaway_most_millesimal"),
        planned=(planned["fineness"], planned["sd_millesimal"]) if planned else None,
        sample=(assay["fineness"], assay.get("sd_millesimal")),
        method=assay.get("method", ""),
        lower=pot.get("lower_standards", {}),
        additions=values["addition"],
    )
