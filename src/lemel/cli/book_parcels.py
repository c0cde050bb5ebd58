"""`lemel book parcel`: to refiners and assay offices, out and back; `lemel book losses`."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import click

from lemel.cli.answer import Told, plain
from lemel.cli.book_papers import apart, decimal, number, paper, paper_told, whole
from lemel.cli.book_parts import BOOK, BY, ON, amount, day_of, open_at, told
from lemel.cli.run import verb
from lemel.errors import BadInput

__all__ = ["PAPERS"]


@click.group("parcel", help="Parcels, out and back.", invoke_without_command=True)
@click.pass_context
def parcel(ctx: click.Context) -> None:
    """Each word below is an act."""
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())


@verb("list", help="Parcels that are not over yet.")
@click.option("--all", "every", is_flag=True, help="Those that are over too.")
@BOOK
def listed(every: bool, place: str | None) -> Told:
    """To refiners first, then to assay offices."""
    from lemel.book import RefinerParcel

    with open_at(place) as opened:
        found = opened.papers.parcels(open_only=not every)
    rows = []
    for one in found:
        to = one.terms.id if isinstance(one, RefinerParcel) else one.office
        gross = sum(line.gross_mg for line in one.lines)
        rows.append((one.number, to, one.state.replace("_", " "), one.made_at[:10],
                     str(len(one.lines)), amount(gross, "g")))  # fmt: skip
    payload = {"parcels": [plain(one) for one in found], "verb": "book parcel list"}
    columns = ("parcel", "to", "state", "since", "things", "gross g")
    return Told(payload, lambda paper: paper.table(columns, rows, left=4))


@verb("terms", help="Enter a refiner's terms, or read those that stand.")
@click.argument("refiner", metavar="[REFINER]", required=False)
@click.option("--pays", multiple=True, metavar="METAL=SHARE", help="Paid share: Ag=0.9.")
@click.option("--currency", default="", metavar="CODE")
@click.option("--as-of", "as_of", default="", metavar="DATE", help="From this day. [today]")
@click.option("--lot-charge", default="0", metavar="MONEY", help="For each owner's lot.")
@click.option("--per-kg", default="0", metavar="MONEY", help="For each kilogram.")
@click.option("--assay-fee", default="0", metavar="MONEY", help="For each lot.")
@click.option("--least-charge", default="0", metavar="MONEY", help="The least a lot pays.")
@click.option("--postage", default="0", metavar="MONEY", help="For the parcel.")
@click.option("--days", type=int, default=0, help="Days to settlement.")
@click.option("--contact", default="", metavar="TEXT", help="Kept apart, can be erased.")
@BY
@BOOK
def terms(
    refiner: str | None, pays: tuple[str, ...], currency: str, as_of: str, days: int,
    contact: str, by: str, place: str | None, **money: str,
) -> Told:  # fmt: skip
    """Parcels keep the terms that they were drawn up by."""
    from lemel.book import RefinerTerms

    with open_at(place) as opened:
        if refiner is not None and pays:
            shares = apart(pays, "--pays", "Ag=0.9")
            amounts = {
                name: decimal(f"--{name.replace('_', '-')}", text) for name, text in money.items()
            }
            day = day_of(as_of or None, "--as-of")
            entered = RefinerTerms(
                refiner, day.isoformat() if day else opened.now()[:10], currency,
                {metal: decimal("--pays", share) for metal, share in shares.items()},
                days=days, **amounts,
            )  # fmt: skip
            opened.papers.enter_refiner(entered, contact=contact, by=by)
        known = opened.papers.refiners()
    rows = [
        (one.id, ", ".join(f"{m} {100 * float(s):g} %" for m, s in one.payable.items()),
         f"{one.least_charge} {one.currency}", one.as_of)
        for one in known.values()
    ]  # fmt: skip
    payload = {"refiners": plain(known), "verb": "book parcel terms"}
    columns = ("refiner", "pays", "least", "as of")
    return Told(payload, lambda paper: paper.table(columns, rows, left=2))


@verb("draw-up", help="Draw up a parcel of whole heaps to REFINER and reckon it.")
@click.argument("refiner", metavar="REFINER")
@click.argument("bodies", metavar="BODY...", nargs=-1, required=True)
@ON
@BY
@BOOK
def draw_up(
    refiner: str, bodies: tuple[str, ...], on: str | None, by: str, place: str | None
) -> Told:
    """Nothing moves; it says whether it is worth sending yet."""
    with open_at(place) as opened:
        made = opened.papers.begin_parcel(refiner, bodies, on=day_of(on), by=by)
        return paper_told(opened, made, "parcel draw-up")


@verb("send", help="The parcel NUMBER leaves the house.")
@click.argument("again", metavar="NUMBER")
@BY
@BOOK
def send(again: str, by: str, place: str | None) -> Told:
    """Each owner's metal goes to an account of its own."""
    with open_at(place) as opened:
        return paper_told(opened, opened.papers.send_parcel(again, by=by), "parcel send")


