"""The steps of the bench, each one transaction from real weights: charge, pour, part, mill, cut.

What was put in and not weighed out goes to the step's loss account; a weight that lies too far
from the book's stops the step until it is answered for.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from lemel.book import heats, ledger, lineage, models, reserved, unweighed
from lemel.book.acts import Act
from lemel.book.again import attempt
from lemel.book.flow import Planned, planned_step
from lemel.book.holdings import share
from lemel.book.rules import Allowance, allowance_mg, identity_limit_mg
from lemel.book.top_ups import enough, top_up
from lemel.book.values import Account, Done, Line, Sealed
from lemel.errors import BadInput
from lemel.values import (
    Holding,
    Objection,
    Quantity,
    Saying,
    SayingValue,
    is_positive,
    not_negative,
)

__all__ = ["ANSWERS", "Weights", "charge", "check_bags", "pour", "put_in", "stock_take", "work"]

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


def charge(act: Act, plan: str, heat: str, weights: Weights, only: bool = False) -> Done:
    """From the bags into the pot, the top-up by consent first.

    With `only` nothing but what `weights.taken` names goes in now.
    """
    alias, name = act.alias, f"{plan}/{heat}"
    step = planned_step(alias, plan, f"{heat} melt and pour")
    takes = [(a, mg) for a, mg in step.takes if not only or a.body in weights.taken]
    bags = [account for account, _ in takes if ledger.held(alias, account).gross_mg]
    _expect(weights.taken, [account.body for account, _ in step.takes], "taken")
    _expect(weights.before, [account.body for account in bags], "before")
    _expect(weights.answers, [account.body for account in bags], "answers")
    key, known = attempt(alias, f"charge {name}")
    if known:
        return Done(known, bodies=(name,))
    if not takes:
        raise BadInput("taken", {}, "what goes in now", "Tell what was weighed into the pot.")
    stops = (*_suspects(alias, [a.body for a, _ in takes]), *_identity(alias, bags, weights))
    if stops:
        return Done(None, objections=stops)
    heats.move_on(act, name, "charged")
    lacking = _correct(act, bags, weights)
    amounts = {a.body: _mg(weights.taken.get(a.body), planned) for a, planned in takes}
    sealed = put_in(act, step, amounts, "charge", key, sorted(weights.taken))
    own = f"{plan}: {step.name}"
    others = tuple(one for one in lacking if one.values["step"] != own)
    return Done(sealed, bodies=(name,), next=(*others, _saying("charged", heat=heat)))


def check_bags(act: Act, bags: list[Account], weights: Weights) -> tuple[Objection, ...]:
    """What stops metal on its way into the pot; where nothing does, answered differences are
    booked."""
    _expect(weights.before, [account.body for account in bags], "before")
    suspects = _suspects(act.alias, [account.body for account in bags])
    stops = (*suspects, *_identity(act.alias, bags, weights))
    if not stops:
        _correct(act, bags, weights)
    return stops


def put_in(
    act: Act, step: Planned, amounts: Mapping[str, int], kind: str, key: str,
    weighed: Sequence[str] = (), consent: str = "",
) -> Sealed:  # fmt: skip
    """So many mg of each body from the store into the pot, what is another's by consent first.

    What the step had reserved for a body beyond this stays reserved.
    """
    alias, name = act.alias, step.about
    reserved.spend(alias, step.row, amounts)
    top_up(act, step, amounts, consent)
    lines: list[Line] = []
    for body, mg in amounts.items():
        account = Account(step.owner, "store", body)
        [metal], _ = share(enough(act, account, mg), [mg])
        _may_be_spared(alias, account, mg)
        lines.append(Line(account, -metal))
        lines.append(Line(Account(step.owner, "process", name), metal))
    sealed = ledger.post(
        alias, act.now, kind, lines, key=key, about=name, by=act.by,
        memo=act.facts(plan=step.plan, weighed=list(weighed)),
    )  # fmt: skip
    lineage.join(act, name, amounts)
    return sealed


def _may_be_spared(alias: str, account: Account, mg: int) -> None:
    """A hair more than was kept for the step may be taken of what is kept for others; no more."""
    short = mg - reserved.free_mg(alias, account)
    if short > identity_limit_mg(mg):
        reserved.must_be_free(alias, account, mg, "Take less, or let that plan do without.")
    elif short > 0:
        reserved.let_go(alias, account, mg)


def pour(act: Act, plan: str, heat: str, weights: Weights) -> Done:
    """Out of the pot: bars, feeders, what stays in the pot; the rest is the heat's loss."""
    alias, name = act.alias, f"{plan}/{heat}"
    step = planned_step(alias, plan, f"{heat} melt and pour")
    source = Account(step.owner, "process", name)
    if not step.done and heats.state_of(alias, name) != "molten":
        heats.move_on(act, name, "poured")
    done = _out(act, step, source, weights)
    if done.entry is None or done.entry.again:
        return done
    heats.move_on(act, name, "poured", {"loss_mg": done.loss_mg})
    return replace(done, next=(*_short(step, weights), *done.next))


def _short(step: Planned, weights: Weights) -> tuple[Saying, ...]:
    """Bars that came out lighter than planned by more than a weighing can be off."""
    found = []
    for to, own, planned_mg in step.gives:
        real_mg = _mg(weights.after.get(own), planned_mg)
        if to.place == "store" and planned_mg - real_mg > identity_limit_mg(planned_mg):
            missing = Quantity((planned_mg - real_mg) / 1000, "g")
            found.append(_saying("lighter", bar=to.body, missing=missing))
    return tuple(found)


