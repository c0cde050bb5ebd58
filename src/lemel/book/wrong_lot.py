"""The wrong bag was charged: the book is brought to the truth, and the ways out are worked out.

Before the pour everything that went into the pot is reversed and put in again with the right lot.
After it the bags are put right, and the bars get the composition that the truth gives, the metal
that has gone on into other heats with them.
"""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

from lemel.book import (
    again,
    gates,
    heats,
    ledger,
    lineage,
    models,
    offers,
    pots,
    records,
    reserved,
    steps,
    suspicion,
)
from lemel.book.acts import Act
from lemel.book.consents import allow
from lemel.book.flow import Planned, planned_step
from lemel.book.followed import follow
from lemel.book.holdings import body_of, share
from lemel.book.values import Account, Happened, Line, Sealed
from lemel.errors import BadInput
from lemel.values import Holding, Reading, Saying

__all__ = ["wrong_lot"]


def wrong_lot(
    act: Act, plan: str, heat: str, charged: str, really: str, *, grams: float | None,
    consent: str, room_g: float | None,
) -> Happened:  # fmt: skip
    """`really` went into the pot where the book says `charged`; `grams` None: as much of it.

    Raises BadInput where the heat holds nothing of `charged`, or the right bag not enough.
    """
    alias, name = act.alias, f"{plan}/{heat}"
    state = heats.state_of(alias, name)
    step = planned_step(alias, plan, f"{heat} melt and pour")
    if charged == really:
        raise BadInput("really", really, "another bag than the book's", "Nothing is wrong then.")
    put_in = charged_mg(alias, name)
    if charged not in put_in:
        raise BadInput(
            "charged", charged, ", ".join(sorted(put_in)) or "nothing yet",
            "Name a body that the book has in this heat.",
        )  # fmt: skip
    if not records.is_known(alias, really):
        raise BadInput("really", really, "a body of this book", "Weigh it in first.")
    barred = gates.against(act, step, [really])
    if barred and state == "charged":
        # The charge is cold: what must not be melted can still be taken out.
        return Happened(objections=barred)
    if state in ("charged", "molten"):
        mg = put_in[charged] if grams is None else round(grams * 1000)
        lacking = _before_pour(act, step, charged, really, mg, consent)
        found = offers.offers(alias, plan, heat, room_g)
        next_: tuple[Saying, ...] = (Saying("book.next.wrong_lot", {"heat": heat}),)
    else:
        _not_closed(state, heat)
        lacking, where = _after_pour(act, step, charged, really, grams, consent, state)
        found = ()
        next_ = (Saying("book.next.wrong_lot_poured", {"heat": heat}), *where)
    facts = {"charged": charged, "really": really}
    heats.note(act, name, "wrong_lot", facts)
    # It is melted, and the book says so; what is known to be in it is in all that comes of it.
    known = gates.troubles(alias, [really])
    suspect = suspicion.mark(act, name, known[0].code) if known else ()
    told = tuple(replace(one, grade="note") for one in barred)
    said = (Saying("book.next.step_lacks", {"step": s, "body": really}) for s in lacking)
    entries = tuple(_entries(alias, name, really))
    return Happened(entries, (name,), suspect, offers=found, objections=told, next=(*next_, *said))


def _not_closed(state: str, heat: str) -> None:
    if state not in ("poured", "proven"):
        raise BadInput("heat", f"{heat} is {state}", "a heat that was charged", "Look at its log.")


def charged_mg(alias: str, heat: str) -> dict[str, int]:
    """What the book says went into a pot, mg by body, with what was put right since."""
    found: dict[str, int] = {}
    for entry in standing(alias, heat):
        for body, mg in _taken(alias, entry).items():
            found[body] = found.get(body, 0) + mg
    for entry, bodies in _put_right(alias, heat):
        for body in bodies:
            found[body] = found.get(body, 0) + _out_of_store(alias, entry, body).gross_mg
    return {body: mg for body, mg in found.items() if mg > 0}


def _put_right(alias: str, heat: str) -> list[tuple[Any, tuple[str, str]]]:
    """What was told after the pour of this heat's bags: the entries, and the two bags of each."""
    rows = models.Entry.objects.using(alias).filter(
        about=heat, kind="wrong_lot", entry__isnull=True
    )
    said = [(row, json.loads(row.memo)) for row in rows.order_by("number")]
    return [(row, (facts["charged"], facts["really"])) for row, facts in said if "charged" in facts]