@verb("unpack", help="The parcel NUMBER does not go, or came back as it went.")
@click.argument("again", metavar="NUMBER")
@BY
@BOOK
def unpack(again: str, by: str, place: str | None) -> Told:
    """Everything lies where it lay."""
    with open_at(place) as opened:
        return paper_told(opened, opened.papers.unpack_parcel(again, by=by), "parcel unpack")


@verb("settle", help="The refiner's assay and payment for the parcel NUMBER.")
@click.argument("again", metavar="NUMBER")
@click.option("--assayed", multiple=True, metavar="OWNER/METAL=G", help="Fine grams found.")
@click.option("--paid", multiple=True, metavar="OWNER=MONEY", help="After all charges.")
@click.option("--back", multiple=True, metavar="OWNER/METAL=G@FINENESS", help="Metal returned.")
@BY
@BOOK
def settle(
    again: str, assayed: tuple[str, ...], paid: tuple[str, ...], back: tuple[str, ...],
    by: str, place: str | None,
) -> Told:  # fmt: skip
    """Owner by owner; the difference to the book is an assay difference."""
    from lemel.book import Returned

    found: dict[str, dict[str, float]] = {}
    for name, grams in apart(assayed, "--assayed", "shop/Ag=71.0").items():
        owner, metal = _two(name, "--assayed")
        found.setdefault(owner, {})[metal] = number("--assayed", grams)
    money = {o: decimal("--paid", m) for o, m in apart(paid, "--paid", "shop=401.20").items()}
    came: dict[str, list[tuple[str, float, float]]] = {}
    for name, what in apart(back, "--back", "shop/Au=1.00@999").items():
        owner, metal = _two(name, "--back")
        grams, _, parts = what.partition("@")
        share = number("--back", parts or "999") / 1000
        came.setdefault(owner, []).append((metal, number("--back", grams), share))
    returned = {
        owner: Returned(grams, money.get(owner, Decimal(0)), tuple(came.get(owner, ())))
        for owner, grams in found.items()
    }
    with open_at(place) as opened:
        made = opened.papers.settle_parcel(again, returned, by=by)
        return paper_told(opened, made, "parcel settle")


def _two(name: str, option: str) -> tuple[str, str]:
    owner, mark, metal = name.rpartition("/")
    if not mark:
        raise BadInput(option, name, "OWNER/METAL", "Write shop/Ag=71.0.")
    return owner, metal


@verb("to-assay", help="Send pieces (BODY or BODY=STANDARD) and samples to OFFICE.")
@click.argument("office", metavar="OFFICE")
@click.argument("things", metavar="[BODY...]", nargs=-1)
@click.option("--sample", multiple=True, metavar="BODY=G", help="A sample of so many grams.")
@click.option("--taken", default="", metavar="HOW", help="dip, drill or surface.")
@BY
@BOOK
def to_assay(
    office: str, things: tuple[str, ...], sample: tuple[str, ...], taken: str, by: str,
    place: str | None,
) -> Told:  # fmt: skip
    """A sample of a bar speaks for its heat, a whole piece for itself."""
    from lemel.book import ToAssay

    sent = []
    for one in things:
        body, _, claim = one.partition("=")
        sent.append(ToAssay(body, claim))
    for body, grams in apart(sample, "--sample", "H1-1=0.5").items():
        sent.append(ToAssay(body, mass_g=number("--sample", grams), sample=taken))
    with open_at(place) as opened:
        made = opened.papers.send_to_assay(office, sent, by=by)
        return paper_told(opened, made, "parcel to-assay")


