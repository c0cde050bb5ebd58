"""The steps of the bench, each one transaction from real weights: charge, pour, part, mill, cut.

What was put in and not weighed out goes to the step's loss account; a weight that lies too far
from the book's stops the step until it is answered for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lemel.book import heats, ledger, lineage, models, records
from lemel.book.flow import CONSENTS_APART, Planned, planned_step
from lemel.book.holdings import share
from lemel.book.rules import Allowance, allowance_mg, identity_limit_mg
from lemel.book.values import Account, Done, Line, Sealed
from lemel.errors import BadInput
from lemel.values import Holding, Objection, Quantity, SayingValue, is_positive, not_negative

__all__ = ["ANSWERS", "Weights", "charge", "pour", "stock_take", "work"]

#: What may be said to a weight that is off: the balance is right, book the difference.
ANSWERS = ("book_difference",)


@dataclass(frozen=True, slots=True)
class Weights:
    """What the bench weighed, g by id.

    `before` is a whole heap on the balance before the step (the identity check); `taken` what
    went into the pot; `after` what came out. Whatever is not weighed is as planned.
    `answers` answer for a weight that is off, by id.
    """

    before: Mapping[str, float]
    taken: Mapping[str, float]
    after: Mapping[str, float]
    answers: Mapping[str, str]

    def __post_init__(self) -> None:
        for name in ("before", "taken"):
            for body, grams in getattr(self, name).items():
                is_positive(f"{name}.{body}", grams)
        for body, grams in self.after.items():
            not_negative(f"after.{body}", grams)
        for body, answer in self.answers.items():
            if answer not in ANSWERS:
                raise BadInput(f"answers.{body}", answer, ", ".join(ANSWERS), "Answer with one.")


def charge(alias: str, now: str, plan: str, heat: str, weights: Weights, by: str) -> Done:
    """From the bags into the pot, the top-up by consent first."""
    name = f"{plan}/{heat}"
    step = planned_step(alias, plan, f"{heat} melt and pour")
    bags = [account for account, _ in step.takes if ledger.held(alias, account).gross_mg]
    _expect(weights.taken, [account.body for account, _ in step.takes], "taken")
    _expect(weights.before, [account.body for account in bags], "before")
    known = ledger.found_key(alias, f"charge {name}")
    if known:
        return Done(known, bodies=(name,))
    stops = _identity(alias, bags, weights)
    if stops:
        return Done(None, objections=stops)
    heats.move_on(alias, now, name, "charged", by)
    _correct(alias, now, bags, weights, by)
    _release(alias, step.row)
    _top_up(alias, now, plan, heat, step, weights, by)
    lines: list[Line] = []
    parents: dict[str, int] = {}
    for account, planned_mg in step.takes:
        mg = _mg(weights.taken.get(account.body), planned_mg)
        [metal], _ = share(_enough(alias, account, mg), [mg])
        parents[account.body] = mg
        lines.append(Line(account, -metal))
        lines.append(Line(Account(account.owner, "process", name), metal))
    sealed = ledger.post(
        alias, now, "charge", lines, key=f"charge {name}", about=name, by=by,
        memo={"plan": plan, "weighed": sorted(weights.taken)},
    )  # fmt: skip
    lineage.join(alias, name, parents)
    return Done(sealed, bodies=(name,))


def _top_up(
    alias: str, now: str, plan: str, heat: str, step: Planned, weights: Weights, by: str
) -> None:
    """House metal that goes into a customer's heat becomes theirs first, by the consent."""
    row = models.Step.objects.using(alias).filter(plan_id=plan, name=f"{heat} top-up").first()
    if row is None:
        return
    topping = planned_step(alias, plan, f"{heat} top-up")
    amounts = [_mg(weights.taken.get(a.body), planned) for a, planned in topping.takes]
    _allowed_by(alias, topping.consent, step.owner, sum(amounts))
    _release(alias, topping.row)
    lines: list[Line] = []
    for (account, _), mg in zip(topping.takes, amounts, strict=True):
        [metal], _ = share(_enough(alias, account, mg), [mg])
        lines += [
            Line(account, -metal),
            Line(Account(step.owner, "store", account.body), metal),
        ]
    sealed = ledger.post(
        alias, now, "top_up", lines, key=f"top_up {plan}/{heat}", about=f"{plan}/{heat}", by=by,
        consent=topping.consent, memo={"plan": plan},
    )  # fmt: skip
    _finish(alias, topping, sealed)


