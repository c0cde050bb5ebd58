"""`lemel book`, what no plan foresees: faults, wrong bags, spills, heaps that change."""

from __future__ import annotations

from typing import Any

import click

from lemel.cli.answer import Told, plain
from lemel.cli.book_parts import BOOK, BY, open_at, told
from lemel.cli.book_steps import AT, CONSENT, HEAT, PLAN, amounts, grams_of, show_happened
from lemel.cli.given import NUMBER
from lemel.cli.run import verb

__all__ = ["MISHAPS"]

_OWNER = click.option("--owner", default="", metavar="ID", help="Whose, where several have it.")
_INTO = click.option("--into", default="", metavar="ID", help="What the bag is to be called.")
_RIGHT = click.option("--right", is_flag=True, help="The balance is right; book the difference.")
_BODY = click.argument("body", metavar="BODY")
_ROOM = click.option("--room", metavar="G", help="What the pot still takes. [any]")


def _g(option: str, written: str | None) -> float | None:
    return None if written is None else grams_of(option, written)


@verb("fault", help="A fault of a bar: short, cold_shut, pipe, flash, pits, streaks, crack, ...")
@_BODY
@click.argument("kind", metavar="KIND")
@click.option("--place", "place_mm", type=NUMBER, metavar="MM", help="From the leading end.")
@click.option("--depth", "depth_mm", type=NUMBER, metavar="MM", help="How deep it goes.")
@click.option("--cropped", metavar="G", help="What was sawn off; it goes back as an offcut.")
@click.option("--left", metavar="G", help="The bar after that. [all but what was cropped]")
@click.option("--note", default="", metavar="TEXT", help="What was seen.")
@_RIGHT
@BY
@AT
@BOOK
def fault(
    body: str, kind: str, place_mm: float | None, depth_mm: float | None, cropped: str | None,
    left: str | None, note: str, right: bool, by: str, at: str, place: str | None,
) -> Told:  # fmt: skip
    """A crack bars the bar's heat and all its relatives from clean heats."""
    with open_at(place) as opened:
        acts = opened.mishaps
        happened = acts.fault(
            acts.body_named(body), kind, place_mm=place_mm, depth_mm=depth_mm,
            cropped_g=_g("--cropped", cropped), left_g=_g("--left", left), note=note,
            answered=right, by=by, at=at,
        )  # fmt: skip
    return show_happened(happened)


@verb("clear", help="BODY is sound after all, and why; its relatives with it.")
@_BODY
@click.argument("reason", metavar="REASON")
@BY
@AT
@BOOK
def clear(body: str, reason: str, by: str, at: str, place: str | None) -> Told:
    """It may go into clean heats again."""
    with open_at(place) as opened:
        acts = opened.mishaps
        happened = acts.clear_suspect(acts.body_named(body), reason, by=by, at=at)
    return show_happened(happened)


@verb("wrong-bag", help="REALLY went into the pot of HEAT where the book says CHARGED.")
@PLAN
@HEAT
@click.argument("charged", metavar="CHARGED")
@click.argument("really", metavar="REALLY")
@click.option("--grams", metavar="G", help="How much of it. [as much]")
@CONSENT
@_ROOM
@BY
@AT
@BOOK
def wrong_bag(
    plan: str, heat: str, charged: str, really: str, grams: str | None, consent: str,
    room: str | None, by: str, at: str, place: str | None,
) -> Told:  # fmt: skip
    """Before the pour the ways out are told; `add` or `mark` takes one."""
    with open_at(place) as opened:
        acts = opened.mishaps
        happened = acts.wrong_lot(
            acts.plan_named(plan), heat, charged, really, grams=_g("--grams", grams),
            consent=consent, room_g=_g("--room", room), by=by, at=at,
        )  # fmt: skip
    return show_happened(happened)


@verb("ways-out", help="What can be done with the metal in the pot of HEAT.")
@PLAN
@HEAT
@_ROOM
@BOOK
def ways_out(plan: str, heat: str, room: str | None, place: str | None) -> Told:
    """Keep it, correct it in the pot, or pour it and mark it at what it is."""
    with open_at(place) as opened:
        found = opened.mishaps.offers(opened.mishaps.plan_named(plan), heat, _g("--room", room))

    def show(paper: Any) -> None:
        for offer in found:
            paper.sayings(offer.way.replace("_", " "), offer.said)

    return told({"offers": plain(found)}, show)


