"""Metal that turns up, is swept together, or leaves the house."""

from __future__ import annotations

from lemel.book import ledger, lineage, models, records, reserved
from lemel.book.acts import Act
from lemel.book.heaps import steps_without
from lemel.book.holdings import in_proportion, share, take
from lemel.book.losing import off
from lemel.book.newlots import free_name, heap_of, make_lot
from lemel.book.reserved import must_be_free
from lemel.book.rules import identity_limit_mg
from lemel.book.values import Account, Happened, Line
from lemel.errors import BadInput
from lemel.values import Holding, Quantity, Saying, SayingValue, is_one_of, is_positive

__all__ = ["deliver", "found", "recover", "take_back"]

#: What can be emptied into a lot, and the form of the metal that comes out.
_FORMS = {
    "lemel_box": "filings", "sweeps": "residue", "hold_up": "casting", "slag": "residue",
    "scrap": "offcut",
}  # fmt: skip
BOXES = tuple(_FORMS)
_BASE = "outside"


def found(
    act: Act, owner: str, lost_in: str, grams: float, lost_from: str, into: str, answered: bool
) -> Happened:
    """Metal that was booked as lost and turned up: back to its owner, as a lot of its own.

    `lost_in` is the operation whose loss it was (or a place of loss: stock_take); `lost_from`
    the heat or body, whose metal it then is.
    """
    alias = act.alias
    is_positive("grams", grams)
    mg = round(grams * 1000)
    place, body = ("stock_take", lost_from) if lost_in == "stock_take" else ("loss", lost_in)
    source = Account(owner, place, body)
    lost = _lost_metal(alias, source, lost_from)
    if lost.gross_mg <= 0 or any(ng < 0 for _, ng in lost.element_ng):
        known = ", ".join(
            a.body for a, m in ledger.balances(alias, owner, "loss").items() if m.gross_mg > 0
        )
        raise BadInput("lost_in", lost_in, known or "a loss on record", "Name what lost it.")
    if mg > lost.gross_mg + identity_limit_mg(lost.gross_mg) and not answered:
        more = lost.gross_mg - mg
        return Happened(loss_mg=more, objections=(off("find", lost_from or lost_in, more, 0.0),))
    metal = in_proportion(lost, mg)
    name = free_name(alias, into, "found-")
    to = Account(owner, "store", name)
    sealed = ledger.post(
        alias, act.now, "found", [Line(source, -metal), Line(to, metal)],
        about=lost_from or lost_in, by=act.by,
        memo=act.facts(lost_in=lost_in, loss_mg=-mg, into=name),
    )  # fmt: skip
    parents = {lost_from: metal} if lost_from and records.is_known(alias, lost_from) else {}
    make_lot(act, to, metal, parents, form="filings", note=f"lost in {lost_in}")
    return Happened((sealed,), (name,), loss_mg=-mg)


def _lost_metal(alias: str, account: Account, about: str) -> Holding:
    """What the account is short of: of one heat or body, or in all."""
    if not about:
        return ledger.held(alias, account)
    rows = models.Posting.objects.using(alias).filter(
        account__owner__code=account.owner, account__place=account.place,
        account__body=account.body, entry__about=about,
    )  # fmt: skip
    parts: dict[str, int] = {}
    for element, ng in (
        models.Part.objects.using(alias).filter(posting__in=rows).values_list("element", "ng")
    ):
        parts[element] = parts.get(element, 0) + ng
    return Holding.from_ng(sum(rows.values_list("gross_mg", flat=True)), parts)


def recover(
    act: Act, place: str, body: str, owner: str, weighed_g: float, into: str, emptied: bool,
    answered: bool,
) -> Happened:  # fmt: skip
    """A box, sweeps, slag or a pot's lining emptied into a lot, by weight.

    With `emptied` nothing is left in it: what is not weighed is lost. Else it stays there.
    """
    is_one_of("place", place, BOXES)
    is_positive("weighed_g", weighed_g)
    alias, account = act.alias, heap_of(act.alias, body, owner, (place,))
    held, mg = ledger.held(alias, account), round(weighed_g * 1000)
    left = held.gross_mg - mg
    limit = identity_limit_mg(held.gross_mg)
    if (left < -limit or (emptied and left > limit)) and not answered:
        return Happened(loss_mg=left, objections=(off("emptying", body, left, 0.0),))
    [metal], rest = share(held, [mg])
    lost = rest if emptied or rest.gross_mg < 0 else Holding.nothing()
    name = free_name(alias, into, f"{body} ")
    parents = _fed_by(alias, account, metal)
    to = Account(account.owner, "store", name)
    lines = [Line(account, -metal - lost), Line(to, metal)]
    lines.append(Line(Account(account.owner, "loss", place), lost))
    sealed = ledger.post(
        alias, act.now, "recover", lines, about=body, by=act.by,
        memo=act.facts(
            place=place, into=name, handled_mg=held.gross_mg, loss_mg=lost.gross_mg,
            foreseen_mg=0, weighings=1,
        ),
    )  # fmt: skip
    form = _FORMS[place]
    make_lot(act, to, metal, parents, form=form, note=body)
    said: dict[str, SayingValue] = {"body": name}
    return Happened((sealed,), (name,), loss_mg=lost.gross_mg,
                    next=(Saying("book.next.recovered", said),))  # fmt: skip


