"""Reader of the mill's file: bars, the stock that is wanted, the tools, and what was measured."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lemel.errors import BadInput
from lemel.files import kit
from lemel.files.bench import bench_bar
from lemel.files.keys import Key, listed, pick, table
from lemel.files.leaf import limited, name, one_word, positive, read_number, text, whole, yes_no
from lemel.files.parts import read_section, temper
from lemel.files.place import Place, gathered
from lemel.files.source import has_format, read_data
from lemel.values import Bar, StockNeed

if TYPE_CHECKING:
    from lemel.mill import Measured, MillKit, MillProblem

__all__ = ["MEASURED_KEYS", "MILL_KEYS", "NEED_KEYS", "READING_KEYS", "MillFile", "read_mill"]


def _area(data: Any, place: Place) -> tuple[float, float]:
    sides = listed(positive)(data, place)
    if len(sides) != 2:
        raise place.fault(list(sides), "[along, across] in mm", "Give the two sides of the sheet.")
    return sides[0], sides[1]


NEED_KEYS = (
    Key("id", name),
    Key("section", read_section, needed=True),
    Key("length_mm", positive),
    Key("area_mm", _area),
    Key("disc_mm", positive),
    Key("least_mm", positive),
    Key("count", whole(1, 10_000)),
    Key("standard", name),
    Key("temper", temper),
    Key("tolerance_mm", positive),
)


def _need(data: Any, place: Place) -> StockNeed:
    values = pick(data, place, *NEED_KEYS)
    if "disc_mm" in values:
        values.setdefault("area_mm", (values["disc_mm"], values["disc_mm"]))
    if ("length_mm" in values) == ("area_mm" in values):
        raise place.at("length_mm").fault(
            "both or neither", "length_mm for wire and strip, or area_mm for sheet", "Give one."
        )
    if values.get("least_mm", 0.0) > values.get("length_mm", 0.0) / values.get("count", 1) + 1e-9:
        raise place.at("least_mm").fault(
            values["least_mm"], "no more than one length", "It is the longest piece in the wire."
        )
    for key, otherwise in (("id", "stock"), ("standard", "none"), ("pieces", ("piece",))):
        values.setdefault(key, otherwise)
    try:
        return StockNeed(owner="shop", **values)
    except BadInput as fault:
        raise gathered([place.placed(fault)]) from None


def _bars(data: Any, place: Place) -> tuple[Bar, ...]:
    """One bar as a table, or several to choose from as a list of tables."""
    if not isinstance(data, list):
        return (bench_bar(data, place),)
    bars: tuple[Bar, ...] = listed(bench_bar)(data, place)
    twice = sorted({bar.id for bar in bars if [one.id for one in bars].count(bar.id) > 1})
    if twice or not bars:
        raise place.fault(twice[0] if twice else "none", "each bar once", "Name the bars.")
    return bars


def _reduced(data: Any, place: Place) -> float:
    """Percent of the section taken off since soft, as a strain."""
    return -math.log(1 - limited(0, 99)(data, place) / 100)


def _of_mill(kind: str) -> Callable[..., Any]:
    """A value of the mill's room, which is loaded when the first is made."""

    def make(**values: Any) -> Any:
        from lemel import mill

        return getattr(mill, kind)(**values)

    return make


READING_KEYS = {
    "width": tuple(
        Key(key, positive, needed=True)
        for key in ("h_in_mm", "width_in_mm", "h_out_mm", "width_out_mm")
    ),
    "strip": (
        Key("screw_mm", read_number, needed=True),
        *(
            Key(key, positive, needed=True)
            for key in ("soft_mm", "h_in_mm", "h_out_mm", "width_mm")
        ),
    ),
    "screw": (Key("turns", read_number, needed=True), Key("gap_mm", limited(0), needed=True)),
    "hardness": (
        Key("reduced_percent", _reduced, needed=True, to="strain"),
        Key("hv", positive, needed=True),
    ),
    "minutes": tuple(Key(key, positive, needed=True) for key in ("planned_min", "taken_min")),
}


def _turns(turns: float, gap_mm: float) -> tuple[float, float]:
    return turns, gap_mm


_MAKE: dict[str, Callable[..., Any]] = {
    "width": _of_mill("PassRead"),
    "strip": _of_mill("SettingRead"),
    "screw": _turns,
    "hardness": _of_mill("HardnessRead"),
    "minutes": _of_mill("TimeRead"),
}
MEASURED_KEYS = (
    Key("mill", name),
    *(Key(kind, listed(table(_MAKE[kind], *keys))) for kind, keys in READING_KEYS.items()),
)
MILL_KEYS = (
    Key("format", text, needed=True),
    Key("bar", _bars, needed=True, to="bars"),
    Key("need", _need, needed=True),
    Key("mill", listed(kit.mill)),
    Key("grooves", listed(kit.grooves)),
    Key("drawplate", listed(kit.drawplate)),
    Key("drawbench", listed(kit.drawbench)),
    Key("measured", table(_of_mill("Measured"), *MEASURED_KEYS)),
    Key("variant", one_word(("easy", "fewest"))),
    Key("spread_factor", limited(0.1, 5)),
    Key("pace", limited(0.1, 10)),
    Key("accept_short", yes_no),
    Key("seed", whole(0, 2**31 - 1)),
)


@dataclass(frozen=True, slots=True)
class MillFile:
    """Bars to choose from, the stock that is wanted, the tools; `measured` None: nothing was."""

    bars: tuple[Bar, ...]
    need: StockNeed
    kit: MillKit
    measured: Measured | None = None
    variant: str = "easy"
    spread_factor: float | None = None
    pace: float = 1.0
    accept_short: bool = False
    seed: int = 1

    def problem(self, bar: Bar, *, prove: bool = False) -> MillProblem:
        """The mill's question for one of the bars."""
        from lemel.mill import MillProblem

        return MillProblem(
            bar, self.need, self.kit, self.variant, self.spread_factor, self.seed,
            self.accept_short, prove=prove, pace=self.pace,
        )  # fmt: skip


def read_mill(path: str | Path) -> MillFile:
    """`format = "lemel-mill 1"`: bars, the stock that is wanted, the mill and its plates."""
    from lemel.mill import MillKit

    data, place = read_data(path)
    has_format(data, place, "mill")
    values = pick(data, place, *MILL_KEYS)
    values.pop("format")
    tools = MillKit(
        values.pop("mill", ()),
        values.pop("grooves", ()),
        values.pop("drawplate", ()),
        values.pop("drawbench", ()),
    )
    _grooves_have_a_mill(tools, place)
    return MillFile(kit=tools, **values)


def _grooves_have_a_mill(tools: MillKit, place: Place) -> None:
    mills = [one.id for one in tools.mills]
    faults = [
        place.at("grooves", position, "mill").fault(
            one.mill, ", ".join(mills) or "a mill", "Name the mill that the grooves are in."
        )
        for position, one in enumerate(tools.grooves)
        if one.mill not in mills
    ]
    if faults:
        raise gathered(faults)
