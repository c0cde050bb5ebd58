"""A pot's life: looked at before every melt, counted after it, retired by rule."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lemel.melt.figures import figure, pot_row
from lemel.tables import Tables
from lemel.values import Crucible, Objection, Quantity, Saying, SayingValue

__all__ = [
    "Inspection", "after_melt", "between_owners", "count_of", "inspect_pot", "melts_most",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Inspection:
    """What was seen. `wall_left` is the thinnest wall over a new one's (1: as new)."""

    cracked: bool = False
    flaking: bool = False
    glaze_bare: bool = False
    damp: bool = False
    wall_left: float = 1.0


def inspect_pot(
    pot: Crucible, seen: Inspection, tables: Tables | None = None
) -> tuple[Objection, ...]:
    """What the look at a pot means: stop for a crack or a thin wall, glaze or dry otherwise."""
    other, found = Saying("melt.way.other_pot"), []
    if seen.cracked:
        found.append(Objection("melt.pot.cracked", pot.id, "stop", {}, other))
    least = figure("wall_least", tables)
    if seen.wall_left < least:
        values = {
            "left": Quantity(100 * seen.wall_left, "percent"),
            "least": Quantity(100 * least, "percent"),
        }
        found.append(Objection("melt.pot.thin_wall", pot.id, "stop", values, other))
    if seen.flaking:
        found.append(Objection("melt.pot.flaking", pot.id, "ask", {}, Saying("melt.way.brush_pot")))
    if seen.damp:
        found.append(Objection("melt.pot.damp", pot.id, "stop", {}, Saying("melt.way.warm_pot")))
    if seen.glaze_bare and pot.material in ("clay_dish", "ceramic"):
        found.append(Objection("melt.pot.bare", pot.id, "ask", {}, Saying("melt.way.glaze")))
    return tuple(found)


def after_melt(
    pot: Crucible, seen: Inspection | None = None, tables: Tables | None = None
) -> Crucible:
    """The pot with one more melt counted, retired where a crack, its wall or its count says so."""
    done = pot.melts_done + 1
    broken = seen is not None and (seen.cracked or seen.wall_left < figure("wall_least", tables))
    gone = pot.retired or done >= melts_most(pot, tables) or broken
    return replace(pot, melts_done=done, retired=gone)


def melts_most(pot: Crucible, tables: Tables | None = None) -> int:
    """How many melts a pot is good for: its own figure, never more than its material's."""
    return min(pot.melts_most, int(pot_row(pot.material, tables).number("life_hi")))


def count_of(pot: Crucible, tables: Tables | None = None) -> Saying:
    """Which melt of how many this one is."""
    values: dict[str, SayingValue] = {
        "pot": pot.id,
        "family": pot.family,
        "melt": pot.melts_done + 1,
        "most": melts_most(pot, tables),
    }
    return Saying("melt.pot.count", values)


def between_owners(
    pot: Crucible, last_owner: str, next_owner: str, tables: Tables | None = None
) -> tuple[Saying, ...]:
    """What to do so that one owner's metal does not stay in the next one's heat.

    What the pot holds back belongs to the last owner until a wash heat or a scrape takes it out:
    the book keeps it on the pot's own account.
    """
    if last_owner in ("", next_owner):
        return ()
    values: dict[str, SayingValue] = {
        "pot": pot.id,
        "owner": last_owner,
        "held": Quantity(pot_row(pot.material, tables).number("skin_g"), "g"),
    }
    if pot.material in ("clay_dish", "ceramic"):
        return (Saying("melt.owner.own_dish", values),)
    return (Saying("melt.owner.wash", values), Saying("melt.owner.own_dish", values))