def _out_of_store(alias: str, entry: Any, body: str) -> Holding:
    """What an entry took of a body out of the store; negative where it brought some back."""
    rows = models.Posting.objects.using(alias).filter(
        entry=entry, account__place="store", account__body=body
    )
    sums: dict[str, int] = {}
    parts = models.Part.objects.using(alias).filter(posting__in=rows)
    for element, ng in parts.values_list("element", "ng"):
        sums[element] = sums.get(element, 0) - ng
    return Holding.from_ng(-sum(rows.values_list("gross_mg", flat=True)), sums)


def standing(alias: str, heat: str, more: tuple[str, ...] = ()) -> list[Any]:
    """The entries that charged a heat and were not reversed, in order."""
    rows = models.Entry.objects.using(alias).filter(
        about=heat, kind__in=(*lineage.CHARGES, *more), entry__isnull=True
    )
    return list(rows.order_by("number"))


def _taken(alias: str, entry: Any) -> dict[str, int]:
    rows = models.Posting.objects.using(alias).filter(
        entry=entry, account__place="store", gross_mg__lt=0
    )
    return {body: -mg for body, mg in rows.values_list("account__body", "gross_mg")}


def _before_pour(
    act: Act, step: Planned, charged: str, really: str, mg: int, consent: str
) -> tuple[str, ...]:
    """Everything out of the pot and in again, with the right lot, spills included."""
    alias, name = act.alias, step.about
    entries = standing(alias, name, ("top_up", "spill"))
    amounts = {one.number: _taken(alias, one) for one in entries}
    for one in reversed(entries):
        ledger.reverse(alias, act.now, one.number, by=act.by)
        spilled = json.loads(one.memo).get("into", "")
        if one.kind == "spill" and again.reversed_by(alias, one.number) and spilled:
            again.lay_dead(act, spilled)
    again.parents_now(act, name, {})
    lacking = reserved.let_go(alias, Account(step.owner, "store", really), mg)
    left = mg
    for one in entries:
        if one.kind in lineage.CHARGES:
            takes = amounts[one.number]
            was = takes.pop(charged, 0)
            if was and left:
                takes[really] = takes.get(really, 0) + left
                left = 0
            if takes:
                key = _key(alias, one.kind, name)
                weighed = sorted(json.loads(one.memo)["weighed"])
                steps.put_in(act, step, takes, one.kind, key, weighed, consent)
        elif one.kind == "spill":
            _spill_again(act, step, one)
    return lacking


def _key(alias: str, kind: str, name: str) -> str:
    if kind == "charge":
        return again.attempt(alias, f"charge {name}")[0]
    count = models.Entry.objects.using(alias).filter(kind=kind, about=name).count()
    return f"{kind} {name} {count + 1}"


def _spill_again(act: Act, step: Planned, entry: Any) -> None:
    """The same spill, of what was really in the pot."""
    facts = json.loads(entry.memo)
    rows = models.Posting.objects.using(act.alias).filter(entry=entry, account__place="store")
    recovered = sum(rows.values_list("gross_mg", flat=True)) / 1000
    heat = step.about.removeprefix(f"{step.plan}/")
    pots.spill(act, step.plan, heat, recovered, facts["loss_mg"] / 1000, facts["into"])


