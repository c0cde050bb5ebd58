"""Bags split, merged, melted down again, filled up: metal within the house, outside any plan."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import hypot, sqrt
from typing import Any

from lemel import metal as metals
from lemel.book import consents, ledger, lineage, models, records
from lemel.book.acts import Act
from lemel.book.holdings import body_of, share
from lemel.book.losing import off
from lemel.book.newlots import free_name, heap_of, make_lot
from lemel.book.reserved import must_be_free
from lemel.book.rules import identity_limit_mg
from lemel.book.shared_bag import told_of_parts
from lemel.book.values import Account, Happened, Line
from lemel.errors import BadInput
from lemel.scrap import ScrapProblem, believe
from lemel.values import Addition, Composition, Holding, Lot, Saying, is_positive

__all__ = ["merge", "remelt", "restock", "split"]


def split(
    act: Act, body: str, parts_g: Mapping[str, float], whole: bool, owner: str, answered: bool
) -> Happened:
    """New lots out of one; what is not named stays in it, unless `whole`: then all was shared out.

    Each part inherits the lot's readings, whose errors the parts then share.
    """
    alias, account = act.alias, heap_of(act.alias, body, owner)
    lot = _lot(alias, body)
    if not parts_g:
        raise BadInput("parts", {}, "grams by the name of each new lot", "Weigh the parts.")
    for name, grams in parts_g.items():
        is_positive(f"parts.{name}", grams)
    held = ledger.held(alias, account)
    sizes = [round(grams * 1000) for grams in parts_g.values()]
    left_mg = held.gross_mg - sum(sizes)
    if (whole and abs(left_mg) > identity_limit_mg(held.gross_mg) and not answered) or (
        left_mg < 0 and not whole
    ):
        return Happened(loss_mg=left_mg, objections=(off("splitting", body, left_mg, 0.0),))
    must_be_free(alias, account, min(sum(sizes), held.gross_mg), "Split what is free of it.")
    made, rest = share(held, sizes)
    lines = [Line(Account(account.owner, "store", name), part)
             for name, part in zip(parts_g, made, strict=True)]  # fmt: skip
    taken = held if whole else sum(made, Holding.nothing())
    lines.append(Line(account, -taken))
    if whole:
        lines.append(Line(Account(account.owner, "loss", "part"), rest))
    sealed = ledger.post(
        alias, act.now, "split", lines, about=body, by=act.by,
        memo=act.facts(into=sorted(parts_g), loss_mg=left_mg if whole else 0),
    )  # fmt: skip
    for name, part in zip(parts_g, made, strict=True):
        _inherit(act, lot, Account(account.owner, "store", name), part)
    told_of_parts(alias, lot, tuple(parts_g))
    return Happened((sealed,), tuple(parts_g), loss_mg=left_mg if whole else 0)


def _inherit(act: Act, lot: Lot, to: Account, part: Holding) -> None:
    """A part of a lot is the lot in small: the same record, melts and origin."""
    origin = lineage.origin_of(act.alias, lot.id)
    child = replace(lot, id=to.body, mass_g=part.gross_mg / 1000, origin=origin, price_paid=None)
    lineage.be_born(act, to, child, origin, {lot.id: part.gross_mg})


def merge(act: Act, bodies: Sequence[str], into: str, owner: str, consent: str) -> Happened:
    """Several lots in one bag: one owner (or by consent), one metal, one family."""
    alias = act.alias
    if len(set(bodies)) < 2 or len(set(bodies)) != len(bodies):
        raise BadInput("bodies", ", ".join(bodies), "two lots or more, each once", "Name them.")
    accounts = [heap_of(alias, body) for body in bodies]
    lots = [_lot(alias, body) for body in bodies]
    held = {a.body: ledger.held(alias, a) for a in accounts}
    _may_merge(alias, lots, held)
    owner = owner or accounts[0].owner
    for account in accounts:
        must_be_free(alias, account, held[account.body].gross_mg, "Drop that plan first.")
    by_consent = _mixing(alias, accounts, held, owner, consent)
    total = sum(held.values(), Holding.nothing())
    to = Account(owner, "store", into)
    lines = [*(Line(a, -held[a.body]) for a in accounts), Line(to, total)]
    if records.is_known(alias, into):
        raise BadInput("into", into, "an id that is new", "Give the new bag a name of its own.")
    spread = _spread(alias, lots, held)
    sealed = ledger.post(
        alias, act.now, "merge", lines, about=into, by=act.by, consent=by_consent,
        memo=act.facts(bodies=list(bodies)),
    )  # fmt: skip
    like = _common(lots, held)
    make_lot(act, to, total, held, form=like.form, like=like, sd_own=spread)
    return Happened((sealed,), (into,), next=(Saying("book.next.merged", {"body": into}),))


def _may_merge(alias: str, lots: Sequence[Lot], held: Mapping[str, Holding]) -> None:
    """Raise BadInput for metals, families or doubts that must not meet in one bag."""
    mains = {lot.main for lot in lots}
    if len(mains) > 1:
        raise BadInput("bodies", ", ".join(sorted(mains)), "lots of one metal", "Keep them apart.")
    families = {metals.family(body_of(held[lot.id]), lot.colour) for lot in lots}
    if len(families) > 1:
        raise BadInput(
            "bodies", ", ".join(sorted(families)), "lots of one family",
            "Keep them apart; a heat may take a little of each.",
        )  # fmt: skip
    alone = [lot.id for lot in lots if lot.no_mixing or lot.whole]
    if alone:
        raise BadInput("bodies", alone[0], "lots that may be mixed", "It is to stay by itself.")
    rows = models.Body.objects.using(alias).filter(pk__in=held, suspect=True)
    suspect = sorted(rows.values_list("id", flat=True))
    if suspect and len(suspect) < len(lots):
        raise BadInput(
            "bodies", suspect[0], "lots that are all sound, or all under suspicion",
            "Clear it first, with the reason.",
        )  # fmt: skip


def _mixing(
    alias: str, accounts: Sequence[Account], held: Mapping[str, Holding], owner: str, consent: str
) -> str:
    """Each other owner must have consented to mixing with this one; the consents named."""
    for giver in sorted({a.owner for a in accounts} - {owner}):
        bodies = [a.body for a in accounts if a.owner == giver]
        mg = sum(held[body].gross_mg for body in bodies)
        consents.allow(alias, consent, giver, mg, bodies, {f"mix_with:{owner}"})
    return consent if len({a.owner for a in accounts} | {owner}) > 1 else ""


def _spread(alias: str, lots: Sequence[Lot], held: Mapping[str, Holding]) -> float:
    """sd of the main metal's share in any part of the bag: of the belief, and between the lots."""
    ids = {lot.id for lot in lots}
    readings = tuple(one for one in records.readings(alias) if one.on in ids)
    apart = tuple(replace(lot, parents=()) for lot in lots)
    beliefs = believe(ScrapProblem(apart, readings)).beliefs
    total = sum(metal.gross_mg for metal in held.values())
    weights = [held[body].gross_mg / total for body in beliefs.bodies]
    own = sqrt(sum((w * sd) ** 2 for w, sd in zip(weights, beliefs.own_sd, strict=True)))
    shared = [
        sum(w * row[k] for w, row in zip(weights, beliefs.loading, strict=True))
        for k in range(len(beliefs.factors))
    ]
    shares = [body_of(held[body]).share(beliefs.main) for body in beliefs.bodies]
    mean = sum(w * x for w, x in zip(weights, shares, strict=True))
    between = sqrt(sum(w * (x - mean) ** 2 for w, x in zip(weights, shares, strict=True)))
    return min(1.0, hypot(own, between, *shared))


