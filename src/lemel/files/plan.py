"""Readers of a whole month: a folder of five files, or one file that holds all."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from lemel.errors import BadInput
from lemel.files.keys import Key, listed, pick
from lemel.files.leaf import limited, text, whole, words
from lemel.files.lots import lot, reading
from lemel.files.orders import orders
from lemel.files.place import Place, gathered
from lemel.files.source import STDIN, has_format, read_data, read_text, rows_of
from lemel.files.workshop import owners_are_listed, prices, workshop
from lemel.values import METALS, Lot, OrderLine, Prices, Reading, Workshop

if TYPE_CHECKING:
    from lemel.plan import PlanProblem

__all__ = ["read_plan", "read_plan_folder"]

Made = TypeVar("Made")

OPTION_KEYS = (
    Key("seed", whole(0, 2**31 - 1)),
    Key("gap", limited(0, 0.5, above=True)),
    Key("work_most", whole(1, 10**9)),
    Key("use_first", words),
    Key("leave_out", words),
    Key("moulds", words),
)


def read_plan(path: str | Path) -> PlanProblem:
    """A plan's question from a folder, from one TOML or JSON file, or from stdin (`-`)."""
    if str(path) != STDIN and Path(path).is_dir():
        return read_plan_folder(path)
    return _one_file(*read_data(path))


def read_plan_folder(path: str | Path) -> PlanProblem:
    """workshop.toml, lots.csv, readings.csv, orders.toml and prices.toml of one folder.

    readings.csv and prices.toml may be absent. Every fault of every file is collected in
    one BadInput, in the order of the files; each names file, line and key.
    """
    folder = Path(path)
    if not folder.is_dir():
        raise BadInput(str(path), "missing", "a folder that is there", "Check the path.")
    faults: list[BadInput] = []

    def attempt(make: Callable[[], Made]) -> Made | None:
        try:
            return make()
        except BadInput as fault:
            faults.append(fault)
            return None

    def toml(name: str, kind: str) -> tuple[dict[str, Any], Place]:
        data, place = read_data(folder / name)
        has_format(data, place, kind)
        return data, place

    # Each file is read though another one failed, so that all faults come at once.
    cost = attempt(lambda: _prices(folder, toml))
    shop = attempt(lambda: workshop(*toml("workshop.toml", "workshop"), cost))
    lots = attempt(lambda: _lots(folder / "lots.csv"))
    metals = _metals(folder / "lots.csv")
    readings = attempt(lambda: _readings(folder / "readings.csv", metals))
    lines = attempt(lambda: _orders(*toml("orders.toml", "orders")))
    faults += _misfits(shop, lots, readings or [], lines or [])
    if faults or shop is None or lots is None or readings is None or lines is None:
        raise gathered(faults)
    return _joined(shop, lots, readings, lines, {})


def _prices(
    folder: Path, toml: Callable[[str, str], tuple[dict[str, Any], Place]]
) -> Prices | None:
    if not (folder / "prices.toml").exists():
        return None
    data, place = toml("prices.toml", "prices")
    return prices({key: value for key, value in data.items() if key != "format"}, place)


def _lots(path: Path) -> list[tuple[Lot, Place]]:
    return _all_rows(path, "lots", lot)


def _metals(path: Path) -> Mapping[str, str]:
    """Each lot's metal, even where the lot has other faults: one cause, one fault."""
    try:
        rows = [row for row, _ in rows_of(*read_text(path), "lots")]
    except BadInput:
        # Nothing can be made of these readings; they are only looked over for faults.
        return defaultdict(lambda: METALS[0])
    named = {row["lot"]: row.get("metal", "") for row in rows if "lot" in row}
    return {lot: metal if metal in METALS else METALS[0] for lot, metal in named.items()}


def _readings(path: Path, metals: Mapping[str, str]) -> list[tuple[Reading, Place]]:
    if not path.exists():
        return []
    return _all_rows(path, "readings", lambda row, place: reading(row, place, metals))


def _all_rows(
    path: Path, kind: str, read: Callable[[Any, Place], Made]
) -> list[tuple[Made, Place]]:
    made: list[tuple[Made, Place]] = []
    faults: list[BadInput] = []
    for row, place in rows_of(*read_text(path), kind):
        try:
            made.append((read(row, place), place))
        except BadInput as fault:
            faults.append(fault)
    if faults:
        raise gathered(faults)
    return made


