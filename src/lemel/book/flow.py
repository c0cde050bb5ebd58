"""From a plan to the book: kept whole, its heaps reserved, its steps waiting for real weights."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from lemel.book import bought, models, people, records
from lemel.book.chain import spelled, text_digest
from lemel.book.consents import CONSENTS_APART
from lemel.book.values import Accepted, Account, PlanStep
from lemel.errors import BadInput, Broken
from lemel.plan import Movement, Plan
from lemel.values import from_plain, to_plain

__all__ = [
    "Planned",
    "accept",
    "drop",
    "kept_plan",
    "plan_steps",
    "planned_step",
    "redact",
]

#: The plan's places and the book's.
_PLACES = {
    "lot": "store", "addition": "store", "bar": "store", "remnant": "store", "offcut": "store",
    "piece": "piece", "kerf": "lemel_box", "hold_up": "hold_up", "loss": "loss",
    "bought": "outside",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Planned:
    """One step as it was planned: heaps taken, heaps given, mg; ids are the book's."""

    row: int
    plan: str
    name: str
    kind: str
    about: str
    owner: str
    consent: str
    takes: tuple[tuple[Account, int], ...]
    gives: tuple[tuple[Account, str, int], ...]
    done: bool


def accept(alias: str, now: str, plan: Plan) -> Accepted:
    """Keep the plan whole and reserve what it takes from the store; the same plan again is told.

    Raises BadInput where a heap is not in the book, is not enough, is promised to another
    plan, or where a consent that the plan builds on is not on record.
    """
    text = _text(plan)
    there = models.Kept.objects.using(alias).filter(pk=plan.id).first()
    if there is not None:
        if there.record != text:
            raise BadInput("plan", plan.id, "a plan with an id of its own", "Plan again.")
        return _accepted(alias, plan.id)
    known = records.consents(alias)
    named = {m.consent for m in plan.balance.movements if m.consent}
    lacking = sorted({one for all_of in named for one in all_of.split(CONSENTS_APART)} - set(known))
    if lacking:
        raise BadInput("consent", lacking[0], ", ".join(known) or "none yet", "Enter the consent.")
    models.Kept.objects.using(alias).create(
        id=plan.id, record=text, digest=text_digest(text), accepted_at=now
    )
    for heat in plan.heats:
        name = f"{plan.id}/{heat.id}"
        records.enter_body(alias, now, "heat", name, heat.owner, {"id": heat.id}, heat.origin)
        models.Heat.objects.using(alias).create(
            id=name, plan_id=plan.id, owner_id=people.key_of(alias, heat.owner), state="planned"
        )
    _enter_steps(alias, plan)
    return _accepted(alias, plan.id)


def _text(plan: Plan) -> str:
    """The plan as it is kept; the names of people stay outside."""
    return spelled({**to_plain(plan), "owners": dict.fromkeys(plan.owners, "")})


def kept_plan(alias: str, plan: str) -> Plan:
    """The plan as it was accepted, with the names of today. Opening never recomputes."""
    row = models.Kept.objects.using(alias).filter(pk=plan).first()
    if row is None:
        known = models.Kept.objects.using(alias).values_list("id", flat=True)
        raise BadInput("plan", plan, ", ".join(known) or "none yet", "Accept a plan first.")
    shown = people.shown_names(alias)
    data = json.loads(row.record)
    data["owners"] = {code: shown.get(code, "") for code in data["owners"]}
    return from_plain(Plan, data)


def drop(alias: str, plan: str) -> int:
    """Let go what is still reserved for a plan; mg. What was done under it stays done."""
    kept_plan(alias, plan)
    rows = models.Reservation.objects.using(alias).filter(step__plan_id=plan, released=False)
    freed = int(sum(rows.values_list("gross_mg", flat=True)))
    rows.update(released=True)
    return freed


def redact(alias: str, code: str, key: str, words: Collection[str] = ()) -> None:
    """The opaque key instead of a person's id in every kept plan, nothing instead of `words`; its
    digest is made anew."""

    def without(data: Any) -> Any:
        if isinstance(data, dict):
            return {key if name == code else name: without(one) for name, one in data.items()}
        if isinstance(data, list):
            return [without(one) for one in data]
        if isinstance(data, str) and data in words:
            return ""
        return key if data == code else data

    for row in models.Kept.objects.using(alias).all():
        text = spelled(without(json.loads(row.record)))
        if text != row.record:
            row.record, row.digest, row.redacted = text, text_digest(text), True
            row.save(using=alias)


def _enter_steps(alias: str, plan: Plan) -> None:
    """Each step's heaps; what an earlier step of this plan makes need not be there yet."""
    charges = {f"{heat.id} melt and pour": heat for heat in plan.heats}
    names: dict[str, str] = {}
    made: set[tuple[str, str]] = set()
    for n, (name, group) in enumerate(groupby(plan.balance.movements, key=lambda m: m.step)):
        movements = list(group)
        first, kind = movements[0], _kind(name)
        owner = people.key_of(alias, first.source.owner)
        heat = charges.get(name)
        if heat is not None:
            about = f"{plan.id}/{heat.id}"
            lines = [(x.body, round(x.mass_g * 1000)) for x in heat.charge.lines]
            takes = [(owner, names.get(b, b), mg) for b, mg in lines]
        else:
            total = sum(m.holding.gross_mg for m in movements)
            takes = [(owner, names.get(first.source.id, first.source.id), total)]
            about = takes[0][1]
        gives = [_given(alias, plan.id, kind, m, names) for m in movements]
        if kind == "top_up":
            about = f"{plan.id}/{name.removesuffix(' top-up')}"
            takes = [(owner, m.source.id, m.holding.gross_mg) for m in movements]
        planned = {"owner": owner, "consent": first.consent, "takes": takes, "gives": gives}
        # One bar may be parted twice: the second time has a name of its own.
        same = models.Step.objects.using(alias).filter(plan_id=plan.id, kind=kind, about=about)
        label = name if not same.exists() else f"{name} ({same.count() + 1})"
        step = models.Step.objects.using(alias).create(
            plan_id=plan.id, n=n, name=label, kind=kind, about=about, planned=spelled(planned)
        )
        _reserve(alias, step.pk, [t for t in takes if (t[0], t[1]) not in made])
        made |= {(g[0], g[2]) for g in gives if g[1] == "store"}


