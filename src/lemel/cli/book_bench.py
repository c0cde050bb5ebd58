"""`lemel book`, the bench's records: orders, tools, gates, photographs, prices, rules, runs."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import INFEASIBLE, Told, plain
from lemel.cli.book_parts import BOOK, BY, ON, day_of, open_at, told
from lemel.cli.given import NUMBER
from lemel.cli.run import verb
from lemel.errors import BadInput

if TYPE_CHECKING:
    from lemel.book import Run, RunEvent, Shelved, ToolRow, Wanted

__all__ = ["WORDS"]


@verb("orders", help="Order lines with what is made and planned of each.")
@click.option("--all", "every", is_flag=True, help="Those that are made or closed too.")
@BOOK
def orders(every: bool, place: str | None) -> Told:
    """Open lines in the order of their entry."""
    with open_at(place) as opened:
        found = opened.bench.orders(open_only=not every)
    rows = [_order_row(one) for one in found]
    columns = ("line", "what", "state", "due", "count", "made", "planned", "left")
    payload = {"orders": [{**plain(one), "left": one.left} for one in found]}
    return told(payload, lambda paper: paper.table(columns, rows, left=4))


def _order_row(one: Wanted) -> tuple[str, ...]:
    due = one.line.due_on.isoformat() if one.line.due_on else ""
    counts = (one.line.count, one.made, one.planned, one.left)
    return (one.line.id, one.line.what, one.state, due, *map(str, counts))


@verb("close", help="An order line is met or dropped.")
@click.argument("line", metavar="LINE")
@click.argument("how", metavar="met|dropped")
@BY
@BOOK
def close(line: str, how: str, by: str, place: str | None) -> Told:
    """It stays in the book and is asked for no more."""
    with open_at(place) as opened:
        opened.bench.close_order(line, how, by=by)
    return told({"line": line, "state": how}, lambda paper: paper.line(f"{line} is {how}."))


@verb("tools", help="The tools in use, all or those of one KIND; a pot with its melts.")
@click.argument("kind", metavar="[KIND]", required=False)
@click.option("--all", "every", is_flag=True, help="Those that are retired too.")
@BOOK
def tools(kind: str | None, every: bool, place: str | None) -> Told:
    """In the order of their entry."""
    with open_at(place) as opened:
        kinds = [kind] if kind else list(opened.bench.tool_kinds)
        found = [row for one in kinds for row in opened.bench.tools(one, retired=every)]
    rows = [_tool_row(row) for row in found]
    columns = ("kind", "id", "life", "since", "retired")
    return told({"tools": plain(found)}, lambda paper: paper.table(columns, rows, left=5))


def _tool_row(row: ToolRow) -> tuple[str, ...]:
    life = ""
    if row.kind == "crucible":
        life = f"{row.tool.melts_done} of {row.tool.melts_most} melts"
    elif row.kind == "balance" and row.tool.calibrated_on:
        life = f"checked {row.tool.calibrated_on.isoformat()}"
    return row.kind, row.id, life, row.since[:10], row.retired_why


@verb("retire", help="A tool is worn out, broken or sold.")
@click.argument("kind", metavar="KIND")
@click.argument("tool", metavar="ID")
@click.option("--why", required=True, metavar="TEXT", help="What ended it.")
@BY
@BOOK
def retire(kind: str, tool: str, why: str, by: str, place: str | None) -> Told:
    """It stays in the book with its reason; no plan takes it any more."""
    with open_at(place) as opened:
        opened.bench.retire_tool(kind, tool, why, by=by)
    payload = {"kind": kind, "id": tool, "why": why}
    return told(payload, lambda paper: paper.line(f"{tool} is out of use."))


@verb("look", help="May BAG be melted? Or: answer one QUESTION yes, no or unknown.")
@click.argument("lot", metavar="BAG")
@click.argument("gate", metavar="[QUESTION]", required=False)
@click.argument("answer", metavar="[ANSWER]", required=False)
@click.option("--seen", default="", metavar="TEXT", help="What was seen or weighed.")
@ON
@BY
@BOOK
def gate(
    lot: str,
    gate: str | None,
    answer: str | None,
    seen: str,
    on: str | None,
    by: str,
    place: str | None,
) -> Told:
    """Ends with 3 where something still keeps the bag out of the pot."""
    from lemel.words import remedy, say

    with open_at(place) as opened:
        if gate is not None:
            opened.bench.answer_gate(lot, gate, answer or "", seen=seen, by=by)
        found = opened.bench.open_gates(lot, day_of(on))
        answers = opened.bench.gate_answers(lot)
    barred = any(one.grade in ("stop", "ask") for one in found)
    payload = {
        "lot": lot, "may_melt": not barred, "open": plain(found), "answers": plain(answers),
    }  # fmt: skip

    def show(paper: Any) -> None:
        for one in found:
            paper.line(f"{one.grade}: {say(one)} {remedy(one) or ''}".rstrip())
        if not barred:
            paper.line(f"Nothing keeps {lot} out of the pot.")

    return told(payload, show, INFEASIBLE if barred else 0)


@verb("photo", help="Keep the picture FILE of a bag, bar or piece; without FILE list them.")
@click.argument("about", metavar="BODY")
@click.argument("file", metavar="[FILE]", required=False)
@click.option("--of", default="mark", metavar="WHAT", help="mark, whole or damage. [mark]")
@click.option("--taken", metavar="DATE", help="The day it was taken. [today]")
@BY
@BOOK
def photo(
    about: str, file: str | None, of: str, taken: str | None, by: str, place: str | None
) -> Told:
    """PNG, JPEG or WebP up to 12 MiB, kept by its digest."""
    with open_at(place) as opened:
        if file is not None:
            try:
                data = Path(file).read_bytes()
            except OSError as fault:
                raise BadInput("FILE", file, "a picture", f"{fault.strerror}.") from None
            taken_on = day_of(taken, "--taken")
            opened.bench.keep_photo(about, data, taken_on=taken_on, of=of, by=by)
        found = opened.bench.photos(about)
    rows = [(one.of, one.taken_on.isoformat(), one.file) for one in found]
    columns = ("of", "taken", "file")
    payload = {"about": about, "photos": plain(found)}
    return told(payload, lambda paper: paper.table(columns, rows, left=3))


@verb("price", help="The prices of a day; or enter one: WHAT is fine/Ag, labour_per_h, ...")
@click.argument("what", metavar="[WHAT]", required=False)
@click.argument("amount", metavar="[AMOUNT]", required=False)
@click.option("--source", default="", metavar="TEXT", help="Who says so.")
@click.option("--currency", default="", metavar="CODE", help="Needed with the first price.")
@ON
@BY
@BOOK
def price(
    what: str | None,
    amount: str | None,
    source: str,
    currency: str,
    on: str | None,
    by: str,
    place: str | None,
) -> Told:
    """None is overwritten: a plan takes the latest up to its day."""
    with open_at(place) as opened:
        if what is not None:
            opened.bench.set_price(
                what, amount or "", on=day_of(on), source=source, currency=currency, by=by
            )
        found = opened.bench.price_lines(day_of(on))
        whole = opened.bench.prices(day_of(on))
    rows = [(one.what, one.on.isoformat(), one.source, one.amount) for one in found]
    payload = {"currency": whole.currency if whole else None, "prices": plain(found)}
    columns = ("price", "since", "source", payload["currency"] or "")
    return told(payload, lambda paper: paper.table(columns, rows, left=3))


@verb("rule", help="The rules of the house; or set one: NAME VALUE.")
@click.argument("name", metavar="[NAME]", required=False)
@click.argument("value", metavar="[VALUE]", required=False)
@BY
@BOOK
def rule(name: str | None, value: str | None, by: str, place: str | None) -> Told:
    """NAME as listed, allowances.melt or hold_days; shares are fractions of one."""
    with open_at(place) as opened:
        if name is not None:
            opened.bench.set_rule(name, _value(value or ""), by=by)
        standing = plain(opened.bench.rules())
        figures = plain(opened.bench.figures())
    rows = [(one, _written(said)) for one, said in standing.items()]
    rows += [
        (f"{table}, {row}, {column}", _written(said))
        for table, changed in figures.items()
        for row, cells in changed.items()
        for column, said in cells.items()
    ]
    payload = {"rules": standing, "figures": figures}
    return told(payload, lambda paper: paper.table(("rule", ""), rows, left=2))


def _value(written: str) -> Any:
    try:
        return json.loads(written)
    except ValueError:
        return written


def _written(said: Any) -> str:
    if isinstance(said, dict):
        return ", ".join(f"{name} {one:g}" for name, one in said.items())
    return str(said)


@verb("run", help="The working runs of PLAN; or tick pass N of its STEP.")
@click.argument("plan", metavar="PLAN")
@click.argument("step", metavar="[STEP]", required=False)
@click.argument("n", metavar="[N]", required=False, type=NUMBER)
@click.option("--thickness", type=NUMBER, metavar="MM", help="As measured after the pass.")
@click.option("--width", type=NUMBER, metavar="MM", help="As measured after the pass.")
@click.option("--length", type=NUMBER, metavar="MM", help="As measured after the pass.")
@click.option("--anneal", is_flag=True, help="It was made soft instead.")
@click.option("--crack", type=NUMBER, metavar="MM", help="A crack was seen, this deep.")
@click.option("--at", type=NUMBER, metavar="MM", help="The crack's place from the leading end.")
@click.option("--note", default="", metavar="TEXT", help="In words.")
@click.option("--end", metavar="HOW", help="The run is over: done, or why it stopped.")
@click.option("--mend", is_flag=True, help="Write N anew.")
@BY
@BOOK
def run(plan: str, step: str | None, n: float | None, place: str | None, **given: Any) -> Told:
    """The same N with the same content is the same pass, so a line may be sent twice."""
    with open_at(place) as opened:
        bench, by = opened.bench, given["by"]
        if step is not None and (n is not None or given["end"]):
            name = bench.begin_run(plan, step, by=by)
            if n is not None:
                _tick(bench, name, n, given)
            if given["end"]:
                bench.end_run(name, given["end"], by=by)
        found = bench.runs(plan, step)
    rows = [_event_row(one, event) for one in found for event in one.events]
    columns = ("run", "what", "by", "n", "thick mm", "wide mm", "long mm")
    payload = {"plan": plan, "runs": plain(found)}
    return told(payload, lambda paper: paper.table(columns, rows, left=3))


def _tick(bench: Any, name: str, n: float, given: dict[str, Any]) -> None:
    if n != int(n):
        raise BadInput("N", n, "a whole number from 1", "Count the passes from 1.")
    common = {"note": given["note"], "by": given["by"], "mend": given["mend"]}
    if given["anneal"]:
        bench.tick_anneal(name, int(n), **common)
    elif given["crack"] is not None:
        bench.tick_crack(name, int(n), place_mm=given["at"], depth_mm=given["crack"], **common)
    else:
        sizes = {f"{one}_mm": given[one] for one in ("thickness", "width", "length")}
        measured = {key: one for key, one in sizes.items() if one is not None}
        bench.tick_pass(name, int(n), measured, **common)


def _event_row(one: Run, event: RunEvent) -> tuple[str, ...]:
    sizes = (event.thickness_mm, event.width_mm, event.length_mm)
    shown = ("" if size is None else f"{size:g}" for size in sizes)
    return (one.step, event.what, event.by, str(event.n), *shown)


@verb("stock", help="Bars, remnants and offcuts: size, temper, mass, and where they lie.")
@BOOK
def stock(place: str | None) -> Told:
    """In the order in which they came."""
    with open_at(place) as opened:
        found = opened.bench.stock()
    rows = [_stock_row(one) for one in found]
    columns = ("bar", "section", "temper", "lies", "", "mm", "g", "not promised g")
    return told({"stock": plain(found)}, lambda paper: paper.table(columns, rows, left=5))


def _stock_row(one: Shelved) -> tuple[str, ...]:
    from lemel.files import section_text

    section = section_text(one.section) if one.section else ""
    length = "" if one.length_mm is None else f"{one.length_mm:.1f}"
    state = "suspect" if one.suspect else "to melt" if one.melt else ""
    masses = (f"{one.mass_g:.3f}", f"{one.free_g:.3f}")
    return (one.body, section, one.temper, one.place, state, length, *masses)


@verb("place", help="Where a heap lies: drawer, bag, shelf.")
@click.argument("body", metavar="BODY")
@click.argument("where", metavar="PLACE")
@click.option("--label", default="", metavar="TEXT", help="What its label says.")
@click.option("--melt/--keep", default=None, help="It is scrap now; or stock after all.")
@BY
@BOOK
def lie(body: str, where: str, label: str, melt: bool | None, by: str, place: str | None) -> Told:
    """A remnant that is to be melted is offered to the pot, not to the bench."""
    with open_at(place) as opened:
        opened.bench.set_place(body, where, label=label, melt=melt, by=by)
    payload = {"body": body, "place": where, "label": label}
    return told(payload, lambda paper: paper.line(f"{body} lies in {where}."))


@verb("plan", help="Plan from the book as it is now: what is there, and the orders still open.")
@click.option("--line", "lines", multiple=True, metavar="LINE", help="This order line alone.")
@click.option("--seed", type=int, metavar="N", help="The seed of the search. [1]")
@click.option("--cards", metavar="DIR", help="Write the cards into this folder.")
@ON
@BOOK
def plan(
    lines: tuple[str, ...], seed: int | None, cards: str | None, on: str | None, place: str | None
) -> Told:
    """As `lemel plan`; `lemel book accept` keeps the same plan and promises its metal to it."""
    from lemel.cli.month import planned

    with open_at(place) as opened:
        problem = opened.bench.problem(day_of(on), seed=seed, lines=lines or None)
    answer = planned(problem, Path(cards) if cards else None)
    return told(answer.payload, answer.show, answer.exit_code)


#: The words of this module in the order of the bench's day.
WORDS = (
    orders, close, tools, retire, gate, photo, price, rule, run, stock, lie, plan,
)  # fmt: skip
