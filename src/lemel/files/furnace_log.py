"""Reader of a calibration file: a furnace with its pot, its logs, and the heat to predict."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lemel.errors import BadInput
from lemel.files import kit
from lemel.files.keys import Key, listed, pick, table
from lemel.files.leaf import limited, name, percent_from, positive, text, yes_no
from lemel.files.parts import composition
from lemel.files.place import Place, gathered
from lemel.files.source import STDIN, has_format, read_data, read_text
from lemel.values import Composition, Crucible, Furnace

__all__ = [
    "CALIBRATE_KEYS", "LOG_KEYS", "NEXT_HEAT_KEYS", "CalibrateFile", "LoggedHeat", "NextHeat",
    "read_calibrate",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class LoggedHeat:
    """The text of one log with what was in the pot; `ambient_c` None: the first reading."""

    id: str
    csv: str
    body: Composition
    ambient_c: float | None = None


@dataclass(frozen=True, slots=True)
class NextHeat:
    """The heat that is to be foretold; `setpoint_c` None: set to the heat of the pour."""

    composition: Composition
    mass_g: float
    pour_at_c: float
    setpoint_c: float | None = None
    start_c: float = 18.0
    probability: float = 0.95


@dataclass(frozen=True, slots=True)
class CalibrateFile:
    """What a calibration is made from."""

    furnace: Furnace
    crucible: Crucible | None
    logs: tuple[LoggedHeat, ...]
    noise_k: float
    robust: bool
    next_heat: NextHeat | None


LOG_KEYS = (
    Key("file", name, needed=True),
    Key("id", name),
    Key("composition", composition, needed=True),
    Key("ambient_c", limited(-30, 60)),
)
NEXT_HEAT_KEYS = (
    Key("composition", composition, needed=True),
    Key("mass_g", positive, needed=True),
    Key("pour_at_c", limited(200, 2000), needed=True),
    Key("setpoint_c", limited(200, 2000)),
    Key("start_c", limited(-30, 1500)),
    Key("probability_percent", percent_from(50, 99.9), to="probability"),
)
CALIBRATE_KEYS = (
    Key("format", text, needed=True),
    Key("furnace", kit.furnace, needed=True),
    Key("crucible", kit.crucible),
    Key("log", listed(lambda data, place: pick(data, place, *LOG_KEYS)), needed=True),
    Key("noise_k", positive),
    Key("robust", yes_no),
    Key("next_heat", table(NextHeat, *NEXT_HEAT_KEYS)),
)


def read_calibrate(path: str | Path) -> CalibrateFile:
    """`format = "lemel-calibrate 1"`; the logs it names lie beside it. Raises BadInput."""
    data, place = read_data(path)
    has_format(data, place, "calibrate")
    values = pick(data, place, *CALIBRATE_KEYS)
    beside = Path() if str(path) == STDIN else Path(path).parent
    return CalibrateFile(
        values["furnace"],
        values.get("crucible"),
        _logs(values["log"], beside, place.at("log")),
        values.get("noise_k", 3.0),
        values.get("robust", True),
        values.get("next_heat"),
    )


def _logs(named: Any, beside: Path, place: Place) -> tuple[LoggedHeat, ...]:
    made: list[LoggedHeat] = []
    faults: list[BadInput] = []
    for position, values in enumerate(named):
        try:
            csv, file = read_text(beside / values["file"])
        except BadInput as fault:
            faults.append(place.at(position, "file").fault(values["file"], fault.allowed, fault.do))
            continue
        made.append(
            LoggedHeat(values.get("id", file), csv, values["composition"], values.get("ambient_c"))
        )
    if faults:
        raise gathered(faults)
    if not made:
        raise place.fault("none", "at least one log", "Write down one heat with its readings.")
    return tuple(made)