def work(act: Act, plan: str, name: str, weights: Weights) -> Done:
    """Part, mill or cut: one bar in, bars, pieces and remnants out."""
    step = planned_step(act.alias, plan, name)
    if step.kind not in ("take", "part", "mill", "cut"):
        raise BadInput(
            "step", name, "a step that takes, parts, mills or cuts", "Charge or pour the heat."
        )
    [(source, _)] = step.takes
    _expect(weights.before, [source.body], "before")
    stops = _identity(act.alias, [source], weights)
    if stops and not step.done:
        return Done(None, objections=stops)
    if not step.done:
        _correct(act, [source], weights)
    return _out(act, step, source, weights)


def _out(act: Act, step: Planned, source: Account, weights: Weights) -> Done:
    """One heap shared out by weight; what is not weighed out is the step's loss."""
    alias = act.alias
    if step.done:
        return _again(alias, step)
    gives = [(to, own, mg) for to, own, mg in step.gives if to.place != "loss"]
    _expect(weights.after, [own for _, own, _ in gives], "after")
    _expect(weights.answers, _names(step, source), "answers")
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
    reserved.release(alias, step.row)
    lines = [Line(source, -metal), Line(Account(step.owner, "loss", step.kind), loss)]
    lines += [Line(to, part) for (to, _, _), part in zip(gives, parts, strict=True)]
    sealed = ledger.post(
        alias, act.now, step.kind, lines, key=attempt(alias, f"{step.plan}: {step.name}")[0],
        about=step.about, by=act.by,
        memo=act.facts(
            plan=step.plan, step=step.name, handled_mg=metal.gross_mg, loss_mg=loss.gross_mg,
            foreseen_mg=foreseen, weighings=len(sizes) + 1, weighed=sorted(weights.after),
            unweighed=sorted({own for _, own, _ in gives} - set(weights.after)),
        ),
    )  # fmt: skip
    _finish(alias, step, sealed)
    made = lineage.come_out(
        act, step, source.body,
        [(to, own, part) for (to, own, _), part in zip(gives, parts, strict=True)],
    )  # fmt: skip
    return Done(
        sealed, loss.gross_mg, allowed.mean_mg, allowed.sd_mg, made, stops,
        _what_next(alias, step.plan),
    )  # fmt: skip


def _what_next(alias: str, plan: str) -> tuple[Saying, ...]:
    """The first step of the plan that is still to do."""
    rows = models.Step.objects.using(alias).filter(plan_id=plan, entry=None).order_by("n")
    name = rows.values_list("name", flat=True).first()
    return (_saying("all_done", plan=plan),) if name is None else (_saying("step", step=name),)


def _saying(case: str, **values: SayingValue) -> Saying:
    return Saying(f"book.next.{case}", values)


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
    answered = any(name in weights.answers for name in _names(step, source))
    values: dict[str, SayingValue] = {
        "step": step.name,
        "body": source.body,
        "amount": Quantity(abs(loss.gross_mg) / 1000, "g"),
        "allowed": Quantity(allowed.mean_mg / 1000, "g"),
    }
    return (Objection(code, source.body, "note" if answered else "stop", values),)


def _suspects(alias: str, bodies: Sequence[str]) -> tuple[Objection, ...]:
    """Metal that is under suspicion does not go into a clean heat."""
    rows = models.Body.objects.using(alias).filter(pk__in=bodies, suspect=True).order_by("id")
    return tuple(
        Objection("book.charge.suspect", body, "stop", {"body": body})
        for body in rows.values_list("id", flat=True)
    )


def _names(step: Planned, source: Account) -> tuple[str, ...]:
    """By what a step may be called where it is answered for."""
    known = (step.name, step.about, source.body)
    return (*known, *(name.removeprefix(f"{step.plan}/") for name in known))


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
            run = unweighed.run(alias, account.body)
            code = "book.identity.off_unweighed" if run else "book.identity.off"
            more: dict[str, SayingValue] = {"steps": len(run)} if run else {}
            stops.append(Objection(code, account.body, "stop", {**values, **more}))
    return tuple(stops)


def _correct(act: Act, accounts: list[Account], weights: Weights) -> tuple[Saying, ...]:
    """The answered difference between balance and book; who has to do without what is missing.

    After steps that nobody weighed it is theirs, and is booked as a loss (or gain) of the last
    of them; else it goes to the stock-take account.
    """
    lacking: list[Saying] = []
    for account in accounts:
        if account.body not in weights.answers or account.body not in weights.before:
            continue
        real_mg = round(weights.before[account.body] * 1000)
        run = unweighed.run(act.alias, account.body)
        if run:
            unweighed.settle(act, account, real_mg, run)
        else:
            # What is not there cannot be kept for anybody: the latest promise goes first.
            missing = max(0, ledger.held(act.alias, account).gross_mg - real_mg)
            lacking += [
                Saying("book.next.step_lacks", {"step": step, "body": account.body})
                for step in reserved.let_go(act.alias, account, missing)
            ]
            stock_take(act.alias, act.now, account, real_mg, act.by)
    return tuple(lacking)


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


def _mg(grams: float | None, planned_mg: int) -> int:
    return planned_mg if grams is None else round(grams * 1000)


def _expect(given: Collection[str], known: Sequence[str], field: str) -> None:
    for body in given:
        if body not in known:
            raise BadInput(f"{field}.{body}", body, ", ".join(known), "Name one of the step's own.")


def _finish(alias: str, step: Planned, sealed: Sealed) -> None:
    models.Step.objects.using(alias).filter(pk=step.row).update(entry_id=sealed.number)
