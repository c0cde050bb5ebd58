"""The house: its name and own account, its rules, its own figures, and the workshop whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from datetime import date
from typing import Any

from lemel.book import filing, people, prices, shelf, tools
from lemel.errors import BadInput
from lemel.tables import Tables, shipped
from lemel.values import (
    COURSES,
    HouseRules,
    Workshop,
    from_plain,
    is_fraction,
    is_id,
    is_one_of,
    to_plain,
)

__all__ = ["enter_workshop", "figures", "house", "own_tables", "rules", "set_figure", "set_rule"]

_HOUSE, _WORKSHOP, _RULE, _FIGURE = "house", "workshop", "rule", "figure"
#: Rules whose figure stands in a table of another room: there it is laid over.
_IN_TABLES = {"hold_days": ("scrap_figures", "hold_days", "value")}

#: How one allowance is named, where the others stay.
_ONE_ALLOWANCE = "allowances."


def house(alias: str) -> tuple[str, str, str]:
    """Id and name of the workshop, and whose account is the shop's own; empty where none is
    entered."""
    filed = filing.newest(alias, _HOUSE, _WORKSHOP)
    if filed is None:
        return "", "", ""
    return filed.record["id"], filed.record["name"], filed.owner


def enter_house(alias: str, now: str, name: str, shown: str, owner: str, by: str) -> None:
    """The workshop's id, its name and the owner who is the shop itself."""
    is_id("workshop.id", name)
    record = {"id": name, "name": shown}
    filing.file(alias, now, _HOUSE, _WORKSHOP, record, owner=owner, by=by)


def set_rule(alias: str, now: str, name: str, value: Any, by: str) -> HouseRules:
    """One rule of the house by its name in `HouseRules`, `allowances.melt` for one of many, or
    `hold_days`. BadInput by that name."""
    if name in _IN_TABLES:
        set_figure(alias, now, *_IN_TABLES[name], value, by)
        return rules(alias)
    if name.startswith(_ONE_ALLOWANCE):
        kept = dict(rules(alias).allowances)
        return set_rule(
            alias, now, "allowances", {**kept, name.removeprefix(_ONE_ALLOWANCE): value}, by
        )
    known = [one.name for one in fields(HouseRules)]
    is_one_of("rule", name, [*known, *_IN_TABLES])
    plain = to_plain(value)
    made = from_plain(HouseRules, {**to_plain(rules(alias)), name: plain})
    is_one_of("course", made.course, COURSES)
    is_one_of("promise_per", made.promise_per, ("heat", "plan"))
    for operation, share in made.allowances.items():
        is_fraction(f"allowances.{operation}", share)
    if not 0.5 <= made.probability < 1:
        raise BadInput("probability", value, "0.5 to 0.999", "Promise at least an even chance.")
    filing.file(alias, now, _RULE, name, {"value": plain}, by=by)
    return rules(alias)


def rules(alias: str) -> HouseRules:
    """The rules as they stand; what the house never decided is as shipped."""
    said = {name: one.record["value"] for name, one in filing.all_of(alias, _RULE).items()}
    return from_plain(HouseRules, {**to_plain(HouseRules()), **said})


def set_figure(
    alias: str, now: str, table: str, row: str, column: str, value: Any, by: str
) -> None:
    """The house's own figure over one cell of a shipped table; None takes it back."""
    name = f"{table}/{row}/{column}"
    record = {"table": table, "row": row, "column": column, "value": to_plain(value)}
    if value is None:
        filing.must_stand(alias, _FIGURE, name)
        filing.file(alias, now, _FIGURE, name, record, by=by, gone=True)
        return
    shipped().with_overrides({table: {row: {column: record["value"]}}})
    filing.file(alias, now, _FIGURE, name, record, by=by)


def figures(alias: str) -> dict[str, dict[str, dict[str, object]]]:
    """The house's own figures: {table: {row: {column: value}}}, as a `Workshop` takes them."""
    found: dict[str, dict[str, dict[str, object]]] = {}
    for one in shelf.standing(alias, _FIGURE).values():
        said = one.record
        found.setdefault(said["table"], {}).setdefault(said["row"], {})[said["column"]] = said[
            "value"
        ]
    return found


def own_tables(alias: str) -> Tables:
    """The shipped tables with the house's figures over them."""
    return shipped().with_overrides(figures(alias))


def enter_workshop(alias: str, now: str, shop: Workshop, source: str, by: str) -> int:
    """The workshop of a file: name, owners, rules, own figures, tools, prices; how many tools.

    Its metal (additions, stock) and consents come in by the weigh-in. What is there already and
    not in the file stays; a tool is taken away by retiring it.
    """
    people.enter_owners(alias, shop.owners)
    enter_house(alias, now, shop.id, shop.name, shop.house, by)
    standing = rules(alias)
    for one in fields(HouseRules):
        value = getattr(shop.rules, one.name)
        if value != getattr(standing, one.name):
            set_rule(alias, now, one.name, value, by)
    for table, changed in shop.table_overrides.items():
        for row, cells in changed.items():
            for column, value in cells.items():
                set_figure(alias, now, table, row, column, value, by)
    count = 0
    for kind, group in tools.GROUPS.items():
        for tool in getattr(shop, group):
            tools.set_tool(alias, now, kind, tool, by)
            count += 1
    if shop.prices is not None:
        prices.enter_all(alias, now, shop.prices, source, by)
    return count


def workshop(alias: str, as_of: date, metal: Mapping[str, Any]) -> Workshop:
    """The workshop as a plan needs it on a day; `metal` gives additions, stock and consents."""
    name, shown, owner = house(alias)
    if not name:
        raise BadInput(
            "workshop", "none", "a workshop in the book",
            "Take in a month's files, or enter the workshop.",
        )  # fmt: skip
    return Workshop(
        id=name, name=shown, house=owner, owners=people.shown_names(alias), as_of=as_of,
        prices=prices.on(alias, as_of), rules=rules(alias), table_overrides=figures(alias),
        **tools.values(alias), **metal,
    )  # fmt: skip
