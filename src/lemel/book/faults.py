"""A bar's fault by kind: what is cropped goes back as a lot, and a crack bars all its relatives."""

from __future__ import annotations

from lemel.book import filing, heats, ledger, lineage, models, records, suspicion
from lemel.book.acts import Act
from lemel.book.holdings import share
from lemel.book.losing import off
from lemel.book.newlots import free_name, heap_of, make_lot
from lemel.book.reserved import must_be_free
from lemel.book.rules import allowance_mg, identity_limit_mg
from lemel.book.values import Account, Happened, Line, Sealed
from lemel.errors import BadInput
from lemel.values import (
    FAULT_KINDS,
    Holding,
    Lot,
    Saying,
    SayingValue,
    is_one_of,
    is_positive,
    not_negative,
)

__all__ = ["fault", "faults_of", "heat_behind"]

_KIND = "fault"


def fault(
    act: Act, body: str, kind: str, *, place_mm: float | None, depth_mm: float | None,
    cropped_g: float | None, left_g: float | None, note: str, answered: bool,
) -> Happened:  # fmt: skip
    """A fault on record, what was cropped as an offcut, and the bars that it puts in doubt."""
    is_one_of("kind", kind, FAULT_KINDS)
    for field, value in (("place_mm", place_mm), ("depth_mm", depth_mm)):
        if value is not None:
            not_negative(field, value)
    alias, account = act.alias, heap_of(act.alias, body)
    cropped = _crop(act, account, cropped_g, left_g, answered)
    if cropped.stopped:
        return cropped
    record = {"kind": kind, "place_mm": place_mm, "depth_mm": depth_mm,
              "cropped": list(cropped.bodies), **act.facts()}  # fmt: skip
    name = f"{body} fault {len(faults_of(alias, body)) + 1}"
    filing.file(alias, act.now, _KIND, name, {"on": body, **record},
                private={"note": note}, owner=account.owner, by=act.by)  # fmt: skip
    suspect = suspicion.mark(act, body, kind) if kind == "crack" else ()
    heat = heat_behind(alias, body)
    if heat:
        heats.note(act, heat, "fault", {"on": body, "kind": kind, "cropped": list(cropped.bodies)})
    said: dict[str, SayingValue] = {"body": body}
    return Happened(
        cropped.entries, cropped.bodies, suspect, cropped.loss_mg,
        objections=cropped.objections, next=(Saying(f"book.fault.{kind}", said),),
    )  # fmt: skip


def _crop(
    act: Act, account: Account, cropped_g: float | None, left_g: float | None, answered: bool
) -> Happened:
    """Cut the faulty part off; what neither part weighs is the saw's loss."""
    if cropped_g is None:
        return Happened()
    is_positive("cropped_g", cropped_g)
    alias, whole = act.alias, ledger.held(act.alias, account)
    cropped_mg = round(cropped_g * 1000)
    left_mg = whole.gross_mg - cropped_mg if left_g is None else round(left_g * 1000)
    if left_mg < 0 or cropped_mg > whole.gross_mg:
        raise BadInput(
            "cropped_g", cropped_g, f"at most {whole.gross_mg / 1000:g} g", "Weigh it again."
        )
    must_be_free(alias, account, whole.gross_mg - left_mg, "Drop that plan, and plan again.")
    loss_mg = whole.gross_mg - cropped_mg - left_mg
    kerf = allowance_mg("cut", whole.gross_mg, 2)
    limit = identity_limit_mg(whole.gross_mg)
    beyond = loss_mg - kerf.mean_mg > max(limit, 3 * kerf.sd_mg)
    if (beyond or loss_mg < -limit) and not answered:
        objection = off("cropping", account.body, loss_mg, kerf.mean_mg)
        return Happened(loss_mg=loss_mg, objections=(objection,))
    return _write_crop(act, account, whole, cropped_mg, left_mg)


def _write_crop(
    act: Act, account: Account, whole: Holding, cropped_mg: int, left_mg: int
) -> Happened:
    alias = act.alias
    [off_cut, _], loss = share(whole, [cropped_mg, left_mg])
    body = free_name(alias, "", f"{account.body}-crop")
    to = Account(account.owner, "store", body)
    lines = [Line(account, -off_cut - loss), Line(to, off_cut)]
    lines.append(Line(Account(account.owner, "loss", "part"), loss))
    usual = allowance_mg("cut", whole.gross_mg, 2).mean_mg
    sealed = ledger.post(
        alias, act.now, "part", lines, about=account.body, by=act.by,
        memo=act.facts(
            plan="", step=f"crop {account.body}", handled_mg=cropped_mg + loss.gross_mg,
            loss_mg=loss.gross_mg, foreseen_mg=round(usual), weighings=2, weighed=[body],
            unweighed=[],
        ),
    )  # fmt: skip
    record = records.record_of(alias, account.body)
    like = record if isinstance(record, Lot) else None
    make_lot(act, to, off_cut, {account.body: off_cut}, form="offcut", like=like)
    entries: tuple[Sealed, ...] = (sealed,)
    return Happened(entries, (body,), loss_mg=loss.gross_mg)


def faults_of(alias: str, body: str) -> tuple[dict[str, object], ...]:
    """The faults of a body, the first one first."""
    return tuple(
        {"note": "", **filed.record, **filed.private}
        for filed in sorted(filing.all_of(alias, _KIND).values(), key=lambda f: (f.made_at, f.name))
        if filed.record["on"] == body
    )


def heat_behind(alias: str, body: str) -> str:
    """The heat that a body came out of, or ""."""
    behind = [body, *lineage.ancestors(alias, body)]
    known = set(models.Heat.objects.using(alias).filter(pk__in=behind).values_list("id", flat=True))
    return next((one for one in behind if one in known), "")