@verb("assay-back", help="The office's answer to the parcel NUMBER, line by line.")
@click.argument("again", metavar="NUMBER")
@click.option("--found", multiple=True, metavar="LINE=RESULT[,PARTS[,METHOD]]",
              help="passed, failed or broken; the assay in parts of a thousand.")  # fmt: skip
@click.option("--why", multiple=True, metavar="LINE=WORD",
              help="fineness, solder, coating or other_metal.")  # fmt: skip
@click.option("--came-back", multiple=True, metavar="LINE=G", help="Where it was weighed.")
@click.option("--fee", default="0", metavar="MONEY")
@click.option("--currency", default="", metavar="CODE")
@BY
@BOOK
def assay_back(
    again: str, found: tuple[str, ...], why: tuple[str, ...], came_back: tuple[str, ...],
    fee: str, currency: str, by: str, place: str | None,
) -> Told:  # fmt: skip
    """Assays become evidence; what did not pass comes with what to do."""
    from lemel.book import Found

    reasons = apart(why, "--why", "2=solder")
    weighed = apart(came_back, "--came-back", "2=4.60")
    answers = {}
    for n, said in apart(found, "--found", "1=passed,926").items():
        result, parts, method = [*said.split(","), "", ""][:3]
        answers[whole("--found", n)] = Found(
            result, number("--found", parts) / 1000 if parts else None, method or "xrf-bench",
            number("--came-back", weighed[n]) if n in weighed else None, reasons.get(n, ""),
        )  # fmt: skip
    with open_at(place) as opened:
        made = opened.papers.assay_back(
            again, answers, fee=decimal("--fee", fee), currency=currency, by=by
        )
        return paper_told(opened, made, "parcel assay-back")


for one in (listed, terms, draw_up, send, unpack, settle, to_assay, assay_back):
    parcel.add_command(one)


@verb("losses", help="Loss by operation against what it may lose, and what each owner misses.")
@click.option("--since", default="", metavar="DATE", help="From this day on. [the beginning]")
@click.option("--until", default="9999", metavar="DATE", help="To before this day. [now]")
@click.option("--by-person", is_flag=True, help="One row for each person too.")
@BOOK
def losses(since: str, until: str, by_person: bool, place: str | None) -> Told:
    """Signs are kept: a gain is an error too. Unweighed steps are counted apart."""
    with open_at(place) as opened:
        found = opened.losses(since, until, by_person)
        missed = opened.papers.unaccounted(since, until)
    steps = [
        (one.operation.replace("_", " "), one.by, str(one.steps), str(one.unweighed),
         amount(one.handled_mg, "g"), amount(one.loss_mg, "g"), amount(one.allowed_mg, "g"),
         amount(one.sd_mg, "g"), f"{one.z:+.1f}", f"{one.leak:+.1f}", one.grade)
        for one in found
    ]  # fmt: skip
    fine = [
        (row.operation.replace("_", " "), row.by, one.element, amount(one.loss_ng / 1e6, "g"),
         amount(one.allowed_ng / 1e6, "g"), amount(one.sd_ng / 1e6, "g"), f"{one.permille:.2f}",
         "" if one.mint_permille is None else f"{one.mint_permille:g}")
        for row in found for one in row.fine
    ]  # fmt: skip
    owners = [
        (one.owner, one.element, amount(one.unaccounted_ng / 1e6, "g"),
         amount(one.allowed_ng / 1e6, "g"), amount(one.sd_ng / 1e6, "g"), f"{one.z:+.1f}",
         one.grade, amount(one.told_ng / 1e6, "g"))
        for one in missed
    ]  # fmt: skip

    def show(paper: Any) -> None:
        paper.table(("step", "by", "weighed", "not", "handled g", "lost g", "may g", "sd g", "off",
                     "leak", "grade"), steps, left=2)  # fmt: skip
        paper.head("Fine metal")
        paper.table(("step", "by", "of", "lost g", "may g", "sd g", "in 1000", "mint 1873"), fine,
                    left=3)  # fmt: skip
        paper.head("What each owner misses")
        paper.table(("owner", "of", "missing g", "may g", "sd g", "off", "grade", "told g"),
                    owners, left=2)  # fmt: skip

    payload = {
        "losses": plain(found),
        "owners": [{**plain(one), "unaccounted_ng": one.unaccounted_ng} for one in missed],
    }
    return told(payload, show)


PAPERS = (paper, parcel, losses)
