"""Answers to the questions that come before the pot, with what was seen; the newest one stands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date

from lemel.book import allowed, filing, flow, heats, house, models, records
from lemel.book.bench_values import GateAnswer
from lemel.book.values import Done
from lemel.errors import BadInput
from lemel.scrap import gate_codes, may_melt
from lemel.values import FLAG_ANSWERS, Lot, Objection, is_one_of

__all__ = ["MARKS", "answer", "answered", "before_the_pot", "history", "open_gates", "stopped"]

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
    record = {"lot": lot, "gate": gate, "answer": said, "seen": seen.strip()}
    return _answer(filing.file(alias, now, KIND, _name(lot, gate), record, by=by))


def _name(lot: str, gate: str) -> str:
    return f"{gate} {lot}"


def _names(alias: str, lots: Iterable[str]) -> list[str]:
    """What the answers about these lots are filed under, if there are any."""
    codes = gate_codes(tables=house.own_tables(alias))
    return [_name(lot, code) for lot in lots for code in codes]


def _answer(filed: filing.Filing) -> GateAnswer:
    said = filed.record
    return GateAnswer(
        said["lot"], said["gate"], said["answer"], said["seen"], filed.made_at, filed.by
    )


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


def open_gates(alias: str, lot: str, as_of: date) -> tuple[Objection, ...]:
    """What still stands between a lot and the pot, and what to do about it."""
    record = records.record_of(alias, lot)
    if not isinstance(record, Lot):
        raise BadInput("lot", lot, "a lot of the book", "Name a lot.")
    owner = house.house(alias)[2]
    return may_melt(
        answered(alias, [record]), allowed.standing_consents(alias),
        records.readings(alias, lot), as_of, house=owner or "house",
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
    bodies = [account.body for account, _ in step.takes]
    kinds = dict(models.Body.objects.using(alias).filter(pk__in=bodies).values_list("id", "kind"))
    known: Mapping[str, Lot] = {
        body: records.record_of(alias, body) for body in bodies if kinds.get(body) == "lot"
    }
    stops: list[Objection] = []
    for lot in answered(alias, known.values()):
        troubles = {f"scrap.gate.{code}.yes" for code, said in lot.flags.items() if said == "yes"}
        bare = replace(lot, flags={c: a for c, a in lot.flags.items() if a == "yes"}, barred=())
        found = may_melt([bare], (), (), date.min, tables=house.own_tables(alias))
        stops += [one for one in found if one.code in troubles and one.grade in ("stop", "ask")]
    return tuple(stops)


def stopped(alias: str, plan: str, heat: str) -> Done | None:
    """The answer to a charge that may not be; None where nothing stands against it."""
    stops = before_the_pot(alias, plan, heat)
    return Done(None, objections=stops) if stops else None
