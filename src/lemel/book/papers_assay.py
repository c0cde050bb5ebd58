"""Parcels to an assay office: pieces and samples out, results back as evidence."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from lemel.book import ledger, lineage, models, records
from lemel.book.holdings import body_of, share
from lemel.book.papers_away import AssayLine, AssayParcel
from lemel.book.papers_keep import keep, kept, kept_all, next_number
from lemel.book.values import Account, Line
from lemel.errors import BadInput
from lemel.metal import standard, standards
from lemel.values import (
    Holding,
    Quantity,
    Reading,
    Saying,
    is_fraction,
    is_one_of,
    is_positive,
    not_negative,
)

__all__ = ["KIND", "Found", "ToAssay", "all_parcels", "read", "returned", "send"]

KIND = "assay-parcel"
RESULTS = ("passed", "failed", "broken")
WHY = ("", "fineness", "solder", "coating", "other_metal")
_FROM = ("piece", "store")
#: Enters an assay on a poured heat: plan, heat, reading.
Prove = Callable[[str, str, Reading], object]


@dataclass(frozen=True, slots=True)
class ToAssay:
    """One thing to send. `mass_g` None: the whole of it; a mass: a sample scraped or cut off, or
    dipped from the melt (`sample` dip, drill or surface). `claim` is a standard such as
    "UK Ag 925", or "" for a plain assay."""

    body: str
    claim: str = ""
    mass_g: float | None = None
    sample: str = ""

    def __post_init__(self) -> None:
        if self.mass_g is not None:
            is_positive("mass_g", self.mass_g)
        if self.claim:
            standard(self.claim)


@dataclass(frozen=True, slots=True)
class Found:
    """What the office found of one thing. `share` is the assayed share of its main metal (None:
    none was told), `back_g` what came back (None: all of a piece, nothing of a sample)."""

    result: str
    share: float | None = None
    method: str = "xrf-bench"
    back_g: float | None = None
    why: str = ""

    def __post_init__(self) -> None:
        is_one_of("result", self.result, RESULTS)
        is_one_of("why", self.why, WHY)
        if self.share is not None:
            is_fraction("share", self.share)
        if self.back_g is not None:
            not_negative("back_g", self.back_g)


def send(alias: str, now: str, office: str, things: Sequence[ToAssay], by: str) -> AssayParcel:
    """Pieces and samples leave the house, each under its own name in its owner's parcel account."""
    if not things:
        raise BadInput("things", 0, "one piece or sample", "Name what is sent.")
    number = next_number(alias, KIND, "A")
    lines = tuple(_out(alias, now, number, n, thing, by) for n, thing in enumerate(things, 1))
    parcel = AssayParcel(number, now, office, lines, by)
    keep(alias, now, KIND, number, parcel, by=by)
    return parcel


def _out(alias: str, now: str, number: str, n: int, thing: ToAssay, by: str) -> AssayLine:
    source, metal = _where(alias, thing.body)
    mg = metal.gross_mg if thing.mass_g is None else round(thing.mass_g * 1000)
    if not 0 < mg <= metal.gross_mg:
        raise BadInput(
            f"mass_g.{thing.body}", mg / 1000, f"at most {metal.gross_mg / 1000:g} g", "Weigh it."
        )
    [part], _ = share(metal, [mg])
    away = Account(source.owner, "parcel", f"{number}/{n}")
    ledger.post(
        alias, now, "to_assay", [Line(source, -part), Line(away, part)],
        key=f"send {number}/{n}", about=thing.body, by=by, memo={"sample": thing.sample},
    )  # fmt: skip
    what = "piece" if thing.mass_g is None else "sample"
    if thing.claim and standard(thing.claim).main != body_of(metal).main():
        raise BadInput(
            f"claim.{thing.body}", thing.claim, f"a standard of {body_of(metal).main()}",
            "Claim a standard of its own metal.",
        )  # fmt: skip
    return AssayLine(
        source.owner, thing.body, what, source.place, thing.claim, mg,
        speaks_for=_speaks_for(alias, thing),
    )  # fmt: skip


def _where(alias: str, body: str) -> tuple[Account, Holding]:
    held = ledger.balances(alias, body=body)
    for place in _FROM:
        for account, metal in held.items():
            if account.place == place and metal.gross_mg:
                return account, metal
    raise BadInput("body", body, "a piece, bar or lot that lies in the house", "Look it up.")


def _speaks_for(alias: str, thing: ToAssay) -> str:
    """A sample of a bar speaks for its heat; a whole piece, which may hold solder, for itself."""
    if thing.mass_g is None:
        return thing.body
    for one in lineage.ancestors(alias, thing.body):
        if models.Body.objects.using(alias).filter(pk=one, kind="heat").exists():
            return one
    return thing.body


def read(alias: str, number: str) -> AssayParcel:
    """A parcel as it stands."""
    return kept(alias, KIND, number, AssayParcel)[0]


def all_parcels(alias: str) -> tuple[AssayParcel, ...]:
    """Every assay-office parcel, first one first."""
    return kept_all(alias, KIND, AssayParcel)


