"""`lemel book paper`: receipt, statement, stock-take, values, parcels, origin, quotation."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import Told, plain
from lemel.cli.book_parts import BOOK, BY, ON, day_of, open_at
from lemel.cli.run import verb
from lemel.errors import BadInput

if TYPE_CHECKING:
    from lemel.book import Book, Stones

__all__ = ["apart", "decimal", "number", "paper", "paper_told", "whole"]

_PDF = click.option("--pdf", metavar="FILE", help="Write it as PDF too.")
_UNIT = click.option("--unit", type=click.Choice(("g", "ozt")), help="[the owner's]")
_NUMBER = click.option("--number", "again", metavar="NO", help="One that was given out before.")
_GETS = ("own_metal_back", "work_from_it", "credit_fine", "money", "safe_keeping")


@click.group("paper", help="Papers to give out and sign.", invoke_without_command=True)
@click.pass_context
def paper(ctx: click.Context) -> None:
    """Each word below is one kind of paper."""
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())


def apart(given: tuple[str, ...], option: str, example: str) -> dict[str, str]:
    """NAME=WHAT, as often as it is given; the last mark counts, since names may hold one."""
    found = {}
    for one in given:
        name, mark, what = one.rpartition("=")
        if not mark or not name or not what:
            raise BadInput(option, one, f"NAME=WHAT such as {example}", "Write it so.")
        found[name.strip()] = what.strip()
    return found


def number(option: str, written: str) -> float:
    """A number of an option."""
    try:
        return float(written)
    except ValueError:
        raise BadInput(option, written, "a plain number", "Write it with a point.") from None


def whole(option: str, written: str) -> int:
    """A counting number of an option."""
    if not written.isdigit():
        raise BadInput(option, written, "a whole number", "Count, and write it so.")
    return int(written)


def decimal(option: str, written: str) -> Decimal:
    """An exact amount of an option."""
    try:
        value = Decimal(written)
    except InvalidOperation:
        value = Decimal("nan")
    if not value.is_finite():
        raise BadInput(option, written, "an amount such as 12.50", "Mend the number.")
    return value


def paper_told(
    book: Book, value: Any, word: str, pdf: str | None = None, unit: str | None = None, **more: Any
) -> Told:
    """A paper as an answer: its value for machines, its blocks for people, its file if wanted."""
    unit = unit or ""
    sheet = book.papers.sheet(value, unit=unit)
    payload: dict[str, Any] = {**plain(value), **more, "verb": f"book {word}"}
    if pdf is not None:
        payload["pdf"] = _written(pdf, book.papers.pdf(value, unit=unit))

    def show(page: Any) -> None:
        page.head(" ".join(part for part in (sheet.title, sheet.number) if part))
        page.line(sheet.about)
        for block in sheet.blocks:
            _show(page, block)
        if pdf is not None:
            page.line(f"It is in {payload['pdf']}.")

    return Told(payload, show)


def _written(pdf: str, content: bytes) -> str:
    try:
        Path(pdf).write_bytes(content)
    except OSError as fault:
        raise BadInput("--pdf", pdf, "a file that can be written", f"{fault.strerror}.") from None
    return str(Path(pdf).resolve())


def _show(page: Any, block: Any) -> None:
    """One block on a terminal; lines to sign on belong to paper alone."""
    from lemel.cards import Facts, Ruled, Ticks, Tree, Words

    if getattr(block, "heading", ""):
        page.head(block.heading)
    if isinstance(block, Facts):
        for name, what in block.rows:
            page.line(f"{name}: {what}")
    elif isinstance(block, Words):
        for line in block.lines:
            page.line(line)
    elif isinstance(block, Ticks):
        for line in block.lines:
            page.line(f"[ ] {line}")
    elif isinstance(block, Tree):
        for leaf in block.leaves:
            page.line(f"{'  ' * leaf.depth}{leaf.text}  {leaf.figure}".rstrip())
    elif isinstance(block, Ruled):
        _show_table(page, block)


def _show_table(page: Any, block: Any) -> None:
    shown = [n for n, column in enumerate(block.columns) if column.kind != "pencil"]
    columns = [(block.columns[n].name, block.columns[n].kind == "figures") for n in shown]
    wordy = next((n for n, (_, figures) in enumerate(columns) if not figures), 0)
    rows = [
        [row[0] if n == wordy else "" for n in range(len(shown))]
        if len(row) == 1
        else [row[n] for n in shown]
        for row in block.rows
    ]
    page.ruled(columns, rows)


def _stones(given: tuple[str, ...]) -> Mapping[str, Stones]:
    from lemel.book import Stones

    found = {}
    for lot, counts in apart(given, "--stones", "G8=3/1").items():
        counted, _, back = counts.partition("/")
        found[lot] = Stones(whole("--stones", counted), whole("--stones", back or "0"))
    return found


@verb("receipt", help="What a customer left: OWNER and the BAGs that were weighed in.")
@click.argument("owner", metavar="[OWNER]", required=False)
@click.argument("lots", metavar="[BAG...]", nargs=-1)
@click.option("--gets", type=click.Choice(_GETS), default="safe_keeping", help="What they get.")
@click.option("--promised", default="", metavar="TEXT", help="The same in their words.")
@click.option("--describe", multiple=True, metavar="BAG=TEXT", help="What it looks like.")
@click.option("--stones", multiple=True, metavar="BAG=N/BACK", help="Counted, handed back.")
@click.option("--loss", type=float, metavar="PERCENT", help="The loss that was agreed.")
@click.option("--balance", default="", metavar="ID", help="The balance that was used.")
@_NUMBER
@_UNIT
@_PDF
@BY
@BOOK
def receipt(
    owner: str | None, lots: tuple[str, ...], gets: str, promised: str, describe: tuple[str, ...],
    stones: tuple[str, ...], loss: float | None, balance: str, again: str | None, unit: str | None,
    pdf: str | None, by: str, place: str | None,
) -> Told:  # fmt: skip
    """A new one is numbered and kept; --number prints one again."""
    with open_at(place) as opened:
        if again is not None:
            return paper_told(opened, opened.papers.read_receipt(again), "paper receipt", pdf, unit)
        if owner is None:
            raise BadInput("OWNER", "", "an owner of the book, or --number", "Name whose it is.")
        made = opened.papers.receipt(
            owner, lots, gets=gets, promised=promised, balance=balance, loss_percent=loss, by=by,
            described=apart(describe, "--describe", "G8=ring"), stones=_stones(stones),
        )  # fmt: skip
        return paper_told(opened, made, "paper receipt", pdf, unit)


@verb("statement", help="OWNER's account over a period.")
@click.argument("owner", metavar="OWNER")
@click.option("--since", default="", metavar="DATE", help="From this day on. [the beginning]")
@click.option("--until", default="9999", metavar="DATE", help="To before this day. [now]")
@_UNIT
@_PDF
@BOOK
def statement(
    owner: str, since: str, until: str, unit: str | None, pdf: str | None, place: str | None
) -> Told:
    """Gross and fine: what was there, came and went, is there."""
    with open_at(place) as opened:
        made = opened.statement(owner, since, until)
        return paper_told(opened, made, "paper statement", pdf, unit)


@verb("stock-take", help="Draw up the list to count; with --number sign it off, or print it.")
@click.option("--place", "places", multiple=True, metavar="PLACE", help="Only this place. [all]")
@click.option("--owner", metavar="ID", help="One owner alone.")
@click.option("--number", "again", metavar="NO", help="The list that was counted.")
@click.option("--found", multiple=True, metavar="ROW=G", help="What was weighed, by row.")
@click.option("--signed-by", "signed", multiple=True, metavar="ID", help="Who signs; give both.")
@_UNIT
@_PDF
@BY
@BOOK
def stock_take(
    places: tuple[str, ...], owner: str | None, again: str | None, found: tuple[str, ...],
    signed: tuple[str, ...], unit: str | None, pdf: str | None, by: str, place: str | None,
) -> Told:  # fmt: skip
    """Signing off posts every difference and closes the list."""
    with open_at(place) as opened:
        papers = opened.papers
        if again is None:
            made = papers.stock_take(places, owner=owner, by=by)
        elif found or signed:
            rows = apart(found, "--found", "3=41.20")
            weighed = {whole("--found", n): number("--found", g) for n, g in rows.items()}
            made = papers.sign_off(again, weighed, signed)
        else:
            made = papers.read_stock_take(again)
        return paper_told(opened, made, "paper stock-take", pdf, unit)


@verb("values", help="What lies in the house at the prices that were entered.")
@click.option("--owner", metavar="ID", help="One owner alone.")
@ON
@_UNIT
@_PDF
@BOOK
def values(
    owner: str | None, on: str | None, unit: str | None, pdf: str | None, place: str | None
) -> Told:
    """Fine metal and money, owner by owner; without a price it says so."""
    with open_at(place) as opened:
        made = opened.papers.values(owner, on=day_of(on))
        return paper_told(opened, made, "paper values", pdf, unit)


@verb("origin", help="Where the metal of BODY comes from, and what may be said of it.")
@click.argument("body", metavar="BODY")
@click.option("--definition", default="iso_14021", metavar="KEY", help="[iso_14021]")
@_UNIT
@_PDF
@BOOK
def origin(
    body: str, definition: str, unit: str | None, pdf: str | None, place: str | None
) -> Told:
    """Shares of fine metal by class, by each definition, and the way back to the bags."""
    with open_at(place) as opened:
        made = opened.papers.origin(body, definition=definition)
        return paper_told(opened, made, "paper origin", pdf, unit)


@verb("quote", help="What ORDER costs by PLAN, for OWNER; or --number.")
@click.argument("plan", metavar="[PLAN]", required=False)
@click.argument("order", metavar="[ORDER]", required=False)
@click.argument("owner", metavar="[OWNER]", required=False)
@click.option("--assays", type=int, default=0, help="Assays to charge. [0]")
@click.option("--days", type=int, default=14, help="How long it holds. [14]")
@ON
@_NUMBER
@_UNIT
@_PDF
@BY
@BOOK
def quote(
    plan: str | None, order: str | None, owner: str | None, assays: int, days: int,
    on: str | None, again: str | None, unit: str | None, pdf: str | None, by: str,
    place: str | None,
) -> Told:  # fmt: skip
    """Metal, loss, fire, hours, assays, with what was assumed."""
    with open_at(place) as opened:
        if again is not None:
            return paper_told(opened, opened.papers.read_quote(again), "paper quote", pdf, unit)
        if plan is None or order is None or owner is None:
            raise BadInput("PLAN", "", "PLAN ORDER OWNER, or --number", "Name all three.")
        made = opened.papers.quote(
            plan, order, owner, on=day_of(on), assays=assays, valid_days=days, by=by
        )
        return paper_told(opened, made, "paper quote", pdf, unit)


def _printed(name: str, read: Callable[[Book, str], Any]) -> click.Command:
    """A word that prints a parcel again."""

    @verb(name, help="The parcel NUMBER, as it stands.")
    @click.argument("again", metavar="NUMBER")
    @_UNIT
    @_PDF
    @BOOK
    def printed(again: str, unit: str | None, pdf: str | None, place: str | None) -> Told:
        with open_at(place) as opened:
            return paper_told(opened, read(opened, again), f"paper {name}", pdf, unit)

    return printed


for one in (
    receipt, statement, stock_take, values, origin, quote,
    _printed("refiner", lambda book, again: book.papers.read_parcel(again)),
    _printed("assay", lambda book, again: book.papers.read_assay(again)),
):  # fmt: skip
    paper.add_command(one)
