"""A step taken back: its entries reversed, the plan's step open again, its promises restored.

Only what nothing stands on can be taken back; whatever does is named. Rows of bodies and of their
parents stay, and are dead from then on.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from lemel.book import again, heats, ledger, lineage, models, reserved
from lemel.book.acts import Act
from lemel.book.flow import Planned, planned_step
from lemel.book.values import Happened, Sealed
from lemel.errors import BadInput
from lemel.values import Saying

__all__ = ["uncharge", "undo"]

#: Kinds of entry that only reverse, or that the undoing itself writes.
_PASSIVE = ("reversal",)
#: Heaps into which many steps put metal: only what was taken out since stands in the way.
_SHARED = ("lemel_box", "hold_up")


def undo(act: Act, plan: str, step: str) -> Happened:
    """Take back a step of a plan, or the last thing that happened to a heat ("H1").

    Raises BadInput where the step was not done, its heat is closed, or later acts stand on it.
    """
    alias = act.alias
    heat = models.Heat.objects.using(alias).filter(pk=f"{plan}/{step}").first()
    if heat is not None:
        return _undo_heat(act, plan, step)
    known = planned_step(alias, plan, step)
    if known.kind in ("melt_and_pour", "top_up"):
        return _undo_heat(act, plan, known.about.removeprefix(f"{plan}/"))
    if not known.done:
        raise BadInput("step", step, "a step that was done", "There is nothing to take back.")
    for one in _heats_behind(alias, known.about):
        _not_closed(alias, one)
    done = _undo_work(act, known)
    for one in _heats_behind(alias, known.about):
        heats.note(act, one, "undone", {"step": step, "entries": _numbers(done)})
    return _told(done, step)


def _undo_heat(act: Act, plan: str, heat: str) -> Happened:
    """The last state that a heat came into."""
    name = f"{plan}/{heat}"
    state = heats.state_of(act.alias, name)
    _not_closed(act.alias, name)
    if state == "planned":
        raise BadInput("heat", f"{heat} is planned", "a heat that was begun", "Nothing to undo.")
    if state == "charged":
        return _told(list(uncharge(act, plan, heat, "undone").entries), f"{heat} charge")
    if state == "molten":
        later = _unreversed(act.alias, name, ("spill", "charge_more"))
        _stop_at(later and [one for one in later if _since_molten(act.alias, name, one)], heat)
        heats.back_to(act, name, "charged", "undone", {"step": f"{heat} molten"})
        return _told([], f"{heat} molten")
    if state == "proven":
        return _undo_assay(act, name, heat)
    step = planned_step(act.alias, plan, f"{heat} melt and pour")
    done = _undo_work(act, step)
    heats.back_to(act, name, "molten", "undone", {"step": step.name, "entries": _numbers(done)})
    return _told(done, step.name)


def _undo_assay(act: Act, name: str, heat: str) -> Happened:
    """The reading is withdrawn, its difference reversed."""
    alias = act.alias
    proven = [facts for _, what, facts in heats.events(alias, name) if what == "proven"]
    reading = str(proven[-1]["reading"])
    entries = _unreversed(alias, name, ("assay_difference",))
    _stop_at(_built_on(alias, entries), f"{heat} assay")
    done = [ledger.reverse(alias, act.now, one.number, by=act.by) for one in entries]
    models.Evidence.objects.using(alias).filter(pk=reading).update(withdrawn=True)
    facts = {"step": f"{heat} assay", "entries": _numbers(done), "reading": reading}
    heats.back_to(act, name, "poured", "undone", facts)
    return _told(done, f"{heat} assay")


def uncharge(act: Act, plan: str, heat: str, what: str) -> Happened:
    """Everything that went into the pot goes back, the top-ups to whom they came from."""
    alias, name = act.alias, f"{plan}/{heat}"
    _not_closed(alias, name)
    entries = _unreversed(alias, name, (*lineage.CHARGES, "top_up", "spill"))
    _stop_at(_built_on(alias, entries), f"{heat} charge")
    done = [ledger.reverse(alias, act.now, one.number, by=act.by) for one in reversed(entries)]
    for one in entries:
        spilled = json.loads(one.memo).get("into")
        if one.kind == "spill" and spilled:
            again.lay_dead(act, spilled)
    again.parents_now(act, name, {})
    for step in (f"{heat} top-up", f"{heat} melt and pour"):
        row = models.Step.objects.using(alias).filter(plan_id=plan, name=step).first()
        if row is not None:
            models.Step.objects.using(alias).filter(pk=row.pk).update(entry_id=None)
            reserved.restore(alias, row.pk)
    heats.back_to(act, name, "planned", what, {"entries": _numbers(done)})
    return Happened(tuple(done), (name,))


def _undo_work(act: Act, step: Planned) -> list[Sealed]:
    alias = act.alias
    entry = models.Step.objects.using(alias).select_related("entry").get(pk=step.row).entry
    _stop_at(_built_on(alias, [entry]), step.name)
    sealed = ledger.reverse(alias, act.now, entry.number, by=act.by)
    models.Step.objects.using(alias).filter(pk=step.row).update(entry_id=None)
    if step.kind != "melt_and_pour":
        reserved.restore(alias, step.row)
    for to, _, _ in step.gives:
        made = to.place in ("store", "piece")
        if made and models.Body.objects.using(alias).filter(pk=to.body).exists():
            again.lay_dead(act, to.body)
    return [sealed]


def _built_on(alias: str, entries: Sequence[Any]) -> list[Any]:
    """Later entries that stand and that moved what these ones made."""
    own = {one.number for one in entries}
    found: dict[int, Any] = {}
    for entry in entries:
        made = models.Posting.objects.using(alias).filter(entry=entry, gross_mg__gt=0)
        for account, place in made.values_list("account_id", "account__place"):
            if place not in ("store", "piece", "process", *_SHARED):
                continue
            later = models.Posting.objects.using(alias).filter(
                account_id=account, entry_id__gt=entry.number, entry__entry__isnull=True
            )
            if place in _SHARED:
                later = later.filter(gross_mg__lt=0)
            later = later.exclude(entry__kind__in=_PASSIVE).exclude(entry_id__in=own)
            found |= {row.entry_id: row.entry for row in later.select_related("entry")}
    return [found[number] for number in sorted(found)]


def _stop_at(later: Sequence[Any], step: str) -> None:
    if later:
        names = ", ".join(_name_of(entry) for entry in later)
        raise BadInput(
            "step", step, "a step that nothing stands on",
            f"Undo first what was done with it, the last first: {names}.",
        )  # fmt: skip


def _name_of(entry: Any) -> str:
    step = json.loads(entry.memo).get("step")
    return str(step) if step else f"{entry.kind.replace('_', ' ')} of {entry.about}"


def _unreversed(alias: str, about: str, kinds: Sequence[str]) -> list[Any]:
    rows = models.Entry.objects.using(alias).filter(about=about, kind__in=kinds, entry__isnull=True)
    return list(rows.order_by("number"))


def _since_molten(alias: str, name: str, entry: Any) -> bool:
    """Whether this came after the heat was last told to be molten."""
    molten = False
    for _, what, facts in heats.events(alias, name):
        if what == "molten":
            molten = True
        elif what == "undone":
            molten = False
        elif molten and facts.get("entry") == entry.number:
            return True
    return False


def _heats_behind(alias: str, body: str) -> list[str]:
    """The heat that a body came out of, if any: the nearest."""
    behind = [body, *lineage.ancestors(alias, body)]
    heat_ids = models.Heat.objects.using(alias).filter(pk__in=behind)
    known = set(heat_ids.values_list("id", flat=True))
    return [one for one in behind if one in known][:1]


def _not_closed(alias: str, heat: str) -> None:
    if heats.state_of(alias, heat) == "closed":
        raise BadInput(
            "heat", f"{heat} is closed", "a heat that is still open",
            "Write what really happened as an act of its own.",
        )  # fmt: skip


def _numbers(done: Sequence[Sealed]) -> list[int]:
    return [one.number for one in done]


def _told(done: Sequence[Sealed], step: str) -> Happened:
    return Happened(tuple(done), next=(Saying("book.next.undone", {"step": step}),))
