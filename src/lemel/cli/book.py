"""`lemel book`: begin, fill, read, audit, copy and restore the book of whose metal lies where."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import INFEASIBLE, Told, plain
from lemel.cli.book_bags import take_in
from lemel.cli.book_bench import WORDS
from lemel.cli.book_entries import ENTRIES
from lemel.cli.book_mishaps import MISHAPS
from lemel.cli.book_parcels import PAPERS
from lemel.cli.book_parts import BOOK, BY, ON, amount, day_of, folder_of, open_at, told
from lemel.cli.book_steps import STEPS
from lemel.cli.run import verb
from lemel.errors import BadInput

if TYPE_CHECKING:
    from lemel.values import Holding

__all__ = ["book"]

_UNITS = ("g", "ozt")
_UNIT = click.option("--unit", type=click.Choice(_UNITS), default="g", help="g or ozt. [g]")
_OWNER = click.option("--owner", metavar="ID", help="One owner alone.")
_PRECIOUS = ("Au", "Ag", "Pt", "Pd")


def _fine(element_ng: Mapping[str, int], unit: str) -> list[str]:
    return [amount(element_ng.get(one, 0) / 1e6, unit) for one in _PRECIOUS]


def _holding(metal: Holding) -> dict[str, Any]:
    return {"gross_mg": metal.gross_mg, "element_ng": metal.as_dict()}


@click.group("book", help="The book of whose metal lies where.", invoke_without_command=True)
@click.pass_context
def book(ctx: click.Context) -> None:
    """Each word below is an act of its own."""
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())


@verb("begin", help="Begin a book; with FOLDER take in a month's files, or what is new in them.")
@click.argument("folder", metavar="[FOLDER]", required=False)
@click.option("--source", default="", metavar="TEXT", help="Where the prices are from.")
@BY
@BOOK
def init(folder: str | None, source: str, by: str, place: str | None) -> Told:
    """An empty book, or one with the metal, tools, prices and orders of a month's files."""
    from lemel.files import read_plan

    problem = read_plan(folder) if folder else None
    with open_at(place, create=True) as opened:
        taken = opened.bench.take_in(problem, source=source, by=by) if problem else None
        entries, head = opened.head()
        payload = {
            "book": str(opened.folder),
            "entries": entries,
            "head": head,
            "owners": opened.owners(),
            "differs": dict(taken.differs) if taken else {},
        }

    def show(paper: Any) -> None:
        paper.line(f"The book lies in {payload['book']}: {entries} entries.")
        for what, how in (taken.differs if taken else {}).items():
            paper.line(f"The book reads otherwise than the files: {what} ({how}).")

    return told(payload, show)


@verb("balance", help="What each owner has, and where it lies.")
@_OWNER
@_UNIT
@BOOK
def balance(owner: str | None, unit: str, place: str | None) -> Told:
    """Gross and fine by owner and place."""
    with open_at(place) as opened:
        names = opened.owners()
        if owner is not None and owner not in names:
            raise BadInput("--owner", owner, ", ".join(names), "Name one of the book's owners.")
        sums: dict[tuple[str, str], Holding] = {}
        accounts = []
        for account, metal in opened.balances(owner).items():
            where = (account.owner, account.place)
            sums[where] = sums[where] + metal if where in sums else metal
            named = {"owner": account.owner, "place": account.place, "body": account.body}
            accounts.append({**named, **_holding(metal)})
        head = opened.head()
    places = [{"owner": o, "place": p, **_holding(metal)} for (o, p), metal in sorted(sums.items())]
    payload = {
        "owners": names, "places": places, "accounts": accounts, "unit": unit,
        "entries": head[0], "head": head[1],
    }  # fmt: skip
    rows = [
        (
            names.get(o) or o,
            p.replace("_", " "),
            amount(m.gross_mg, unit),
            *_fine(m.as_dict(), unit),
        )
        for (o, p), m in sorted(sums.items())
    ]
    columns = ("owner", "place", f"gross {unit}", *(f"fine {one}" for one in _PRECIOUS))
    return told(payload, lambda paper: paper.table(columns, rows, left=2))