@verb("mark", help="The bars of HEAT are marked STANDARD, or `none`, and why.")
@PLAN
@HEAT
@click.argument("standard", metavar="STANDARD")
@click.argument("why", metavar="WHY")
@BY
@AT
@BOOK
def mark(
    plan: str, heat: str, standard: str, why: str, by: str, at: str, place: str | None
) -> Told:
    """What was promised of them no longer holds."""
    with open_at(place) as opened:
        marked = "" if standard == "none" else standard
        happened = opened.mishaps.mark_real(
            opened.mishaps.plan_named(plan), heat, marked, why, by=by, at=at
        )
    return show_happened(happened)


@verb("empty", help="The cold charge of HEAT goes back into its bags.")
@PLAN
@HEAT
@click.option("--after", multiple=True, metavar="ID=G", help="A whole bag, weighed again.")
@BY
@AT
@BOOK
def empty(
    plan: str, heat: str, after: tuple[str, ...], by: str, at: str, place: str | None
) -> Told:
    """The heat is planned again, its lots reserved as they were."""
    with open_at(place) as opened:
        happened = opened.mishaps.uncharge(
            opened.mishaps.plan_named(plan), heat, after=amounts("--after", after), by=by, at=at
        )
    return show_happened(happened)


@verb("spill", help="Metal beside the pot of HEAT: what was picked up, what is lost.")
@PLAN
@HEAT
@click.option("--recovered", default="0", metavar="G", help="Picked up, a bag again.")
@click.option("--lost", default="0", metavar="G", help="Not found again.")
@_INTO
@BY
@AT
@BOOK
def spill(
    plan: str, heat: str, recovered: str, lost: str, into: str, by: str, at: str,
    place: str | None,
) -> Told:  # fmt: skip
    """Do not touch it: spilled metal stays hot long after it looks cold."""
    with open_at(place) as opened:
        happened = opened.mishaps.spill(
            opened.mishaps.plan_named(plan), heat, recovered_g=grams_of("--recovered", recovered),
            lost_g=grams_of("--lost", lost), into=into, by=by, at=at,
        )  # fmt: skip
    return show_happened(happened)


@verb("split", help="New bags out of BAG, by weight: S1a=12.3 S1b=4.")
@click.argument("lot", metavar="BAG")
@click.argument("parts", metavar="ID=G...", nargs=-1, required=True)
@click.option("--whole", is_flag=True, help="Nothing is left in the old bag.")
@_OWNER
@_RIGHT
@BY
@AT
@BOOK
def split(
    lot: str, parts: tuple[str, ...], whole: bool, owner: str, right: bool, by: str, at: str,
    place: str | None,
) -> Told:  # fmt: skip
    """Each part inherits what is known of the bag."""
    with open_at(place) as opened:
        acts = opened.mishaps
        happened = acts.split(
            acts.body_named(lot), amounts("PARTS", parts), whole=whole, owner=owner,
            answered=right, by=by, at=at,
        )  # fmt: skip
    return show_happened(happened)


@verb("join", help="BAGS into one bag called INTO: one metal, one family, one owner.")
@click.argument("into", metavar="INTO")
@click.argument("lots", metavar="BAG...", nargs=-1, required=True)
@_OWNER
@CONSENT
@BY
@AT
@BOOK
def merge(
    into: str, lots: tuple[str, ...], owner: str, consent: str, by: str, at: str,
    place: str | None,
) -> Told:  # fmt: skip
    """Two owners' bags only by a consent to mix."""
    with open_at(place) as opened:
        acts = opened.mishaps
        bodies = [acts.body_named(one) for one in lots]
        happened = acts.merge(bodies, into, owner=owner, consent=consent, by=by, at=at)
    return show_happened(happened)