def _allowed_by(alias: str, consent: str, owner: str, mg: int) -> None:
    """A top-up needs a consent of its new owner that still holds and allows so much."""
    known = records.consents(alias)
    limits: list[float] = []
    for name in consent.split(CONSENTS_APART):
        if name not in known or known[name].owner != owner:
            raise BadInput("consent", name, f"a consent of {owner} that holds", "Ask the owner.")
        limit_g = known[name].limit_g
        limits.append(float("inf") if limit_g is None else limit_g)
    if mg > 1000 * sum(limits):
        raise BadInput(
            "consent", mg / 1000, f"at most {sum(limits):g} g by {consent}", "Ask the owner."
        )


def pour(alias: str, now: str, plan: str, heat: str, weights: Weights, by: str) -> Done:
    """Out of the pot: bars, feeders, what stays in the pot; the rest is the heat's loss."""
    name = f"{plan}/{heat}"
    step = planned_step(alias, plan, f"{heat} melt and pour")
    source = Account(step.owner, "process", name)
    if not step.done and heats.state_of(alias, name) != "molten":
        heats.move_on(alias, now, name, "poured", by)
    done = _out(alias, now, step, source, weights, by)
    if done.entry is not None and not done.entry.again:
        heats.move_on(alias, now, name, "poured", by, {"loss_mg": done.loss_mg})
    return done


def work(alias: str, now: str, plan: str, name: str, weights: Weights, by: str) -> Done:
    """Part, mill or cut: one bar in, bars, pieces and remnants out."""
    step = planned_step(alias, plan, name)
    if step.kind not in ("take", "part", "mill", "cut"):
        raise BadInput(
            "step", name, "a step that takes, parts, mills or cuts", "Charge or pour the heat."
        )
    [(source, _)] = step.takes
    _expect(weights.before, [source.body], "before")
    stops = _identity(alias, [source], weights)
    if stops and not step.done:
        return Done(None, objections=stops)
    if not step.done:
        _correct(alias, now, [source], weights, by)
    return _out(alias, now, step, source, weights, by)


def _out(alias: str, now: str, step: Planned, source: Account, weights: Weights, by: str) -> Done:
    """One heap shared out by weight; what is not weighed out is the step's loss."""
    if step.done:
        return _again(alias, step)
    gives = [(to, own, mg) for to, own, mg in step.gives if to.place != "loss"]
    _expect(weights.after, [own for _, own, _ in gives], "after")
    sizes = [_mg(weights.after.get(own), mg) for _, own, mg in gives]
    metal = ledger.held(alias, source)
    if step.kind == "part":
        # Only what is cut off is handled; the rest of the bar stays where it is.
        cut_off = min(sum(sizes), metal.gross_mg)
        [metal], _ = share(metal, [cut_off])
    if metal.gross_mg <= 0:
        raise BadInput("step", step.name, "a heap that holds metal", f"{source.body} is empty.")
    parts, loss = share(metal, sizes)
    foreseen = sum(mg for to, _, mg in step.gives if to.place == "loss")
    allowed = allowance_mg(step.kind, metal.gross_mg, len(sizes) + 1, foreseen)
    stops = _too_much(step, source, metal, loss, allowed, weights)
    if any(stop.grade == "stop" for stop in stops):
        return Done(None, loss.gross_mg, allowed.mean_mg, allowed.sd_mg, objections=stops)
    _release(alias, step.row)
    lines = [Line(source, -metal), Line(Account(step.owner, "loss", step.kind), loss)]
    lines += [Line(to, part) for (to, _, _), part in zip(gives, parts, strict=True)]
    sealed = ledger.post(
        alias, now, step.kind, lines, key=f"{step.plan}: {step.name}", about=step.about, by=by,
        memo={
            "plan": step.plan, "step": step.name, "handled_mg": metal.gross_mg,
            "loss_mg": loss.gross_mg, "foreseen_mg": foreseen, "weighings": len(sizes) + 1,
            "weighed": sorted(weights.after),
        },
    )  # fmt: skip
    _finish(alias, step, sealed)
    made = lineage.come_out(
        alias, now, step, source.body,
        [(to, own, part) for (to, own, _), part in zip(gives, parts, strict=True)],
    )  # fmt: skip
    return Done(sealed, loss.gross_mg, allowed.mean_mg, allowed.sd_mg, made, stops)


