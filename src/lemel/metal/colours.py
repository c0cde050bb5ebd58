"""The colour of gold alloys by composition, and the window of copper that keeps a colour."""

from __future__ import annotations

from lemel.tables import Row, Tables, shipped
from lemel.values import Composition

__all__ = ["COLOURS", "colour", "colour_window", "copper_share"]

COLOURS = (
    "rich_yellow", "green", "green_yellow", "pale_yellow", "yellow", "pink", "red", "white",
    "whitish", "silver",
)  # fmt: skip
_RICH = 0.95
_WHITENED = 0.10
_WHITISH_SILVER = 0.55


def copper_share(body: Composition) -> float:
    """Copper as a share of copper, silver and zinc together: what sets yellow against red."""
    beside = body.share("Cu") + body.share("Ag") + body.share("Zn")
    return body.share("Cu") / beside if beside > 0 else 0.0


def colour(body: Composition, *, tables: Tables | None = None) -> str:
    """The colour region of an alloy, one of COLOURS.

    Gold alloys by the copper share, with borders halfway between the example alloys of
    ISO 8654 (from memory); whitened by nickel, palladium or platinum from a tenth
    upwards; whitish where silver prevails. An eye may differ near a border.

    >>> colour(Composition.from_millesimal({"Au": 750, "Ag": 125, "Cu": 125}))
    'yellow'
    """
    if body.main() != "Au":
        return "silver" if body.main() in ("Ag", "Pt", "Pd") else "red"
    if body.share("Ni") + body.share("Pd") + body.share("Pt") >= _WHITENED:
        return "white"
    if body.share("Au") >= _RICH:
        return "rich_yellow"
    if body.share("Ag") >= _WHITISH_SILVER:
        return "whitish"
    return _region(copper_share(body), tables or shipped()).key


def _region(share: float, tables: Tables) -> Row:
    rows = tables.rows("metal_colour")
    return next(
        (r for r in rows if r.number("copper_from") <= share < r.number("copper_to")), rows[-1]
    )


def colour_window(
    region: str, gold: float, *, tables: Tables | None = None
) -> dict[str, tuple[float, float]]:
    """Mass-fraction windows of silver and copper that keep a colour at a gold share.

    For a blend: {"Cu": (least, most), "Ag": (least, most)}, zinc left out of account.

    >>> window = colour_window("yellow", 0.75)
    >>> tuple(round(v, 3) for v in window["Cu"])
    (0.11, 0.142)
    """
    row = (tables or shipped()).row("metal_colour", region)
    beside = 1 - gold
    low, high = row.number("copper_from"), min(1.0, row.number("copper_to"))
    return {
        "Cu": (low * beside, high * beside),
        "Ag": ((1 - high) * beside, (1 - low) * beside),
    }
