"""Colour of gold: families that do not meet, windows for a wanted colour, pieces of a pair."""

from __future__ import annotations

from lemel.errors import NotKnown
from lemel.scrap.methods import MILLESIMAL, figure
from lemel.tables import Row, Tables, shipped
from lemel.values import Composition, Lot, Objection, Quantity, Saying, SayingValue

__all__ = ["colour_additions", "colour_window", "colours_of", "may_join", "same_colour"]

#: Columns of the table by element.
ELEMENTS = {"Ag": "ag", "Cu": "cu", "Pd": "pd", "Ni": "ni"}
#: A window holds for gold this near to its own fineness (mass fraction).
NEAR = 0.045
#: Gold above this has the colour of fine gold and joins any colour.
FINE_GOLD = 0.95


def colour_window(
    colour: str, least: float, *, tables: Tables | None = None
) -> dict[str, tuple[float, float]]:
    """Mass shares of the alloying metals for a wanted colour of gold of at least `least`.

    {element: (least, most)} as fractions of the whole, for a heat's `shares`. Zinc and
    other whiteners have only a most. Empty for colour "none". NotKnown where no row is
    within 45 millesimal parts. The names of colours overlap in the sources, and so do
    the windows; grades stand in the table `scrap_colours`.
    """
    if colour == "none":
        return {}
    row = _row(colour, least, tables or shipped())
    found = {
        element: (_share(row, f"{column}_lo"), _share(row, f"{column}_hi"))
        for element, column in ELEMENTS.items()
    }
    found["Zn"] = (0.0, _share(row, "zn_hi"))
    return found


def colours_of(body: Composition, *, tables: Tables | None = None) -> tuple[str, ...]:
    """The colours whose window a gold alloy meets, by the nearest fineness in the table."""
    tables = tables or shipped()
    found = []
    for colour in dict.fromkeys(row.key.partition("/")[2] for row in tables.rows("scrap_colours")):
        try:
            window = colour_window(colour, body.share("Au"), tables=tables)
        except NotKnown:
            continue
        if all(lo - 1e-9 <= body.share(e) <= hi + 1e-9 for e, (lo, hi) in window.items()):
            found.append(colour)
    return tuple(found)


def colour_additions(
    colour: str, least: float, *, tables: Tables | None = None
) -> dict[str, float]:
    """What to add beside fine gold for a colour: shares of the added metal, summing to one.

    The middle of the colour's window, without zinc, which burns off and is not needed for
    the colour.
    """
    window = colour_window(colour, least, tables=tables)
    middle = {e: (lo + hi) / 2 for e, (lo, hi) in window.items() if e != "Zn" and hi > 0}
    total = sum(middle.values())
    return {e: share / total for e, share in middle.items()} if total else {}


def may_join(
    lot: Lot, colour: str, *, body: Composition | None = None, tables: Tables | None = None
) -> tuple[Objection, ...]:
    """Whether a lot may go into a heat of gold or silver of this colour ("none": any).

    By the families of `metal.may_meet`: nickel and palladium white, germanium silver and
    each colour of gold keep to themselves, and a lot of another family is stopped. Fine
    gold joins every colour. A gold lot whose colour nobody has named is asked. `body` is
    the believed composition.
    """
    tables = tables or shipped()
    alloy = body or lot.stated
    if lot.main == "Ag":
        own, wanted = _own_silver(lot, alloy), "silver"
    elif lot.main == "Au" and colour != "none":
        own, wanted = _own_colour(lot, alloy), colour
    else:
        return ()
    if own == "none":
        values: dict[str, SayingValue] = {"lot": lot.id, "wanted": colour}
        remedy = Saying("scrap.do.name_colour", {"lot": lot.id})
        return (Objection("scrap.colour_unknown", lot.id, "ask", values, remedy),)
    from lemel import metal  # only here, so that a belief does not wait for its models

    return () if metal.may_meet(own, wanted, tables=tables) else (_apart(lot, own, wanted),)


def same_colour(
    one: Composition, other: Composition, about: str, *, tables: Tables | None = None
) -> tuple[Objection, ...]:
    """Whether two pieces of a pair would look alike: they should come from one heat.

    Gold of two heats may differ by as much silver or copper as the table allows before
    the eye sees it; silver by its copper alone is not judged.
    """
    tables = tables or shipped()
    most = figure("pair_ag_most", tables)
    apart = max(abs(one.share(e) - other.share(e)) for e in ("Au", "Ag", "Cu"))
    if one.main() != "Au" or apart <= most:
        return ()
    values: dict[str, SayingValue] = {
        "pair": about,
        "apart": Quantity(apart * 1000, "millesimal"),
        "most": Quantity(most * 1000, "millesimal"),
    }
    remedy = Saying("scrap.do.one_heat_for_pair", {"pair": about})
    return (Objection("scrap.pair_apart", about, "ask", values, remedy),)


def _own_silver(lot: Lot, alloy: Composition | None) -> str:
    if lot.flags.get("germanium") == "yes":
        return "germanium_silver"
    if alloy is None:
        return "silver"
    from lemel import metal

    return "germanium_silver" if metal.family(alloy) == "germanium_silver" else "silver"


def _own_colour(lot: Lot, alloy: Composition | None) -> str:
    if alloy is not None and alloy.share("Ni") >= 0.01:
        return "white_ni"
    if lot.colour != "none":
        return lot.colour
    if alloy is None:
        return "none"
    if alloy.share("Au") >= FINE_GOLD:
        return "fine_gold"
    if alloy.share("Pd") >= 0.03:
        return "white_pd"
    return "none"


def _apart(lot: Lot, own: str, wanted: str) -> Objection:
    values: dict[str, SayingValue] = {"lot": lot.id, "own": own, "wanted": wanted}
    return Objection(
        "scrap.families_apart", lot.id, "stop", values,
        Saying("scrap.do.keep_apart", {"lot": lot.id, "own": own}),
    )  # fmt: skip


def _row(colour: str, least: float, tables: Tables) -> Row:
    near = [
        (abs(float(row.key.partition("/")[0]) * MILLESIMAL - least), row.key, row)
        for row in tables.rows("scrap_colours")
        if row.key.partition("/")[2] == colour
    ]
    if not near or min(near)[0] > NEAR:
        raise NotKnown(
            f"the window of {colour} gold at {least * 1000:g}",
            "no row of the table scrap_colours is near", "Lay a house row over the table.",
        )  # fmt: skip
    return min(near)[2]


def _share(row: Row, column: str) -> float:
    return row.number(column) * MILLESIMAL