def _again(alias: str, step: Planned) -> Done:
    entry = models.Step.objects.using(alias).select_related("entry").get(pk=step.row).entry
    return Done(Sealed(entry.number, entry.key, entry.digest, again=True))


def _too_much(
    step: Planned, source: Account, metal: Holding, loss: Holding, allowed: Allowance,
    weights: Weights,
) -> tuple[Objection, ...]:  # fmt: skip
    """A gain or a loss that no allowance explains is asked about before it is written."""
    limit = identity_limit_mg(metal.gross_mg)
    beyond = loss.gross_mg - allowed.mean_mg
    if -limit <= loss.gross_mg and beyond <= max(limit, 3 * allowed.sd_mg):
        return ()
    code = "book.step.gain" if loss.gross_mg < 0 else "book.step.loss"
    answered = step.about in weights.answers or source.body in weights.answers
    values: dict[str, SayingValue] = {
        "step": step.name,
        "body": source.body,
        "amount": Quantity(abs(loss.gross_mg) / 1000, "g"),
        "allowed": Quantity(allowed.mean_mg / 1000, "g"),
    }
    return (Objection(code, source.body, "note" if answered else "stop", values),)


def _identity(alias: str, accounts: list[Account], weights: Weights) -> tuple[Objection, ...]:
    """The balance against the book: what is further off than the limit and not answered for."""
    stops = []
    for account in accounts:
        grams = weights.before.get(account.body)
        if grams is None or account.body in weights.answers:
            continue
        book_mg = ledger.held(alias, account).gross_mg
        if abs(round(grams * 1000) - book_mg) > identity_limit_mg(book_mg):
            values: dict[str, SayingValue] = {
                "body": account.body,
                "weighed": Quantity(grams, "g"),
                "book": Quantity(book_mg / 1000, "g"),
            }
            stops.append(Objection("book.identity.off", account.body, "stop", values))
    return tuple(stops)


def _correct(alias: str, now: str, accounts: list[Account], weights: Weights, by: str) -> None:
    """The answered difference between balance and book, to the stock-take account."""
    for account in accounts:
        if account.body not in weights.answers or account.body not in weights.before:
            continue
        real_mg = round(weights.before[account.body] * 1000)
        stock_take(alias, now, account, real_mg, by)


def stock_take(alias: str, now: str, account: Account, real_mg: int, by: str) -> Sealed | None:
    """Bring a heap to what the balance says; None where it says the same."""
    metal = ledger.held(alias, account)
    if metal.gross_mg == real_mg:
        return None
    _, difference = share(metal, [real_mg])
    lines = [
        Line(account, -difference),
        Line(Account(account.owner, "stock_take", account.body), difference),
    ]
    return ledger.post(
        alias, now, "stock_take", lines, about=account.body, by=by,
        memo={"book_mg": metal.gross_mg, "weighed_mg": real_mg},
    )  # fmt: skip


def _enough(alias: str, account: Account, mg: int) -> Holding:
    metal = ledger.held(alias, account)
    if mg > metal.gross_mg:
        raise BadInput(
            f"taken.{account.body}", mg / 1000, f"at most {metal.gross_mg / 1000:g} g",
            "Weigh the bag, and answer for the difference.",
        )  # fmt: skip
    return metal


def _mg(grams: float | None, planned_mg: int) -> int:
    return planned_mg if grams is None else round(grams * 1000)


def _expect(given: Mapping[str, float], known: list[str], field: str) -> None:
    for body in given:
        if body not in known:
            raise BadInput(f"{field}.{body}", body, ", ".join(known), "Name one of the step's own.")


def _release(alias: str, step: int) -> None:
    rows = models.Reservation.objects.using(alias).filter(step_id=step, released=False)
    rows.update(released=True)


def _finish(alias: str, step: Planned, sealed: Sealed) -> None:
    models.Step.objects.using(alias).filter(pk=step.row).update(entry_id=sealed.number)
