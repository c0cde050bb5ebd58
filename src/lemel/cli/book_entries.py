"""`lemel book`: single owners, consents, readings, purchases, orders and tools, word by word."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import click

from lemel.cli.answer import Told, plain
from lemel.cli.book_parts import BOOK, BY, day_of, open_at, told
from lemel.cli.book_steps import grams_of
from lemel.cli.run import verb
from lemel.errors import BadInput

__all__ = ["ENTRIES"]

_GIVEN = click.option("--given", metavar="DATE", help="The day it was given. [today]")


@verb("owner", help="Enter the owner ID with a NAME, or give it a new name.")
@click.argument("code", metavar="ID")
@click.argument("name", metavar="NAME")
@BOOK
def owner(code: str, name: str, place: str | None) -> Told:
    """What is there under the id stays."""
    with open_at(place) as opened:
        opened.enter_owners({code: name})
        names = opened.owners()
    return told({"owners": names}, lambda paper: paper.line(f"{code} is {name}."))


@verb("consent", help="OWNER allows KIND: destroy, top_up, mix_with:ID, use_offcuts, ...")
@click.argument("consent", metavar="ID")
@click.argument("giver", metavar="OWNER")
@click.argument("allows", metavar="KIND")
@click.option("--for", "about", multiple=True, metavar="BAG", help="A bag or heat. [all]")
@click.option("--limit", metavar="G", help="At most so much. [without limit]")
@click.option("--document", metavar="TEXT", help="Where it is written. [spoken]")
@_GIVEN
@BOOK
def consent(
    consent: str, giver: str, allows: str, about: tuple[str, ...], limit: str | None,
    document: str | None, given: str | None, place: str | None,
) -> Told:  # fmt: skip
    """None is changed: withdraw a wrong one and enter another."""
    from lemel.values import Consent

    with open_at(place) as opened:
        day = day_of(given, "--given") or opened.bench.today()
        most = None if limit is None else grams_of("--limit", limit)
        made = Consent(consent, giver, allows, day, most, document, about)
        opened.enter_consents([made])
    return told({"consent": plain(made)}, lambda paper: paper.line(f"{consent} is on record."))


@verb("reading", help="Enter a reading of a bag, bar or heat: PARTS are Ag=925.4 ...")
@click.argument("reading", metavar="ID")
@click.argument("body", metavar="BODY")
@click.argument("method", metavar="METHOD")
@click.argument("parts", metavar="PARTS...", nargs=-1)
@click.option("--density", type=float, metavar="G/CM3", help="A density was read instead.")
@click.option("--source", default="", metavar="NAME", help="The instrument and its day.")
@click.option("--taken", metavar="DATE", help="The day it was taken. [today]")
@BY
@BOOK
def reading(
    reading: str, body: str, method: str, parts: tuple[str, ...], density: float | None,
    source: str, taken: str | None, by: str, place: str | None,
) -> Told:  # fmt: skip
    """It changes no balance; the next plan believes it."""
    from lemel.values import Reading

    values = {name: _parts(name, said) for name, said in _pairs("PARTS", parts).items()}
    with open_at(place) as opened:
        day = day_of(taken, "--taken") or opened.bench.today()
        on = opened.mishaps.body_named(body)
        made = Reading(reading, on, method, values, source, density, taken_on=day, by=by)
        opened.enter_readings([made])
    return told({"reading": plain(made)}, lambda paper: paper.line(f"{reading} is entered."))


@verb("bought", help="The register of purchases; or: BAG was bought of SELLER, who described it.")
@click.argument("lot", metavar="[BAG]", required=False)
@click.argument("seller", metavar="[SELLER]", required=False)
@click.argument("described", metavar="[TEXT]", required=False)
@BOOK
def bought(lot: str | None, seller: str | None, described: str | None, place: str | None) -> Told:
    """Mass and price are those of the weigh-in."""
    with open_at(place) as opened:
        if lot is not None:
            opened.enter_purchase(lot, seller or "", described or "")
        found = opened.purchases()
    rows = [(one.made_at[:10], one.lot, one.seller, one.described, one.price) for one in found]
    columns = ("day", "lot", "of", "what", "price")
    return told({"bought": plain(found)}, lambda paper: paper.table(columns, rows, left=4))


@verb("order", help="Enter the LINE of an ORDER: WHAT (ring, bangle, ...) and its sizes.")
@click.argument("line", metavar="LINE")
@click.argument("order", metavar="ORDER")
@click.argument("what", metavar="WHAT")
@click.argument("sizes", metavar="SIZE=VALUE...", nargs=-1)
@click.option("--owner", required=True, metavar="ID", help="Whose metal must be in it.")
@click.option("--standard", required=True, metavar="KEY", help="As in `UK Ag 925`.")
@click.option("--count", type=int, default=1, metavar="N", help="How many. [1]")
@click.option("--due", metavar="DATE", help="When it is due. [no day]")
@click.option("--customer", default="", metavar="TEXT", help="Who gave it.")
@click.option("--note", default="", metavar="TEXT", help="In words.")
@BY
@BOOK
def order(
    line: str, order: str, what: str, sizes: tuple[str, ...], by: str, place: str | None,
    **given: Any,
) -> Told:  # fmt: skip
    """A line that stands otherwise gets a new version; sizes are as in orders.toml."""
    from lemel.values import OrderLine

    asked: Mapping[str, Any] = {k: _value(v) for k, v in _pairs("SIZE", sizes).items()}
    made = OrderLine(
        line, order, given["owner"], what, given["count"], asked, given["standard"],
        day_of(given["due"], "--due"), note=given["note"],
    )  # fmt: skip
    with open_at(place) as opened:
        customers = {order: given["customer"]} if given["customer"] else {}
        opened.bench.enter_orders([made], customers=customers, by=by)
    return told({"line": plain(made)}, lambda paper: paper.line(f"{line} is entered."))


@verb("tool", help="Enter a tool of KIND, or its new state: FIELD=VALUE, as in workshop.toml.")
@click.argument("kind", metavar="KIND")
@click.argument("tool", metavar="ID")
@click.argument("fields", metavar="FIELD=VALUE...", nargs=-1)
@BY
@BOOK
def tool(kind: str, tool: str, fields: tuple[str, ...], by: str, place: str | None) -> Told:
    """Of a tool that is there only what is named changes."""
    said = {name: _value(text) for name, text in _pairs("FIELD", fields).items()}
    with open_at(place) as opened:
        there = {row.id: row.tool for row in opened.bench.tools(kind)}.get(tool)
        if there is not None:
            from lemel.values import to_plain

            said = {**to_plain(there), **said}
        row = opened.bench.set_tool(kind, {**said, "id": tool}, by=by)
    return told({"tool": plain(row)}, lambda paper: paper.line(f"{tool} is entered."))


def _pairs(field: str, pairs: tuple[str, ...]) -> dict[str, str]:
    found: dict[str, str] = {}
    for pair in pairs:
        name, equals, text = pair.partition("=")
        if not equals or not name or not text or name in found:
            raise BadInput(field, pair, "a name, =, a value; each once", "Write width_mm=3.")
        found[name] = text
    return found


def _parts(name: str, said: str) -> float:
    try:
        return float(said) / 1000
    except ValueError:
        raise BadInput(name, said, "parts of a thousand", "Write Ag=925.4.") from None


def _value(text: str) -> Any:
    """A number, a list or an object as JSON writes it; all else is text."""
    try:
        return json.loads(text)
    except ValueError:
        return text


ENTRIES = (owner, consent, reading, bought, order, tool)