def _common(lots: Sequence[Lot], held: Mapping[str, Holding]) -> Lot:
    """What can be said of all of them; where they differ, the answer that asks most care."""
    care = {"yes": 2, "unknown": 1, "no": 0}
    flags: dict[str, str] = {}
    for code in sorted({code for lot in lots for code in lot.flags}):
        said = [lot.flags.get(code, "unknown") for lot in lots]
        flags[code] = max(said, key=lambda answer: care[answer])
    first, total = lots[0], sum(held[lot.id].gross_mg for lot in lots)
    solder = sum(lot.solder_share[0] * held[lot.id].gross_mg for lot in lots) / total

    def same(field: str, otherwise: Any) -> Any:
        values = {getattr(lot, field) for lot in lots}
        return values.pop() if len(values) == 1 else otherwise

    return replace(
        first, form=same("form", "offcut"), scrap_class=same("scrap_class", ""),
        made_for=same("made_for", "unknown"), colour=same("colour", "none"), flags=flags,
        barred=tuple(sorted({code for lot in lots for code in lot.barred})),
        solder_share=(solder, max(lot.solder_share[1] for lot in lots)),
        parents=same("parents", ()),
    )  # fmt: skip


def remelt(
    act: Act, body: str, into: str, form: str, weighed_g: float | None, owner: str, answered: bool
) -> Happened:
    """A bar or piece becomes scrap for another heat; its melts are inherited, and count on."""
    alias = act.alias
    account = heap_of(alias, body, owner, ("store", "piece"))
    held = ledger.held(alias, account)
    must_be_free(alias, account, held.gross_mg, "Drop that plan first.")
    real_mg = held.gross_mg if weighed_g is None else round(weighed_g * 1000)
    loss_mg = held.gross_mg - real_mg
    if abs(loss_mg) > identity_limit_mg(held.gross_mg) and not answered:
        return Happened(loss_mg=loss_mg, objections=(off("remelting", body, loss_mg, 0.0),))
    [part], loss = share(held, [real_mg])
    name = free_name(alias, into, f"{body}-remelt")
    to = Account(account.owner, "store", name)
    lines = [Line(account, -held), Line(to, part)]
    lines.append(Line(Account(account.owner, "loss", "part"), loss))
    sealed = ledger.post(
        alias, act.now, "remelt", lines, about=body, by=act.by,
        memo=act.facts(into=name, loss_mg=loss_mg),
    )  # fmt: skip
    record = records.record_of(alias, body)
    like = record if isinstance(record, Lot) else None
    make_lot(act, to, part, {body: part}, form=form, like=like, note=body)
    return Happened((sealed,), (name,), loss_mg=loss_mg, next=steps_without(alias, body))