@verb("statement", help="One owner's account over a period: what was there, came and went.")
@click.argument("owner", metavar="OWNER")
@click.option("--since", default="", metavar="DATE", help="From this day on. [the beginning]")
@click.option("--until", default="9999", metavar="DATE", help="To before this day. [now]")
@_UNIT
@BOOK
def statement(owner: str, since: str, until: str, unit: str, place: str | None) -> Told:
    """Opening, every change, closing; gross and fine."""
    with open_at(place) as opened:
        account = opened.statement(owner, since, until)
        name = opened.owners().get(owner) or owner
    payload = {**plain(account), "name": name, "unit": unit}
    rows = [
        ("", "there before", "", amount(account.opening_mg, unit), *_fine(account.opening_ng, unit))
    ]
    rows += [
        (
            line.made_at[:10],
            line.kind.replace("_", " "),
            line.about,
            amount(line.gross_mg, unit),
            *_fine(line.fine_ng, unit),
        )
        for line in account.lines
    ]
    rows.append(
        ("", "there now", "", amount(account.closing_mg, unit), *_fine(account.closing_ng, unit))
    )
    columns = ("day", "what", "about", f"gross {unit}", *(f"fine {one}" for one in _PRECIOUS))

    def show(paper: Any) -> None:
        paper.head(name)
        paper.table(columns, rows, left=3)
        paper.line(f"As of the entry with the digest {account.head[:16]}.")

    return told(payload, show)


@verb("audit", help="Recompute the chain, every balance and every total; name what is wrong.")
@click.option("--expect", metavar="N:DIGEST", help="An entry as it was noted outside the book.")
@BOOK
def audit(expect: str | None, place: str | None) -> Told:
    """Ends with 3 where something was found."""
    from lemel.words import say

    noted = None
    if expect is not None:
        number, _, digest = expect.partition(":")
        if not number.isdigit() or not digest:
            raise BadInput("--expect", expect, "a number, a colon, a digest", "As in `whose`.")
        noted = (int(number), digest)
    with open_at(place) as opened:
        found = opened.audit(noted)
    payload = {
        "whole": found.whole, "entries": found.entries, "head": found.head,
        "faults": plain(found.faults),
    }  # fmt: skip

    def show(paper: Any) -> None:
        for fault in found.faults:
            paper.line(say(fault))
        if found.whole:
            paper.line(f"The book is whole: {found.entries} entries, the last {found.head[:16]}.")

    return told(payload, show, 0 if found.whole else INFEASIBLE)


@verb(
    "accept", help="Plan, keep the plan and promise its metal to it: from the book, or from FILE."
)
@click.argument("file", metavar="[FILE|FOLDER]", required=False)
@click.option("--line", "lines", multiple=True, metavar="LINE", help="This order line alone.")
@click.option("--seed", type=int, metavar="N", help="The seed of the search. [1]")
@ON
@BOOK
def accept(
    file: str | None, lines: tuple[str, ...], seed: int | None, on: str | None, place: str | None
) -> Told:
    """The same question as that of `lemel book plan`, so the same plan."""
    from lemel.files import read_plan
    from lemel.plan import do

    if file is not None and (lines or seed is not None or on is not None):
        raise BadInput("FILE", file, "no FILE with --line, --seed or --on", "A file says it all.")
    with open_at(place) as opened:
        if file is not None:
            problem = read_plan(file)
        else:
            problem = opened.bench.problem(day_of(on), seed=seed, lines=lines or None)
        accepted = opened.accept(do(problem))
    payload = plain(accepted)
    rows = [(body, amount(mg, "g")) for body, mg in sorted(accepted.reserved_mg.items())]

    def show(paper: Any) -> None:
        paper.line(f"{accepted.plan} is accepted: {len(accepted.steps)} steps to do.")
        paper.table(("promised", "g"), rows)

    return told(payload, show)


