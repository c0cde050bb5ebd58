"""Reader of orders.toml: each order with its lines; one line may list several sizes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lemel.errors import BadInput
from lemel.files.drawings import path_text, with_drawing
from lemel.files.keys import Key, Reader, listed, pick
from lemel.files.leaf import day, limited, name, one_word, positive, text, whole, words
from lemel.files.parts import read_section, temper
from lemel.files.place import Place, gathered
from lemel.values import COLOURS, ORIGINS, WHATS, OrderLine

__all__ = ["LINE_KEYS", "ORDER_KEYS", "SIZE_KEYS", "lines_of", "orders"]


_BAND = {
    "width_mm": positive, "thickness_mm": positive, "profile": name,
    "joint_mm": limited(0), "opening_mm": limited(0), "neutral_share": limited(0.3, 0.6),
}  # fmt: skip
_WIRE = {"inside_diameter_mm": positive, "wire_diameter_mm": positive}
#: Which sizes each kind of piece takes; `size` of a ring may be a list, one line for each.
SIZE_KEYS: Mapping[str, Mapping[str, Reader]] = {
    "ring": {"size": name, **_BAND},
    "bangle": {
        "inside_diameter_mm": positive, "inside_long_mm": positive, "inside_short_mm": positive,
        **_BAND,
    },
    "disc": {
        "diameter_mm": positive, "thickness_mm": positive,
        "dome_height_mm": positive, "dome_radius_mm": positive,
    },
    "jump_ring": _WIRE,
    "chain": {**_WIRE, "length_mm": positive},
    "outline": {
        "length_mm": positive, "width_mm": positive, "thickness_mm": positive, "path_mm": path_text,
        "drawing": name, "layer": name, "grain": name,
    },
    "stock": {"section": read_section, "length_mm": positive, "in_lengths": whole(1, 1000)},
}  # fmt: skip


def _sizes(what: str, given: Mapping[str, Any], place: Place) -> dict[str, Any]:
    """Sizes as the cut asks for them: a section by its kind and dimensions, a drawing as path."""
    if what == "outline":
        return with_drawing(given, place)
    if what != "stock" or "section" not in given:
        return dict(given)
    cross = given["section"]
    rest = {key: value for key, value in given.items() if key != "section"}
    return {"section": cross.kind, **{f"{n}_mm": v for n, v in cross.dims_mm}, **rest}


_SHARED = (
    Key("owner", name),
    Key("standard", name),
    Key("due_on", day),
    Key("claim", one_word(ORIGINS)),
    Key("temper", temper),
    Key("use_lots", words),
    Key("colour", one_word(COLOURS)),
    Key("note", text),
)
ORDER_KEYS = (
    Key("id", name, needed=True),
    Key("customer", text),
    *_SHARED,
)
LINE_KEYS = (
    Key("id", name),
    Key("what", one_word(WHATS), needed=True),
    Key("count", whole(1, 100_000)),
    *_SHARED,
)


def orders(data: Any, place: Place) -> tuple[OrderLine, ...]:
    """All lines of all orders, by due date, then as they stand."""
    lines = [line for order in listed(_order)(data, place) for line in order]
    twice = sorted({line.id for line in lines if [one.id for one in lines].count(line.id) > 1})
    if twice:
        raise place.fault(twice[0], "each line once", "Give the order or line another id.")
    late = max((line.due_on for line in lines if line.due_on), default=None)
    return tuple(sorted(lines, key=lambda line: (line.due_on is None, line.due_on or late)))


def lines_of(data: Any, place: Place) -> tuple[OrderLine, ...]:
    """Pieces without an order round them, for the shop and to no standard."""
    common = {"id": "P", "owner": "shop", "standard": "none"}
    made: list[OrderLine] = []
    faults: list[BadInput] = []
    for position, entry in enumerate(listed(lambda one, _: one)(data, place)):
        try:
            made.extend(_lines(entry, place.at(position), common, len(made)))
        except BadInput as fault:
            faults.append(fault)
    if faults:
        raise gathered(faults)
    if not made:
        raise place.fault("none", "at least one piece", "List the pieces.")
    return tuple(made)


def _order(data: Any, place: Place) -> list[OrderLine]:
    if not isinstance(data, Mapping):
        raise place.fault(data, "a table of keys and values", "Begin it with [[order]].")
    lines = data.get("line")
    common = pick({k: v for k, v in data.items() if k != "line"}, place, *ORDER_KEYS)
    common.pop("customer", None)
    if not isinstance(lines, list) or not lines:
        raise place.at("line").fault("missing", "at least one line", "Add [[order.line]].")
    made: list[OrderLine] = []
    faults: list[BadInput] = []
    for position, entry in enumerate(lines):
        try:
            made.extend(_lines(entry, place.at("line", position), common, len(made)))
        except BadInput as fault:
            faults.append(fault)
    if faults:
        raise gathered(faults)
    return made


def _lines(data: Any, place: Place, common: Mapping[str, Any], before: int) -> list[OrderLine]:
    """One entry: one line, or one for each size in its list."""
    what = data.get("what") if isinstance(data, Mapping) else None
    # Where the kind itself is wrong its sizes are not a fault of their own.
    every = {key: read for sizes in SIZE_KEYS.values() for key, read in sizes.items()}
    allowed = SIZE_KEYS.get(what, every) if isinstance(what, str) else every
    size_keys = [Key(key, read) for key, read in allowed.items()]
    many = isinstance(data, Mapping) and isinstance(data.get("size"), list)
    if many:
        size_keys = [Key("size", words) if key.name == "size" else key for key in size_keys]
    values = pick(data, place, *LINE_KEYS, *size_keys)
    given = {key.name: values.pop(key.name) for key in size_keys if key.name in values}
    sizes = _sizes(values["what"], given, place)
    order = common["id"]
    settings = {**{k: v for k, v in common.items() if k != "id"}, **values, "order": order}
    settings.setdefault("count", 1)
    missing = [key for key in ("owner", "standard") if key not in settings]
    if missing:
        raise gathered(
            place.at(key).fault("missing", "a value", "Give it here or for the order.")
            for key in missing
        )
    given_id = settings.pop("id", None)
    wanted = sizes.pop("size") if many else [None]
    if many and not wanted:
        raise place.at("size").fault("none", "at least one size", "List the sizes.")
    made = []
    for position, size in enumerate(wanted):
        line_sizes = sizes if size is None else {"size": size, **sizes}
        number = f".{position + 1}" if many else ""
        line_id = given_id + number if given_id else f"{order}.{before + position + 1}"
        try:
            made.append(OrderLine(id=line_id, sizes=line_sizes, **settings))
        except BadInput as fault:
            raise gathered([place.placed(fault)]) from None
    return made