@verb("remelt", help="BODY becomes scrap for another heat; its count of melts goes with it.")
@_BODY
@_INTO
@click.option("--weighed", metavar="G", help="What it weighs. [as the book says]")
@_OWNER
@_RIGHT
@BY
@AT
@BOOK
def remelt(
    body: str, into: str, weighed: str | None, owner: str, right: bool, by: str, at: str,
    place: str | None,
) -> Told:  # fmt: skip
    """The steps that now lack it are named."""
    with open_at(place) as opened:
        acts = opened.mishaps
        happened = acts.remelt(
            acts.body_named(body), into=into, weighed_g=_g("--weighed", weighed), owner=owner,
            answered=right, by=by, at=at,
        )  # fmt: skip
    return show_happened(happened)


@verb("restock", help="So much more of an ADDITION that the book knows.")
@click.argument("addition", metavar="ADDITION")
@click.argument("grams", metavar="G")
@BY
@AT
@BOOK
def restock(addition: str, grams: str, by: str, at: str, place: str | None) -> Told:
    """Of the composition that it has in the book."""
    with open_at(place) as opened:
        happened = opened.mishaps.restock(addition, grams_of("G", grams), by=by, at=at)
    return show_happened(happened)


@verb("found", help="G of OWNER turned up that had been booked as lost in an OPERATION.")
@click.argument("owner", metavar="OWNER")
@click.argument("operation", metavar="OPERATION")
@click.argument("grams", metavar="G")
@click.option("--from", "lost_from", default="", metavar="BODY", help="The heat or bar it is of.")
@_INTO
@_RIGHT
@BY
@AT
@BOOK
def found(
    owner: str, operation: str, grams: str, lost_from: str, into: str, right: bool, by: str,
    at: str, place: str | None,
) -> Told:  # fmt: skip
    """OPERATION is melt_and_pour, mill, cut, part, spill or stock_take."""
    with open_at(place) as opened:
        acts = opened.mishaps
        happened = acts.found(
            owner, operation, grams_of("G", grams),
            lost_from=acts.body_named(lost_from) if lost_from else "", into=into, answered=right,
            by=by, at=at,
        )  # fmt: skip
    return show_happened(happened)


@verb("recover", help="BOX emptied into a bag: lemel_box, sweeps, slag, hold_up (of a pot).")
@click.argument("box", metavar="BOX")
@_BODY
@click.argument("grams", metavar="G")
@click.option("--rest-stays", is_flag=True, help="What is not weighed stays in it.")
@_OWNER
@_INTO
@_RIGHT
@BY
@AT
@BOOK
def recover(
    box: str, body: str, grams: str, rest_stays: bool, owner: str, into: str, right: bool,
    by: str, at: str, place: str | None,
) -> Told:  # fmt: skip
    """BODY is the box's own name, or the pot's."""
    with open_at(place) as opened:
        happened = opened.mishaps.recover(
            box, body, grams_of("G", grams), owner=owner, into=into, emptied=not rest_stays,
            answered=right, by=by, at=at,
        )  # fmt: skip
    return show_happened(happened)


@verb("deliver", help="PIECE leaves the house for its order.")
@click.argument("piece", metavar="PIECE")
@click.option("--order", default="", metavar="LINE", help="The order line. [the plan's]")
@_OWNER
@BY
@AT
@BOOK
def deliver(piece: str, order: str, owner: str, by: str, at: str, place: str | None) -> Told:
    """Out of the book's house, still in the book."""
    with open_at(place) as opened:
        acts = opened.mishaps
        happened = acts.deliver(acts.body_named(piece), order=order, owner=owner, by=by, at=at)
    return show_happened(happened)


@verb("take-back", help="The owner takes BODY home, whole or in part.")
@_BODY
@click.option("--grams", metavar="G", help="So much of it. [all]")
@click.option("--drop", is_flag=True, help="Even what a plan had counted on.")
@_OWNER
@BY
@AT
@BOOK
def take_back(
    body: str, grams: str | None, drop: bool, owner: str, by: str, at: str, place: str | None
) -> Told:
    """What is promised to a plan is refused unless it is dropped."""
    with open_at(place) as opened:
        acts = opened.mishaps
        happened = acts.take_back(
            acts.body_named(body), _g("--grams", grams), owner=owner, drop=drop, by=by, at=at
        )
    return show_happened(happened)


MISHAPS = (
    fault, clear, wrong_bag, ways_out, mark, empty, spill, split, merge, remelt, restock, found,
    recover, deliver, take_back,
)  # fmt: skip