def steps_without(alias: str, body: str) -> tuple[Saying, ...]:
    """The steps, still open, that were to take this body and now cannot."""
    found = []
    for row in models.Step.objects.using(alias).filter(entry=None).order_by("plan_id", "n"):
        if any(taken == body for _, taken, _ in json.loads(row.planned)["takes"]):
            values = {"step": f"{row.plan_id}: {row.name}", "body": body}
            found.append(Saying("book.next.step_lacks", values))
    return tuple(found)


def restock(act: Act, addition: str, grams: float, of: Composition | None, key: str) -> Happened:
    """More of an addition that the book knows, of the same composition or as its paper says."""
    alias = act.alias
    is_positive("grams", grams)
    known = ledger.found_key(alias, key) if key else None
    if known:
        return Happened((known,))
    record = records.record_of(alias, addition)
    if not isinstance(record, Addition):
        raise BadInput("addition", addition, "an addition of this book", "Weigh a lot in instead.")
    body = of or record.composition
    if abs(body.share(body.main()) - record.composition.share(body.main())) > 3 * record.sd + 1e-9:
        raise BadInput(
            "composition", body.fineness(body.main()),
            f"{record.composition.fineness(body.main()):g} within three sds",
            "Give the other metal an addition of its own.",
        )  # fmt: skip
    metal = Holding.of(round(grams * 1000), body)
    store = Account(record.owner, "store", addition)
    lines = [Line(Account(record.owner, "outside", "arrivals"), -metal), Line(store, metal)]
    sealed = ledger.post(
        alias, act.now, "weigh_in", lines, key=key, about=addition, by=act.by, memo=act.facts()
    )
    return Happened((sealed,), (addition,))


def _lot(alias: str, body: str) -> Lot:
    record = records.record_of(alias, body)
    if not isinstance(record, Lot):
        raise BadInput("body", body, "a lot", "Only lots are split and merged by a word.")
    return record
