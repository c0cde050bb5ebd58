"""Backwards: which moulds could give the ingots that the mill asks for, best first."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from lemel.pour.faces import MouldChoice, PourNeed
from lemel.pour.figures import figure, pot_row
from lemel.pour.fill import Cavity, button_size, cavity, cold_bar, is_thin
from lemel.pour.heat import pour_heat
from lemel.tables import Tables
from lemel.values import (
    Bar,
    Composition,
    Crucible,
    IngotNeed,
    Mould,
    Objection,
    Quantity,
    Saying,
    SayingValue,
    Section,
)

__all__ = ["BUTTON", "need"]

BUTTON = "button"


def need(
    ingot: IngotNeed,
    moulds: Iterable[Mould],
    body: Composition,
    *,
    sd: float = 0.0,
    pot: Crucible | None = None,
    lift_out_s: float | None = None,
    tables: Tables | None = None,
) -> PourNeed:
    """Every mould that could serve the need, best first; a button where it is too small for all.

    A mould serves if its cold ingot is of an allowed kind of section and not smaller than
    one of them (0.3 mm is forgiven), if its least bar is no more than the need's upper
    mass, and if it is not too thin to fill. A need heavier than one ingot is shared
    equally over as many as it takes ("split": the mill judges whether that serves). Best:
    no more bars than wanted, then fewest fillings, then least metal in the pot. A need below
    the least bar of every mould is served by a button first, a heavier bar second.
    `objections` say why a mould was left out.
    """
    ask = _Ask(ingot, body, sd, pot, lift_out_s, tables)
    choices: list[MouldChoice] = []
    objections: list[Objection] = []
    for mould in moulds:
        held = cavity(mould, body, tables=tables)
        fault = _why_not(ingot, mould, held, tables)
        if fault:
            objections.append(fault)
        else:
            choices.append(_choice(ask, mould, held))
    choices.sort(key=lambda c: (c.bars > ingot.count, c.pours, c.total_g, c.mould))
    if all(min(ingot.mass_g) < choice.least_g for choice in choices):
        buttons, more = _by_button(ask)
        choices = buttons + choices
        objections += more if not choices else []
    return PourNeed(tuple(choices), tuple(objections))


@dataclass(frozen=True, slots=True)
class _Ask:
    """What every mould is judged against."""

    ingot: IngotNeed
    body: Composition
    sd: float
    pot: Crucible | None
    lift_out_s: float | None
    tables: Tables | None

    def bar(self, mould: str, section: Section, length_mm: float, mass_g: float) -> Bar:
        """The ingot that would come out."""
        return Bar(
            id=f"{self.ingot.id}/{mould}",
            owner=self.ingot.owner,
            kind="ingot",
            body=self.body,
            sd=self.sd,
            section=section,
            length_mm=length_mm,
            mass_g=mass_g,
            promise_met=self.ingot.standard,
        )


def _why_not(
    ingot: IngotNeed, mould: Mould, held: Cavity, tables: Tables | None
) -> Objection | None:
    cold = Section.of(
        mould.cavity.kind,
        {name: size * held.cold_scale for name, size in mould.cavity.dims_mm},
        mould.cavity.corner,
    )
    if is_thin(mould, tables):
        return Objection(
            "pour.mould.thin",
            mould.id,
            "note",
            {
                "thickness": Quantity(mould.cavity.thickness_mm, "mm"),
                "least": Quantity(figure("refuse_below_mm", tables), "mm"),
            },
            Saying("pour.way.thicker_mould"),
        )
    slack = figure("short_slack_mm", tables)
    if ingot.sections and not any(_covers(cold, wanted, slack) for wanted in ingot.sections):
        return Objection("pour.mould.section", mould.id, "note", {"kind": cold.kind})
    if held.least_g > max(ingot.mass_g):
        return Objection(
            "pour.mould.too_big",
            mould.id,
            "note",
            {
                "least": Quantity(held.least_g, "g"),
                "wanted": Quantity(max(ingot.mass_g), "g"),
            },
            Saying("pour.way.button"),
        )
    each = math.ceil(min(ingot.mass_g) / held.full_g - 1e-9)
    if each * ingot.count > figure("bars_most", tables):
        values = {"bars": each * ingot.count}
        way = Saying("pour.way.bigger_mould")
        return Objection("pour.mould.too_small", mould.id, "note", values, way)
    return None


def _covers(cold: Section, wanted: Section, slack_mm: float) -> bool:
    if cold.kind != wanted.kind:
        return False
    return all(cold.dim(name) >= size - slack_mm for name, size in wanted.dims_mm)


def _bars(ingot: IngotNeed, held: Cavity, tables: Tables | None) -> tuple[int, float]:
    """How many ingots, and the cold mass of each."""
    low_g, high_g = min(ingot.mass_g), max(ingot.mass_g)
    each = max(1, math.ceil(low_g / held.full_g - 1e-9))
    mass_g = max(low_g / each, min(held.least_g, high_g))
    nearly = figure("near_full_share", tables) * held.full_g
    if mass_g > nearly and held.full_g * each <= high_g:
        mass_g = held.full_g
    return each * ingot.count, min(mass_g, held.full_g)


def _choice(ask: _Ask, mould: Mould, held: Cavity) -> MouldChoice:
    ingot, tables = ask.ingot, ask.tables
    bars, mass_g = _bars(ingot, held, tables)
    feeder_g = held.feeder_g * mass_g / held.full_g
    section, length_mm = cold_bar(mould, ask.body, mass_g, tables=tables)
    fill_g = mass_g + feeder_g
    skin = pot_row(ask.pot.material if ask.pot else "graphite", tables).text("skin")
    total_g = bars * fill_g + figure(skin, tables)
    heat = pour_heat(
        ask.body, mould, total_g, pot=ask.pot, lift_out_s=ask.lift_out_s, tables=tables
    )
    if bars > ingot.count:
        verdict = "split"
    else:
        verdict = "full" if mass_g > held.full_g * (1 - 1e-9) else "short"
    return MouldChoice(
        mould=mould.id,
        ingot=ask.bar(mould.id, section, length_mm, mass_g),
        pours=math.ceil(bars / mould.channels),
        fill_g=fill_g,
        feeder_g=feeder_g,
        least_g=held.least_g,
        pour_at_c=heat.bath_c,
        total_g=total_g,
        verdict=verdict,
        objections=(_split_note(ingot, mould, held, bars),) if verdict == "split" else (),
        bars=bars,
        holds_g=held.holds_g,
        full_g=held.full_g,
    )


def _split_note(ingot: IngotNeed, mould: Mould, held: Cavity, bars: int) -> Objection:
    values: dict[str, SayingValue] = {
        "wanted": Quantity(min(ingot.mass_g), "g"),
        "holds": Quantity(held.holds_g, "g"),
        "bars": bars,
    }
    return Objection("pour.mould.split", mould.id, "note", values, Saying("pour.way.bigger_mould"))


def _by_button(ask: _Ask) -> tuple[list[MouldChoice], list[Objection]]:
    """The way of the small heat; a need too heavy to forge from a button has no choice."""
    ingot, tables = ask.ingot, ask.tables
    mass_g = min(ingot.mass_g)
    mass = {"mass": Quantity(mass_g, "g")}
    forged = all(s.kind in ("flat", "round", "square") for s in ingot.sections)
    if mass_g > figure("button_most_g", tables) or not forged:
        way = Saying("pour.way.get_mould")
        return [], [Objection("pour.no_mould", ingot.id, "stop", mass, way)]
    section, height_mm = button_size(ask.body, mass_g, tables=tables)
    note = Objection("pour.button", ingot.id, "note", mass, Saying("pour.way.forge"))
    choice = MouldChoice(
        mould=BUTTON,
        ingot=ask.bar(BUTTON, section, height_mm, mass_g),
        pours=ingot.count,
        fill_g=mass_g,
        feeder_g=0.0,
        least_g=0.0,
        pour_at_c=pour_heat(ask.body, None, mass_g, tables=tables).bath_c,
        total_g=ingot.count * (mass_g + figure("skin_button_g", tables)),
        verdict=BUTTON,
        objections=(note,),
        bars=ingot.count,
    )
    return [choice], []
