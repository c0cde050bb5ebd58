"""Answers to the questions that come before the pot, with what was seen; the newest one stands."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from lemel.book import allowed, filing, flow, heats, house, models, records
from lemel.book.acts import Act
from lemel.book.bench_values import GateAnswer
from lemel.book.faults import heat_behind
from lemel.book.values import Done
from lemel.errors import BadInput
from lemel.scrap import gate_codes, may_melt
from lemel.values import FLAG_ANSWERS, Lot, Objection, is_one_of

__all__ = [
    "MARKS", "against", "answer", "answered", "before_the_pot", "history", "open_gates", "stopped",
    "troubles",
]  # fmt: skip

KIND = "gate"
#: The gate that a photograph of the marks opens.
MARKS = "marks_unrecorded"
#: For so many lots their answers are looked up one by one; for more all answers are read.
_FEW = 100
#: What a word at the bench must not answer: another record does, and what to do instead.
_BY_RECORD = {
    "consent_destroy": "Enter the owner's consent.",
    "unknown_alloy": "Enter what is stated or read of it.",
    "remelt_count": "The book counts the melts itself.",
}


def answer(alias: str, now: str, lot: str, gate: str, said: str, seen: str, by: str) -> GateAnswer:
    """One answer; "yes" means that the trouble is there. BadInput for a gate that scrap has not."""
    about = records.record_of(alias, lot)
    if not isinstance(about, Lot):
        raise BadInput("lot", lot, "a lot of the book", "Name a lot.")
    is_one_of("gate", gate, gate_codes(tables=house.own_tables(alias)))
    is_one_of("answer", said, FLAG_ANSWERS)
    if said != "unknown" and not seen.strip():
        raise BadInput("seen", seen, "what was seen or weighed, in words", "Say how it is known.")
    by_record = gate in _BY_RECORD or (gate == "hold_period" and about.received_on is not None)
    if said != "unknown" and by_record:
        raise BadInput(
            "gate", gate, "a question that no record answers",
            _BY_RECORD.get(gate, "The day on which the lot was received answers it."),
        )  # fmt: skip
    record = {"lot": lot, "gate": gate, "answer": said}
    apart = {"seen": seen.strip()}
    filed = filing.file(
        alias, now, KIND, _name(lot, gate), record, private=apart, owner=about.owner, by=by
    )
    return _answer(filed)


def _name(lot: str, gate: str) -> str:
    return f"{gate} {lot}"


def _names(alias: str, lots: Iterable[str]) -> list[str]:
    """What the answers about these lots are filed under, if there are any."""
    codes = gate_codes(tables=house.own_tables(alias))
    return [_name(lot, code) for lot in lots for code in codes]


def _answer(filed: filing.Filing) -> GateAnswer:
    said = filed.record
    seen = str(filed.private.get("seen", said.get("seen", "")))
    return GateAnswer(said["lot"], said["gate"], said["answer"], seen, filed.made_at, filed.by)


def history(alias: str, lot: str) -> tuple[GateAnswer, ...]:
    """Every answer about a lot, the first one first."""
    found = [
        _answer(one)
        for name in filing.some_of(alias, KIND, _names(alias, [lot]))
        for one in filing.history(alias, KIND, name)
    ]
    return tuple(sorted(found, key=lambda one: one.at))


def answered(alias: str, lots: Iterable[Lot]) -> tuple[Lot, ...]:
    """Lots with the newest answers over what was told at the weigh-in."""
    lots = tuple(lots)
    if len(lots) > _FEW:
        filed = filing.all_of(alias, KIND)
    else:
        filed = filing.some_of(alias, KIND, _names(alias, [lot.id for lot in lots]))
    said: dict[str, dict[str, str]] = {}
    for one in filed.values():
        record = one.record
        said.setdefault(record["lot"], {})[record["gate"]] = record["answer"]
    return tuple(
        replace(lot, flags={**lot.flags, **said[lot.id]}) if lot.id in said else lot for lot in lots
    )


def open_gates(alias: str, lot: str, as_of: date, shop: str = "house") -> tuple[Objection, ...]:
    """What still stands between a lot and the pot, and what to do about it.

    `shop` is the owner who needs no consent of anybody, where the book does not say who it is.
    """
    record = records.record_of(alias, lot)
    if not isinstance(record, Lot):
        raise BadInput("lot", lot, "a lot of the book", "Name a lot.")
    owner = house.house(alias)[2]
    return may_melt(
        answered(alias, [record]), allowed.standing_consents(alias),
        records.readings(alias, lot), as_of, house=owner or shop,
        rules=house.rules(alias), tables=house.own_tables(alias),
    )  # fmt: skip


def before_the_pot(alias: str, plan: str, heat: str) -> tuple[Objection, ...]:
    """What has been said of a heat's lots that keeps them out of the pot, whatever the plan knew.

    A mark that is to be photographed is one of these: the photograph answers it, or an answer
    to the gate.
    """
    if heats.state_of(alias, f"{plan}/{heat}") != "planned":
        return ()
    step = flow.planned_step(alias, plan, f"{heat} melt and pour")
    return troubles(alias, [account.body for account, _ in step.takes])


def troubles(alias: str, bodies: Iterable[str]) -> tuple[Objection, ...]:
    """The troubles that are known to be in these lots, whatever a plan knew of them."""
    stops: list[Objection] = []
    for lot in answered(alias, _lots_among(alias, bodies)):
        known = {f"scrap.gate.{code}.yes" for code, said in lot.flags.items() if said == "yes"}
        bare = replace(lot, flags={c: a for c, a in lot.flags.items() if a == "yes"}, barred=())
        found = may_melt([bare], (), (), date.min, tables=house.own_tables(alias))
        stops += [one for one in found if one.code in known and one.grade in ("stop", "ask")]
    return tuple(stops)


def against(act: Act, step: flow.Planned, bodies: Iterable[str]) -> tuple[Objection, ...]:
    """What keeps these bodies out of the pot of this step.

    Of the plan's own lots the plan had asked everything; what was found since counts. A lot from
    outside the plan was asked nothing yet, so nothing of it may be open.
    """
    alias, bodies = act.alias, list(bodies)
    planned = {account.body for account, _ in step.takes}
    own = troubles(alias, [body for body in bodies if body in planned])
    today = date.fromisoformat(act.now[:10])
    open_ = [
        one
        for lot in _lots_among(alias, [body for body in bodies if body not in planned])
        for one in open_gates(alias, lot.id, today, step.owner)
        if one.grade in ("stop", "ask") and not _held_before(alias, one)
    ]
    # An answer to the gate opens it; a word at the pot does not.
    return tuple(replace(one, grade="stop") for one in (*own, *open_))


def _held_before(alias: str, one: Objection) -> bool:
    """What came out of a pot of this house was bought, and held, before it went in."""
    return one.code.startswith("scrap.gate.hold_period.") and bool(heat_behind(alias, one.about))


def _lots_among(alias: str, bodies: Iterable[str]) -> list[Lot]:
    names = list(bodies)
    kinds = dict(models.Body.objects.using(alias).filter(pk__in=names).values_list("id", "kind"))
    return [records.record_of(alias, body) for body in names if kinds.get(body) == "lot"]


def stopped(alias: str, plan: str, heat: str) -> Done | None:
    """The answer to a charge that may not be; None where nothing stands against it."""
    stops = before_the_pot(alias, plan, heat)
    return Done(None, objections=stops) if stops else None
