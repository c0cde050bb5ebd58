"""Families: which metals share a crucible and a blend, told by composition and colour."""

from __future__ import annotations

from lemel.tables import Tables, shipped
from lemel.values import Composition

__all__ = ["FAMILIES", "family", "may_meet"]

FAMILIES = (
    "silver", "fine_silver", "britannia", "germanium_silver", "yellow", "red", "white_pd",
    "white_ni", "platinum", "palladium", "base",
)  # fmt: skip

#: Copper's share of silver, copper and zinc from which gold is pink or red.
_RED_FROM = 0.57
_COLOUR_FAMILY = {
    "yellow": "yellow", "green": "yellow", "rose": "red", "red": "red",
    "white_pd": "white_pd", "white_ni": "white_ni",
}  # fmt: skip


def family(body: Composition, colour: str = "none") -> str:
    """The heat family of a body: crucibles and blends are kept apart by it.

    The whitener is read from the composition (palladium, nickel); `colour`, as the lot
    states it, decides where the composition does not name the alloying metals. Common
    practice, no source.
    """
    main = body.main()
    if main == "Pt":
        return "platinum"
    if main == "Pd":
        return "palladium"
    if main == "Au":
        return _gold_family(body, colour)
    if main == "Ag" and body.share("Ag") >= 0.5:
        if body.share("Ge") >= 0.003:
            return "germanium_silver"
        if body.share("Ag") >= 0.99:
            return "fine_silver"
        return "britannia" if body.share("Ag") >= 0.95 else "silver"
    return "base"


def _gold_family(body: Composition, colour: str) -> str:
    if body.share("Ni") >= 0.01:
        return "white_ni"
    if body.share("Pd") + body.share("Pt") >= 0.03:
        return "white_pd"
    named = body.share("Ag") + body.share("Cu") + body.share("Zn")
    unnamed = 1 - body.share("Au") - named
    if unnamed > named and colour in _COLOUR_FAMILY:
        return _COLOUR_FAMILY[colour]
    if body.share("Au") >= 0.95 or named == 0:
        return _COLOUR_FAMILY.get(colour, "yellow")
    return "red" if body.share("Cu") / named >= _RED_FROM else "yellow"


def may_meet(one: str, other: str, *, tables: Tables | None = None) -> bool:
    """Whether metal of two families may go into one heat, by the table `metal_family`.

    Silver meets silver. Each colour of gold keeps to itself and fine gold joins them all;
    germanium silver, platinum metals and base metal keep to themselves. The table also
    knows "rose", "green" and "fine_gold", which lots name and `family` does not tell.
    Which heats may share a pot is another question (table `melt_family`). Common
    practice, no source.
    """
    row = (tables or shipped()).row("metal_family", one)
    return other in row.text("meets").split()
