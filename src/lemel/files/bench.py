"""Readers of the files for the bench: one route through the mill, one layout of blanks."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lemel.errors import BadInput
from lemel.files import kit
from lemel.files.keys import Key, listed, pick
from lemel.files.leaf import limited, name, one_word, positive, text, whole, yes_no
from lemel.files.orders import lines_of
from lemel.files.parts import composition, read_section, temper
from lemel.files.place import Place, gathered
from lemel.files.source import has_format, read_data
from lemel.files.workshop import BAR_KEYS
from lemel.values import Bar, Blank, Composition, OrderLine, Saw, StockNeed

if TYPE_CHECKING:
    from lemel.cut import CutProblem
    from lemel.mill import MillKit, MillProblem

__all__ = ["CUT_KEYS", "MILL_KEYS", "NEED_KEYS", "CutFile", "read_cut", "read_mill"]

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
    Key("count", whole(1, 10_000)),
    Key("standard", name),
    Key("temper", temper),
    Key("tolerance_mm", positive),
)


def _need(data: Any, place: Place) -> StockNeed:
    values = pick(data, place, *NEED_KEYS)
    if ("length_mm" in values) == ("area_mm" in values):
        raise place.at("length_mm").fault(
            "both or neither", "length_mm for wire and strip, or area_mm for sheet", "Give one."
        )
    for key, otherwise in (("id", "stock"), ("standard", "none"), ("pieces", ("piece",))):
        values.setdefault(key, otherwise)
    try:
        return StockNeed(owner="shop", **values)
    except BadInput as fault:
        raise gathered([place.placed(fault)]) from None


MILL_KEYS = (
    Key("format", text, needed=True),
    Key("bar", bench_bar, needed=True),
    Key("need", _need, needed=True),
    Key("mill", listed(kit.mill)),
    Key("grooves", listed(kit.grooves)),
    Key("drawplate", listed(kit.drawplate)),
    Key("drawbench", listed(kit.drawbench)),
    Key("variant", one_word(("easy", "fewest"))),
    Key("spread_factor", limited(0.1, 5)),
    Key("seed", whole(0, 2**31 - 1)),
)


def read_mill(path: str | Path) -> MillProblem:
    """`format = "lemel-mill 1"`: a bar, the stock that is wanted, the mill and its plates."""
    from lemel.mill import MillKit, MillProblem

    data, place = read_data(path)
    has_format(data, place, "mill")
    values = pick(data, place, *MILL_KEYS)
    tools = MillKit(
        values.get("mill", ()),
        values.get("grooves", ()),
        values.get("drawplate", ()),
        values.get("drawbench", ()),
    )
    _grooves_have_a_mill(tools, place)
    return MillProblem(
        values["bar"],
        values["need"],
        tools,
        values.get("variant", "easy"),
        values.get("spread_factor"),
        values.get("seed", 1),
    )


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


@dataclass(frozen=True, slots=True)
class CutFile:
    """Pieces and the stock they are to be cut from; the composition gives their mass."""

    lines: tuple[OrderLine, ...]
    stock: tuple[Bar, ...]
    saw: Saw | None
    body: Composition
    edge_mm: float
    guillotine: bool
    seed: int

    def problem(self, blanks: tuple[Blank, ...]) -> CutProblem:
        """The cut room's question, once the blanks are known."""
        from lemel.cut import CutProblem

        return CutProblem(
            self.lines, blanks, self.stock, self.saw, self.edge_mm, self.guillotine, self.seed
        )


CUT_KEYS = (
    Key("format", text, needed=True),
    Key("composition", composition, needed=True, to="body"),
    Key("piece", lines_of, needed=True),
    Key("stock", listed(bench_bar)),
    Key("saw", kit.saw),
    Key("edge_mm", limited(0, 50)),
    Key("guillotine", yes_no),
    Key("seed", whole(0, 2**31 - 1)),
)


def read_cut(path: str | Path) -> CutFile:
    """`format = "lemel-cut 1"`: pieces as in orders.toml, and bars of stock to cut them from."""
    data, place = read_data(path)
    has_format(data, place, "cut")
    values = pick(data, place, *CUT_KEYS)
    return CutFile(
        values["piece"],
        values.get("stock", ()),
        values.get("saw"),
        values["body"],
        values.get("edge_mm", 1.0),
        values.get("guillotine", False),
        values.get("seed", 1),
    )
