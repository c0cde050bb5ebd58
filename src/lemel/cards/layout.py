"""The card of one layout: the drawing at full size, the blanks with tick boxes, the remnant."""

from __future__ import annotations

from typing import Any

from lemel.cards.code import code_of
from lemel.cards.hand import Hand
from lemel.cards.ids import listed
from lemel.cards.press import Card, drawing
from lemel.cut import Layout, Placement, SheetLayout
from lemel.plan import Plan, StockWork
from lemel.sketch import full_size
from lemel.values import Bar, Blank, Outline

__all__ = ["layout_cards"]

#: Room for a drawing on a card that also lists its blanks, mm.
_ROOM_MM = (186.0, 150.0)


def layout_cards(plan: Plan, work: StockWork, hand: Hand, foot: str) -> list[Card]:
    """One card for each bar of a layout on which pieces are marked out."""
    layout = work.layout
    if layout is None:
        return []
    bars = {made.id: made for one in work.bars for made in one.route.stock}
    return [
        _card(plan, work, layout, sheet, bars.get(sheet.bar), hand, foot)
        for sheet in layout.sheets
        if sheet.placements
    ]


def _card(
    plan: Plan,
    work: StockWork,
    layout: Layout,
    sheet: SheetLayout,
    bar: Bar | None,
    hand: Hand,
    foot: str,
) -> Card:
    blanks = {blank.piece: blank for blank in work.blanks}
    drawn = full_size(layout, sheet.bar, _ROOM_MM)
    section = bar.section if bar else work.need.section
    return {
        "kind": "layout",
        "title": sheet.bar,
        "title_size": 34 if len(sheet.bar) <= 9 else 18,
        "name": hand.say("cards.layout.name", bar=sheet.bar),
        "foot": foot,
        "code": code_of(plan.id, sheet.bar),
        "standard": work.need.standard,
        "owner": plan.owners.get(work.need.owner, work.need.owner),
        "stock": hand.say(
            "cards.layout.stock",
            section=hand.section(section),
            length=hand.length(sheet.length_mm),
            mass=hand.mass(bar.mass_g) if bar else "",
        ),
        "lines": hand.say("cards.heat.for", lines=listed(work.lines)),
        "inline": [drawing(one) for one in drawn.inline],
        "pages": [[drawing(one) for one in page] for page in drawn.pages],
        "mind": list(dict.fromkeys(hand.short(one) for one in layout.cautions)),
        "stops": [hand.told(one) for one in layout.objections if one.grade in ("stop", "ask")],
        "blanks": [
            _blank(
                spot, blanks.get(spot.piece), layout, hand, along=not (drawn.inline or drawn.pages)
            )
            for spot in _in_order(sheet, blanks)
        ],
        "listed": not (drawn.inline or drawn.pages),
        "remnant": _remnant(sheet, hand),
        "left": _left(sheet, hand),
    }


def _in_order(sheet: SheetLayout, blanks: dict[str, Blank]) -> list[Placement]:
    """Pieces in the order of the list that was asked for."""
    order = {piece: number for number, piece in enumerate(blanks)}
    return sorted(sheet.placements, key=lambda spot: (order.get(spot.piece, len(order)), spot.x_mm))


def _blank(
    spot: Placement, blank: Blank | None, layout: Layout, hand: Hand, *, along: bool
) -> dict[str, Any]:
    size = hand.length(spot.outline.length_mm) if along else _outline(spot.outline, hand)
    if blank is not None and blank.count > 1:
        size = hand.say("cards.layout.yields", size=size, count=blank.count)
    if along:
        start, end = spot.x_mm, spot.x_mm + spot.outline.length_mm
        size = hand.say(
            "cards.layout.along", size=size, start=hand.length(start), end=hand.length(end)
        )
    return {
        "piece": spot.piece,
        "size": size,
        "mass": hand.figure(layout.pieces_g.get(spot.piece, 0.0)),
    }


def _outline(outline: Outline, hand: Hand) -> str:
    if outline.kind == "disc":
        return hand.say("cards.outline.disc", across=hand.cut(outline.length_mm))
    values = {"length": hand.cut(outline.length_mm), "width": hand.cut(outline.width_mm)}
    return hand.say(f"cards.outline.{outline.kind}", **values)


def _remnant(sheet: SheetLayout, hand: Hand) -> str:
    """What is stamped and kept, each piece of it."""
    return " ".join(
        hand.say(
            "cards.layout.remnant",
            remnant=rest.bar.id,
            length=hand.length(rest.bar.length_mm),
            mass=hand.mass(rest.bar.mass_g),
        )
        for rest in sheet.rests
    )


def _left(sheet: SheetLayout, hand: Hand) -> list[dict[str, str]]:
    rows = [{"what": hand.say("cards.weigh.pieces"), "planned": hand.mass(sheet.blanks_g)}]
    rows += [{"what": rest.bar.id, "planned": hand.mass(rest.bar.mass_g)} for rest in sheet.rests]
    for code, mass_g in (("cards.weigh.scrap", sheet.scrap_g), ("cards.weigh.kerf", sheet.kerf_g)):
        if mass_g >= 0.005:
            rows.append({"what": hand.say(code), "planned": hand.mass(mass_g)})
    return rows