@verb("export", help="Write the whole book as one open JSON file.")
@click.argument("file", metavar="FILE")
@BOOK
def export(file: str, place: str | None) -> Told:
    """From it `lemel book import` makes the same book again."""
    target = Path(file)
    with open_at(place) as opened:
        data = opened.export()
    try:
        with target.open("x", encoding="utf-8") as written:
            json.dump(data, written, indent=1, sort_keys=True)
    except OSError as fault:
        raise BadInput(
            "FILE", file, "a new file that can be written", f"{fault.strerror}."
        ) from None
    payload = {
        "file": str(target.resolve()),
        "format": data["format"],
        "entries": len(data["entry"]),
    }
    return told(payload, lambda paper: paper.line(f"{payload['entries']} entries are in {file}."))


@verb("import", help="Make a book from what another one exported.")
@click.argument("file", metavar="FILE")
@BOOK
def read_in(file: str, place: str | None) -> Told:
    """Into a folder without a book; all of it or nothing."""
    from lemel.book import is_book

    if is_book(folder_of(place)):
        raise BadInput("--book", str(folder_of(place)), "a folder without a book", "Name another.")
    try:
        data = json.loads(Path(file).read_text("utf-8"))
    except (OSError, ValueError) as fault:
        raise BadInput("FILE", file, "a file that a book exported", f"{fault}.") from None
    if not isinstance(data, dict):
        raise BadInput("FILE", file, "one JSON object", "Give a file that a book exported.")
    with open_at(place, create=True) as opened:
        found = opened.read_in(data)
        payload = {"book": str(opened.folder), "entries": found.entries, "head": found.head}
    return told(payload, lambda paper: paper.line(f"{found.entries} entries were taken in."))


@verb("backup", help="One zip, verified by opening and auditing the copy.")
@click.argument("file", metavar="[FILE]", required=False)
@BOOK
def backup(file: str | None, place: str | None) -> Told:
    """Into the book's own backups unless FILE is named."""
    with open_at(place) as opened:
        path, found = opened.backup(Path(file) if file else None)
    payload = {"file": str(path), "entries": found.entries, "head": found.head}
    return told(payload, lambda paper: paper.line(f"{path}: {found.entries} entries, audited."))


@verb("restore", help="A book from its backup, into a folder that has none.")
@click.argument("file", metavar="FILE")
@BOOK
def restore(file: str, place: str | None) -> Told:
    """The copy is audited before it counts."""
    from lemel.book import restore as put_back

    found = put_back(file, folder_of(place))
    payload = {"book": str(folder_of(place)), "entries": found.entries, "head": found.head}
    return told(payload, lambda paper: paper.line(f"{found.entries} entries are back, audited."))


@verb("backups", help="The backups that are kept, the newest first.")
@BOOK
def backups(place: str | None) -> Told:
    """Made by hand, each day at the first change, and before a change of the tables."""
    with open_at(place) as opened:
        found = [(path, size, _kind_of(path)) for path, size in opened.copies.kept()]
    rows = [(path.name, kind, f"{size / 1e6:.2f}") for path, size, kind in found]
    listed = [{"file": str(path), "bytes": size, "made": kind} for path, size, kind in found]
    return told({"backups": listed}, lambda p: p.table(("backup", "made", "MB"), rows, left=2))


def _kind_of(path: Path) -> str:
    return {"day": "daily", "before": "before a change of the tables"}.get(
        path.name.partition("-")[0], "by hand"
    )


_OWN = (
    init, take_in, balance, statement, audit, accept, export, read_in, backup, backups, restore,
)  # fmt: skip
for one in (*_OWN, *ENTRIES, *WORDS, *STEPS, *MISHAPS, *PAPERS):
    book.add_command(one)