def _after_pour(
    act: Act, step: Planned, charged: str, really: str, grams: float | None, consent: str,
    state: str,
) -> tuple[tuple[str, ...], tuple[Saying, ...]]:  # fmt: skip
    """The bags put right; the metal gets what the truth gives, unless an assay has told it.

    The steps that lack metal now, and what became of the metal that went on.
    """
    alias, name = act.alias, step.about
    wrong = _charged_metal(alias, step, charged)
    mg = wrong.gross_mg if grams is None else round(grams * 1000)
    giver = _giver(alias, step.owner, really, mg)
    by_consent = ""
    if giver.owner != step.owner:
        about = {name, step.about.removeprefix(f"{step.plan}/"), really, charged}
        owner = giver.owner
        allows = {f"mix_with:{step.owner}"}
        by_consent = consent
        if consent and records.consents(alias).get(consent) is not None:
            owner = records.consents(alias)[consent].owner
            allows |= {"top_up", f"mix_with:{giver.owner}"}
        allow(alias, consent, owner, mg, about, allows)
    lacking = reserved.let_go(alias, giver, mg)
    [right], _ = share(ledger.held(alias, giver), [mg])
    off = wrong - right
    place = ("assay_difference", name) if off.gross_mg == 0 else ("loss", "melt_and_pour")
    lines = [
        Line(Account(step.owner, "store", charged), wrong), Line(giver, -right),
        Line(Account(step.owner, *place), -off),
    ]  # fmt: skip
    pot = _pot(alias, name)
    truth = pot - wrong + right
    if state == "poured":
        lines += _anew(act, step.owner, name, truth)
    ledger.post(
        alias, act.now, "wrong_lot", lines, about=name, by=act.by, consent=by_consent,
        memo=act.facts(plan=step.plan, charged=charged, really=really),
    )  # fmt: skip
    parents = lineage.parents_of(alias, name)
    kept = parents.pop(charged) - wrong.gross_mg
    if kept > 0:
        parents[charged] = kept
    parents[really] = parents.get(really, 0) + mg
    again.parents_now(act, name, parents)
    offers.withdraw_promise(act, step.plan, name, body_of(truth), "wrong_lot")
    return lacking, follow(act, name, body_of(pot), body_of(truth), known=state != "poured")


def _anew(act: Act, owner: str, heat: str, truth: Holding) -> list[Line]:
    """What still lies in the house of the heat gets the true composition, gross unchanged."""
    body = body_of(truth)
    main = body.main()
    lines: list[Line] = []
    for account, metal in lineage.heaps_of(act.alias, heat).items():
        if account.owner != owner:
            continue
        change = Holding.of(metal.gross_mg, body) - metal
        lines += [
            Line(account, change), Line(Account(owner, "assay_difference", heat), -change)
        ]  # fmt: skip
        old = models.Evidence.objects.using(act.alias).filter(
            about=account.body, id__startswith=f"{account.body} predicted", withdrawn=False
        )
        if old.update(withdrawn=True):
            reading = Reading(
                lineage.new_reading_id(act.alias, account.body), account.body,
                "own-melt-predicted", {main: body.share(main)}, source=heat,
            )  # fmt: skip
            records.enter_readings(act.alias, [reading])
    return lines


def _giver(alias: str, owner: str, body: str, mg: int) -> Account:
    """The heap that the metal really came from: the heat's owner's, or another's."""
    held = ledger.balances(alias, place="store", body=body)
    enough = sorted(
        (account for account, metal in held.items() if metal.gross_mg >= mg),
        key=lambda account: account.owner != owner,
    )
    if not enough:
        most = max((metal.gross_mg for metal in held.values()), default=0)
        raise BadInput(
            "grams", mg / 1000, f"at most {most / 1000:g} g of {body}", "Weigh the bags again."
        )
    return enough[0]


def _charged_metal(alias: str, step: Planned, body: str) -> Holding:
    """What the book put into the pot of one body."""
    total = Holding.nothing()
    for entry in standing(alias, step.about):
        total += _entry_metal(alias, entry, body)
    for entry, bodies in _put_right(alias, step.about):
        if body in bodies:
            total += _out_of_store(alias, entry, body)
    return total


def _pot(alias: str, heat: str) -> Holding:
    """All that went into the pot, as far as is known by now."""
    total = sum((_entry_metal(alias, one) for one in standing(alias, heat)), Holding.nothing())
    for entry, bodies in _put_right(alias, heat):
        total += sum((_out_of_store(alias, entry, body) for body in bodies), Holding.nothing())
    return total


def _entry_metal(alias: str, entry: Any, body: str = "") -> Holding:
    rows = models.Posting.objects.using(alias).filter(
        entry=entry, account__place="store", gross_mg__lt=0
    )
    if body:
        rows = rows.filter(account__body=body)
    sums: dict[str, int] = {}
    for element, ng in (
        models.Part.objects.using(alias).filter(posting__in=rows).values_list("element", "ng")
    ):
        sums[element] = sums.get(element, 0) - ng
    return Holding.from_ng(-sum(rows.values_list("gross_mg", flat=True)), sums)


def _entries(alias: str, name: str, really: str) -> list[Sealed]:
    rows = models.Posting.objects.using(alias).filter(
        account__body=really, entry__about=name, entry__entry__isnull=True
    )
    last = rows.select_related("entry").order_by("-entry_id").first()
    return [] if last is None else [Sealed(last.entry_id, last.entry.key, last.entry.digest)]
