"""Readers of workshop.toml and prices.toml."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lemel.errors import BadInput
from lemel.files import kit
from lemel.files.keys import Key, listed, mapping, pick, table
from lemel.files.leaf import (
    day,
    limited,
    millesimal,
    money,
    name,
    one_word,
    percent,
    percent_from,
    positive,
    text,
    whole,
    words,
    yes_no,
)
from lemel.files.parts import composition, origin, read_section
from lemel.files.place import Place, gathered
from lemel.values import (
    BAR_KINDS,
    COURSES,
    ELEMENTS,
    FAULT_KINDS,
    FORMS,
    Addition,
    Bar,
    BarFault,
    Consent,
    HouseRules,
    Prices,
    StockPrice,
    Workshop,
)

__all__ = [
    "BAR_KEYS",
    "PRICE_KEYS",
    "WORKSHOP_KEYS",
    "addition",
    "bar",
    "consent",
    "prices",
    "workshop",
]

_ID = Key("id", name, needed=True)

rules = table(
    HouseRules,
    Key("promise_percent", percent_from(50, 99.9), to="probability"),
    Key("course", one_word(COURSES)),
    Key("oldest_first_per_day", limited(0)),
    Key("hold_limit_min", limited(0)),
    Key("promise_per", one_word(("heat", "plan"))),
    Key("jurisdiction", name),
    Key("remelts_most", whole(0, 100)),
    Key("allowances_percent", mapping(percent), to="allowances"),
    Key("closing_time", text),
)

addition = table(
    Addition,
    _ID,
    Key("composition", composition, needed=True),
    Key("sd_millesimal", millesimal, needed=True, to="sd"),
    Key("price_per_g", money, needed=True),
    Key("owner", name, needed=True),
    Key("stock_g", limited(0)),
    Key("form", one_word(FORMS)),
    Key("origin", origin),
)

fault = table(
    BarFault,
    Key("kind", one_word(FAULT_KINDS), needed=True),
    Key("place_mm", limited(0)),
    Key("depth_mm", limited(0)),
    Key("note", text),
)

BAR_KEYS = (
    _ID,
    Key("owner", name, needed=True),
    Key("kind", one_word(BAR_KINDS), needed=True),
    Key("composition", composition, needed=True, to="body"),
    Key("sd_millesimal", millesimal, needed=True, to="sd"),
    Key("section", read_section, needed=True),
    Key("length_mm", positive, needed=True),
    Key("mass_g", positive, needed=True),
    Key("promise_met", name),
    Key("soft_section", read_section),
    Key("cast_section", read_section),
    Key("anneals", whole(0, 1000)),
    Key("origin", origin),
    Key("parents", words),
    Key("faults", listed(fault)),
    Key("suspect", yes_no),
    Key("note", text),
)

bar = table(Bar, *BAR_KEYS)

consent = table(
    Consent,
    _ID,
    Key("owner", name, needed=True),
    Key("allows", name, needed=True),
    Key("given_on", day, needed=True),
    Key("limit_g", positive),
    Key("document", text),
    Key("about", words),
    Key("percent", limited(0, 100)),
)


def _owners(data: Any, place: Place) -> dict[str, str]:
    found = mapping(name)(data, place)
    if not found:
        raise place.fault("none", "at least one owner", "Name the shop: shop = 'Its name'.")
    return found


WORKSHOP_KEYS = (
    Key("format", text, needed=True),
    _ID,
    Key("name", name, needed=True),
    Key("house", name, needed=True),
    Key("as_of", day, needed=True),
    Key("owners", _owners, needed=True),
    Key("rules", rules),
    Key("furnace", listed(kit.furnace), to="furnaces"),
    Key("torch", listed(kit.torch), to="torches"),
    Key("crucible", listed(kit.crucible), to="crucibles"),
    Key("mould", listed(kit.mould), to="moulds"),
    Key("mill", listed(kit.mill), to="mills"),
    Key("grooves", listed(kit.grooves)),
    Key("drawplate", listed(kit.drawplate), to="drawplates"),
    Key("drawbench", listed(kit.drawbench), to="drawbenches"),
    Key("saw", listed(kit.saw), to="saws"),
    Key("balance", listed(kit.balance), to="balances"),
    Key("instrument", listed(kit.instrument), to="instruments"),
    Key("addition", listed(addition), to="additions"),
    Key("stock", listed(bar)),
    Key("consent", listed(consent), to="consents"),
    Key("own_figures", mapping(mapping(mapping(lambda cell, _: cell))), to="table_overrides"),
)


def workshop(data: Any, place: Place, prices: Prices | None = None) -> Workshop:
    """The workshop of a file; owners named by tools and metal must be listed."""
    values = pick(data, place, *WORKSHOP_KEYS)
    values.pop("format")
    try:
        made = Workshop(**values, prices=prices)
    except BadInput as fault:
        raise gathered([place.placed(fault)]) from None
    owners_are_listed(made.owners, _owners_named(made, place))
    return made


def _owners_named(made: Workshop, place: Place) -> list[tuple[Place, str]]:
    named = {
        "addition": [one.owner for one in made.additions],
        "stock": [one.owner for one in made.stock],
        "consent": [one.owner for one in made.consents],
    }
    return [
        (place.at(group, position, "owner"), owner)
        for group, owners in named.items()
        for position, owner in enumerate(owners)
    ]


def owners_are_listed(owners: Mapping[str, str], named: list[tuple[Place, str]]) -> None:
    """Every owner named anywhere must be in the workshop's list; else one BadInput for all."""
    faults = [
        place.fault(owner, ", ".join(owners), "List the owner in workshop.toml under [owners].")
        for place, owner in named
        if owner not in owners
    ]
    if faults:
        raise gathered(faults)


stock_price = table(
    StockPrice,
    Key("standard", name, needed=True),
    Key("kind", name, needed=True),
    Key("fabrication_per_g", money, needed=True),
    Key("least_order", money),
)


def _share(data: Any, place: Place) -> Any:
    value = money(data, place)
    if value > 100:
        raise place.fault(str(data), "0 to 100", "Give it in percent.")
    return value / 100


PRICE_KEYS = (
    Key("currency", name, needed=True),
    Key("as_of", day, needed=True),
    Key("fine_per_g", mapping(money, key=one_word(ELEMENTS)), needed=True),
    Key("scrap_paid_percent", mapping(_share), to="scrap_paid_share"),
    Key("dealer_spread_percent", _share, to="dealer_spread"),
    Key("stock", listed(stock_price)),
    *(
        Key(key, money)
        for key in (
            "energy_per_kwh", "gas_per_kg", "labour_per_h", "wear_per_melt", "refining_least",
            "postage", "assay_fee",
        )
    ),
)  # fmt: skip


def prices(data: Any, place: Place) -> Prices:
    """The prices of a file."""
    return table(Prices, *PRICE_KEYS)(data, place)