def returned(
    alias: str,
    now: str,
    number: str,
    found: Mapping[int, Found],
    fee: Decimal,
    currency: str,
    by: str,
    prove: Prove,
) -> AssayParcel:
    """The office's answer, line by line: metal back, what was used up to the loss, the assay as
    evidence, and what to do about what did not pass."""
    parcel = read(alias, number)
    if parcel.state != "out":
        raise BadInput("parcel", f"{number} is {parcel.state}", "out", "Its answer is entered.")
    wanted = set(range(1, len(parcel.lines) + 1))
    if set(found) != wanted:
        raise BadInput("found", sorted(found), f"1 to {len(wanted)}", "Answer every line.")
    back = [
        _bring_back(alias, now, number, n, line, found[n], by)
        for n, line in enumerate(parcel.lines, 1)
    ]
    lines = tuple(
        _feed(alias, now, number, n, line, found[n], by, prove) for n, line in enumerate(back, 1)
    )
    over = replace(parcel, lines=lines, state="back", back_at=now, fee=fee, currency=currency)
    keep(alias, now, KIND, number, over, by=by)
    return over


def _bring_back(
    alias: str, now: str, number: str, n: int, line: AssayLine, found: Found, by: str
) -> AssayLine:
    away = Account(line.owner, "parcel", f"{number}/{n}")
    metal = ledger.held(alias, away)
    all_of_it = metal.gross_mg if line.what == "piece" else 0
    mg = all_of_it if found.back_g is None else round(found.back_g * 1000)
    if mg > metal.gross_mg:
        raise BadInput(
            f"back_g of line {n}", mg / 1000, f"at most {metal.gross_mg / 1000:g} g",
            "More came back than was sent: weigh again, and answer for it at the stock-take.",
        )  # fmt: skip
    [part], used = share(metal, [mg])
    # A broken piece is metal of the store from now on.
    place = "scrap" if found.result == "broken" else line.place
    ledger.post(
        alias, now, "from_assay",
        [
            Line(away, -metal),
            Line(Account(line.owner, place, line.body), part),
            Line(Account(line.owner, "loss", "assay"), used),
        ],
        key=f"back {number}/{n}", about=line.body, by=by,
        memo={"result": found.result, "used_mg": used.gross_mg},
    )  # fmt: skip
    return replace(line, result=found.result, back_mg=mg)


def _feed(
    alias: str, now: str, number: str, n: int, line: AssayLine, found: Found, by: str, prove: Prove
) -> AssayLine:
    """The assay as evidence: on the heat, and so on all that came of it, or on the body itself."""
    main = _main(alias, line)
    advice = _advice(line, found, main)
    if found.share is None:
        return replace(line, advice=advice)
    reading = Reading(
        f"{number}/{n} assay", line.speaks_for, found.method, {main: found.share},
        source=f"office {number}", taken_on=date.fromisoformat(now[:10]), by=by,
        sample="dip" if line.what == "sample" else "surface",
    )  # fmt: skip
    heat = models.Heat.objects.using(alias).filter(pk=line.speaks_for, state="poured").first()
    if heat is not None:
        prove(heat.plan_id, line.speaks_for.removeprefix(f"{heat.plan_id}/"), reading)
    else:
        records.enter_readings(alias, [reading])
    return replace(line, reading=reading.id, share=found.share, advice=advice)


def _main(alias: str, line: AssayLine) -> str:
    """The metal that is asked about: that of the claim, or else the body's own."""
    if line.claim:
        return standard(line.claim).main
    held = ledger.balances(alias, owner=line.owner, body=line.body)
    for metal in held.values():
        if metal.gross_mg > 0:
            return body_of(metal).main()
    sent = models.Entry.objects.using(alias).filter(kind="to_assay", about=line.body)
    posting = models.Posting.objects.using(alias).filter(entry__in=sent, gross_mg__gt=0).first()
    parts = models.Part.objects.using(alias).filter(posting=posting).order_by("-ng")
    return str(parts.values_list("element", flat=True)[0])


def _advice(line: AssayLine, found: Found, main: str) -> tuple[Saying, ...]:
    """What to do about what did not pass, the gentlest way first."""
    if found.result == "passed":
        return ()
    said = {"body": line.body}
    if found.result == "broken":
        return (Saying("book.assay.broken", said),)
    advice = [Saying(f"book.assay.failed.{found.why or 'fineness'}", said)]
    if found.share is not None and line.claim:
        claim = standard(line.claim)
        lower = [
            one
            for one in standards(claim.jurisdiction)
            if one.main == main and one.least <= found.share + 1e-9 and one.least < claim.least
        ]
        if lower:
            best = max(lower, key=lambda one: one.least)
            assayed = Quantity(found.share * 1000, "millesimal")
            advice.append(
                Saying("book.assay.lower", {**said, "standard": best.id, "assayed": assayed})
            )
    advice.append(Saying("book.assay.remelt", said))
    return tuple(advice)