def _fed_by(alias: str, account: Account, metal: Holding) -> dict[str, Holding]:
    """The bodies whose metal went into a box since it was last emptied, by what each gave."""
    rows = models.Posting.objects.using(alias).filter(
        account__owner__code=account.owner, account__place=account.place,
        account__body=account.body, entry__entry__isnull=True,
    ).exclude(entry__kind="reversal")  # fmt: skip
    emptied = rows.filter(gross_mg__lt=0).order_by("-entry_id").values_list("entry_id", flat=True)
    since = emptied[0] if emptied else 0
    given: dict[str, int] = {}
    fed = rows.filter(gross_mg__gt=0, entry_id__gt=since)
    for about, mg in fed.values_list("entry__about", "gross_mg"):
        if records.is_known(alias, about):
            given[about] = given.get(about, 0) + mg
    total = sum(given.values())
    return {
        body: part
        for body, mg in given.items()
        if (part := take(metal, metal.gross_mg * mg // total)[0]).gross_mg
    }


def deliver(act: Act, piece: str, order: str, owner: str) -> Happened:
    """A finished piece (or a bar that was ordered) leaves the house for its order."""
    alias = act.alias
    account = heap_of(alias, piece, owner, ("piece", "store"))
    metal = ledger.held(alias, account)
    must_be_free(alias, account, metal.gross_mg, "Drop that plan first.")
    line = order or _line_of(piece)
    out = Account(account.owner, _BASE, "delivered")
    sealed = ledger.post(
        alias, act.now, "deliver", [Line(account, -metal), Line(out, metal)],
        key=f"deliver {piece}", about=piece, by=act.by, memo=act.facts(order=line),
    )  # fmt: skip
    values: dict[str, SayingValue] = {
        "piece": piece, "order": line or "-", "mass": Quantity(metal.gross_mg / 1000, "g"),
    }  # fmt: skip
    return Happened((sealed,), (piece,), next=(Saying("book.next.delivered", values),))


def _line_of(piece: str) -> str:
    """The order line that a planned piece is for: its own name without plan and count."""
    own = piece.partition("/")[2]
    return own.partition("/")[0]


def take_back(
    act: Act, body: str, grams: float | None, owner: str, drop: bool, key: str
) -> Happened:
    """The owner takes metal home: a lot, part of one, or a piece.

    What is promised to a plan is refused, unless `drop` says that the plan has to do without.
    """
    alias = act.alias
    known = ledger.found_key(alias, key) if key else None
    if known:
        return Happened((known,))
    account = heap_of(alias, body, owner, ("store", "piece"))
    held = ledger.held(alias, account)
    mg = held.gross_mg if grams is None else round(grams * 1000)
    metal, _ = take(held, mg)
    lacking: tuple[str, ...] = ()
    if drop:
        lacking = reserved.let_go(alias, account, mg)
    else:
        must_be_free(alias, account, mg, "Say that the plan is to do without it.")
    out = Account(account.owner, _BASE, "handed over")
    sealed = ledger.post(
        alias, act.now, "take_back", [Line(account, -metal), Line(out, metal)], key=key,
        about=body, by=act.by, memo=act.facts(lacking=list(lacking)),
    )  # fmt: skip
    said = tuple(Saying("book.next.step_lacks", {"step": s, "body": body}) for s in lacking)
    if not said and mg == held.gross_mg:
        said = steps_without(alias, body)
    if lineage.descendants(alias, body):
        said = (*said, Saying("book.next.part_used", {"body": body}))
    return Happened((sealed,), (body,), next=said)