def _kind(name: str) -> str:
    for kind, tail in (("top_up", " top-up"), ("melt_and_pour", " melt and pour")):
        if name.endswith(tail):
            return kind
    kind = name.split(" ", 1)[0]
    if kind not in ("take", "part", "mill", "cut"):
        raise Broken(f"the book does not know the step {name!r}")
    return kind


def _given(
    alias: str, plan: str, kind: str, movement: Movement, names: dict[str, str]
) -> tuple[str, str, str, str, int]:
    """Owner's key, place, body in the book, the plan's own id, mg."""
    to = movement.to
    place = _PLACES[to.place]
    if kind == "top_up":
        body = to.id
    elif place == "loss":
        body = kind
    elif place == "lemel_box":
        body = "lemel box"
    elif place == "hold_up":
        body = to.id
    else:
        body = names[to.id] = f"{plan}/{to.id}"
    return people.key_of(alias, to.owner), place, body, to.id, movement.holding.gross_mg


def _reserve(alias: str, step: int, takes: Iterable[tuple[str, str, int]]) -> None:
    for owner, body, wanted in takes:
        account = (
            models.Account.objects.using(alias)
            .filter(owner_id=owner, place="store", body=body)
            .first()
        )
        state = models.Body.objects.using(alias).filter(pk=body).first()
        endless = bought.is_endless(alias, body)
        # Of what may be bought without end no more is kept than lies there.
        mg = min(wanted, _free(alias, account)) if endless else wanted
        if endless and mg <= 0:
            continue
        if account is None or state is None:
            raise BadInput("lot", body, "a heap that is in the book", "Weigh it in first.")
        if state.suspect or state.withdrawn:
            raise BadInput(
                "lot", body, "a lot that is neither suspect nor withdrawn", "Plan again."
            )
        models.Reservation.objects.using(alias).create(
            step_id=step, account_id=account.pk, gross_mg=mg
        )


def _free(alias: str, account: Any) -> int:
    """What of a heap is promised to nobody; nothing where there is no such heap."""
    if account is None:
        return 0
    kept = models.Reservation.objects.using(alias).filter(account_id=account.pk, released=False)
    return int(account.gross_mg - sum(kept.values_list("gross_mg", flat=True)))


def _accepted(alias: str, plan: str) -> Accepted:
    reserved: dict[str, int] = {}
    rows = models.Reservation.objects.using(alias).filter(step__plan_id=plan, released=False)
    for body, mg in rows.values_list("account__body", "gross_mg"):
        reserved[body] = reserved.get(body, 0) + mg
    digest = models.Kept.objects.using(alias).values_list("digest", flat=True).get(pk=plan)
    steps = models.Step.objects.using(alias).filter(plan_id=plan).order_by("n")
    heats = models.Heat.objects.using(alias).filter(plan_id=plan).order_by("id")
    return Accepted(
        plan, digest, reserved,
        tuple(steps.values_list("name", flat=True)), tuple(heats.values_list("id", flat=True)),
    )  # fmt: skip


def planned_step(alias: str, plan: str, name: str) -> Planned:
    """One step by its name in the plan; BadInput if the plan has none such."""
    row = models.Step.objects.using(alias).filter(plan_id=plan, name=name).first()
    if row is None:
        known = models.Step.objects.using(alias).filter(plan_id=plan).values_list("name", flat=True)
        raise BadInput("step", name, ", ".join(known) or "no plan", "Name a step of the plan.")
    return _planned(alias, row)


def _planned(alias: str, row: Any) -> Planned:
    data = json.loads(row.planned)
    parties = dict(models.Party.objects.using(alias).values_list("key", "code"))
    return Planned(
        row=row.pk, plan=row.plan_id, name=row.name, kind=row.kind, about=row.about,
        owner=parties[data["owner"]], consent=data["consent"],
        takes=tuple((Account(parties[o], "store", b), mg) for o, b, mg in data["takes"]),
        gives=tuple((Account(parties[o], p, b), own, mg) for o, p, b, own, mg in data["gives"]),
        done=row.entry_id is not None,
    )  # fmt: skip


def plan_steps(alias: str, plan: str) -> tuple[PlanStep, ...]:
    """The steps of a plan in order, with what each takes and gives by the plan."""
    rows = models.Step.objects.using(alias).filter(plan_id=plan).order_by("n")
    found = []
    for row in rows:
        step = _planned(alias, row)
        found.append(
            PlanStep(
                step.plan, step.name, step.kind, step.about,
                {account.body: mg for account, mg in step.takes},
                {own: mg for _, own, mg in step.gives}, step.done,
            )
        )  # fmt: skip
    return tuple(found)