def _orders(data: dict[str, Any], place: Place) -> list[tuple[OrderLine, Place]]:
    values = pick(data, place, Key("format", text, needed=True), Key("order", orders, needed=True))
    return [(line, place.at("order")) for line in values["order"]]


def _one_file(data: dict[str, Any], place: Place) -> PlanProblem:
    """The same content in one file: `format = "lemel-plan 1"`."""
    has_format(data, place, "plan")
    metals: dict[str, str] = {}

    def all_lots(entries: Any, at: Place) -> list[tuple[Lot, Place]]:
        found = listed(lot)(entries, at)
        metals.update({one.id: one.main for one in found})
        return [(one, at.at(position)) for position, one in enumerate(found)]

    def all_readings(entries: Any, at: Place) -> list[tuple[Reading, Place]]:
        found = listed(lambda row, spot: reading(row, spot, metals))(entries, at)
        return [(one, at.at(position)) for position, one in enumerate(found)]

    def all_orders(entries: Any, at: Place) -> list[tuple[OrderLine, Place]]:
        return [(line, at) for line in orders(entries, at)]

    values = pick(
        data,
        place,
        Key("format", text, needed=True),
        Key("workshop", _workshop_here, needed=True),
        Key("lot", all_lots, needed=True),
        Key("reading", all_readings),
        Key("order", all_orders, needed=True),
        Key("options", lambda given, at: pick(given, at, *OPTION_KEYS)),
    )
    shop, lots, lines = values["workshop"], values["lot"], values["order"]
    readings = values.get("reading", [])
    faults = _misfits(shop, lots, readings, lines)
    if faults:
        raise gathered(faults)
    return _joined(shop, lots, readings, lines, values.get("options", {}))


def _workshop_here(data: Any, place: Place) -> Workshop:
    """A workshop as a table within another file, its prices in it."""
    if not isinstance(data, dict):
        raise place.fault(data, "a table of keys and values", "Begin it with [workshop].")
    cost = prices(data["prices"], place.at("prices")) if "prices" in data else None
    rest = {key: value for key, value in data.items() if key != "prices"}
    return workshop({"format": "lemel-workshop 1", **rest}, place, cost)


def _misfits(
    shop: Workshop | None,
    lots: list[tuple[Lot, Place]] | None,
    readings: list[tuple[Reading, Place]],
    lines: list[tuple[OrderLine, Place]],
) -> list[BadInput]:
    """What does not fit together, among the parts that could be read (None: could not)."""
    faults = [
        *_twice([(one.id, place) for one, place in lots or ()], "lot"),
        *_twice([(one.id, place) for one, place in readings], "reading"),
    ]
    if shop is None:
        return faults
    owned = [(place.at("owner"), one.owner) for one, place in (*(lots or ()), *lines)]
    try:
        owners_are_listed(shop.owners, owned)
    except BadInput as fault:
        faults += fault.all
    if lots is None:
        return faults
    bodies = {one.id for one, _ in lots} | {one.id for one in shop.stock}
    faults += [
        place.at("on").fault(one.on, "a lot or bar that is listed", "Check the id.")
        for one, place in readings
        if one.on not in bodies
    ]
    faults += [
        place.at("use_lots").fault(name, "a lot that is listed", "Check the id.")
        for line, place in lines
        for name in line.use_lots
        if name not in bodies
    ]
    return faults


def _joined(
    shop: Workshop,
    lots: list[tuple[Lot, Place]],
    readings: list[tuple[Reading, Place]],
    lines: list[tuple[OrderLine, Place]],
    how: Mapping[str, Any],
) -> PlanProblem:
    """The parts as one question."""
    from lemel.plan import PlanOptions, PlanProblem

    return PlanProblem(
        shop,
        tuple(one for one, _ in lots),
        tuple(one for one, _ in readings),
        tuple(one for one, _ in lines),
        PlanOptions(**how),
    )


def _twice(ids: list[tuple[str, Place]], key: str) -> list[BadInput]:
    seen: set[str] = set()
    faults = []
    for name, place in ids:
        if name in seen:
            faults.append(place.at(key).fault(name, "each id once", "Rename one of the two."))
        seen.add(name)
    return faults
