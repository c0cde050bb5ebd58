"""From a paper's value to its page: parcels to refiner and assay office, the origin statement."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from lemel.book.papers_away import AssayLine, AssayParcel, RefinerParcel, Settled
from lemel.book.papers_values import OriginNode, OriginPaper
from lemel.book.papers_words import PLUS_MINUS, Pen
from lemel.cards import Facts, Leaf, Ruled, Sheet, Ticks, Tree, Words
from lemel.values import METALS

__all__ = ["assay_sheet", "origin_sheet", "refiner_sheet"]


def refiner_sheet(paper: RefinerParcel, pen: Pen) -> Sheet:
    """What is in the parcel, owner by owner, what it would fetch, and later what it did."""
    money = paper.terms.currency
    advice = Words((pen.told(paper.advice),), "", "plain" if paper.send else "stop")
    facts = (
        (pen.say("refiner.to"), paper.terms.id),
        (pen.say("refiner.terms"), _terms(paper, pen)),
        (pen.say("refiner.prices", day=paper.prices_as_of), _prices(paper, pen)),
        (pen.say("refiner.state"), pen.say(f"state.{paper.state}")),
    )
    rows: list[tuple[str, ...]] = []
    for owner in paper.owners:
        rows.append((pen.name(owner),))
        rows += [
            (line.body, pen.say(f"place.{line.place}"), pen.mass(line.gross_mg),
             _fine_sd(line.fine_ng, line.sd_ng, pen), "")
            for line in paper.lines if line.owner == owner
        ]  # fmt: skip
    columns = (
        pen.col("heap"), pen.col("place", "short"), pen.col("gross", "figures"),
        pen.col("expected"), pen.col("weighed", "pencil", 26),
    )  # fmt: skip
    blocks = (
        Facts(facts),
        *(() if paper.settled else (advice,)),
        Ruled(columns, tuple(rows), pen.say("refiner.metal")),
        _reckoned(paper, pen),
        *(() if not paper.settled else (_found(paper, pen),)),
        *(() if not paper.objections else (
            Words(tuple(pen.told(one) for one in paper.objections), "", "mind"),)),
        Words((pen.say("refiner.spread"), pen.say("refiner.apart"))),
        *(() if paper.settled else (_before_it_goes(pen),)),
        pen.signed("packed", "witness"),
    )  # fmt: skip
    about = pen.say("refiner.about", money=money, day=pen.day(paper.made_at))
    return pen.sheet("refiner", about, blocks, paper.number)


def _before_it_goes(pen: Pen) -> Ticks:
    return Ticks(tuple(pen.say(f"refiner.{one}") for one in ("photo", "sealed", "assay")))


def _terms(paper: RefinerParcel, pen: Pen) -> str:
    terms = paper.terms
    payable = ", ".join(
        f"{one} {100 * float(terms.payable[one]):g} %" for one in METALS if one in terms.payable
    )
    return pen.say(
        "refiner.paid", payable=payable, day=terms.as_of,
        least=pen.money(terms.least_charge, terms.currency),
    )  # fmt: skip


def _prices(paper: RefinerParcel, pen: Pen) -> str:
    there = {one for line in paper.lines for one in line.fine_ng}
    return ", ".join(
        f"{one} {price} {paper.terms.currency}/g"
        for one, price in paper.prices.items()
        if one in there
    ) or pen.say("receipt.nothing")


def _fine_sd(fine: Mapping[str, int], sd: Mapping[str, int], pen: Pen) -> str:
    return ", ".join(
        f"{one} {pen.fine(fine[one])} {PLUS_MINUS} {pen.fine(sd.get(one, 0))}"
        for one in METALS
        if fine.get(one)
    )


def _reckoned(paper: RefinerParcel, pen: Pen) -> Ruled:
    rows = [
        (pen.name(one.owner), _fine_sd(one.fine_ng, one.sd_ng, pen),
         pen.money(one.payable), pen.money(one.charges), pen.percent(float(one.eaten)),
         pen.money(one.net))
        for one in paper.estimate
    ]  # fmt: skip
    payable = sum((one.payable for one in paper.estimate), Decimal(0))
    charges = sum((one.charges for one in paper.estimate), Decimal(0))
    rows.append((pen.say("total"), "", pen.money(payable), pen.money(charges),
                 pen.percent(min(1.0, float(charges / payable))) if payable else "",
                 pen.money(payable - charges)))  # fmt: skip
    columns = (
        pen.col("owner"), pen.col("expected"), pen.col("payable", "figures"),
        pen.col("charges", "figures"), pen.col("eaten", "figures"), pen.col("left", "figures"),
    )  # fmt: skip
    return Ruled(columns, tuple(rows), pen.say("refiner.reckoned"), 1)


def _found(paper: RefinerParcel, pen: Pen) -> Ruled:
    rows = [row for one in paper.settled for row in _found_rows(one, pen)]
    columns = (
        pen.col("owner"), pen.col("metal", "short"), pen.col("expected", "figures"),
        pen.col("assayed", "figures"), pen.col("sds", "figures"), pen.col("paid", "figures"),
        pen.col("back", "figures"),
    )  # fmt: skip
    return Ruled(columns, tuple(rows), pen.say("refiner.settled", day=pen.day(paper.settled_at)))


def _found_rows(one: Settled, pen: Pen) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for n, metal in enumerate(m for m in METALS if m in one.assayed_ng):
        first = n == 0
        rows.append((
            pen.name(one.owner) if first else "", metal, pen.fine(one.fine_ng.get(metal, 0)),
            pen.fine(one.assayed_ng[metal]), f"{one.z[metal]:+.1f}",
            pen.money(one.paid) if first else "", pen.mass(one.back_mg) if first else "",
        ))  # fmt: skip
    return rows


def assay_sheet(paper: AssayParcel, pen: Pen) -> Sheet:
    """The list that goes with the pieces, and later the office's answer."""
    back = paper.state == "back"
    facts = [(pen.say("assay.to"), paper.office), (pen.say("assay.count"), str(len(paper.lines)))]
    if back:
        facts.append((pen.say("assay.back"), pen.day(paper.back_at)))
        facts.append((pen.say("assay.fee"), pen.money(paper.fee, paper.currency)))
    rows = [
        (str(n), line.body, pen.say(f"assay.{line.what}"), line.claim or pen.say("assay.no_claim"),
         pen.mass(line.gross_mg), _result(line, pen))
        for n, line in enumerate(paper.lines, 1)
    ]  # fmt: skip
    last = pen.col("result") if back else pen.col("result", "pencil", 36)
    columns = (
        pen.col("row", "figures"), pen.col("piece"), pen.col("what", "short"),
        pen.col("claim", "short"), pen.col("gross", "figures"), last,
    )  # fmt: skip
    by_claim: dict[str, list[AssayLine]] = {}
    for line in paper.lines:
        by_claim.setdefault(line.claim or pen.say("assay.no_claim"), []).append(line)
    groups = tuple(
        pen.say("assay.group", claim=claim, count=len(own),
                mass=pen.mass_unit(sum(line.gross_mg for line in own)))
        for claim, own in by_claim.items()
    )  # fmt: skip
    advice = tuple(pen.told(one) for line in paper.lines for one in line.advice)
    blocks = (
        Facts(tuple(facts)),
        Ruled(columns, tuple(rows), pen.say("assay.things")),
        Ticks(groups, pen.say("assay.groups")),
        *(() if not advice else (Words(advice, pen.say("assay.do"), "mind"),)),
        Words((pen.say("assay.local"),)),
        pen.signed("packed", "received"),
    )
    return pen.sheet("assay", pen.day(paper.made_at), blocks, paper.number)


def _result(line: AssayLine, pen: Pen) -> str:
    if line.result == "out":
        return ""
    said = pen.say(f"result.{line.result}")
    return said if line.share is None else f"{said}, {pen.share(line.share)}"


def origin_sheet(paper: OriginPaper, pen: Pen) -> Sheet:
    """The claim by its definition first, then the shares, then the way back."""
    claim = paper.claim
    said = [
        pen.say(f"claim.{claim.definition}", share=pen.percent(claim.share)),
        pen.say(f"trust.{claim.trust}"),
        pen.say("origin.differ"),
    ]
    if paper.declared > 0:
        said.append(pen.say("origin.declared", share=pen.percent(paper.declared)))
    if paper.unknown > 0:
        said.append(pen.say("origin.unknown", share=pen.percent(paper.unknown)))
    facts = (
        (pen.say("origin.of"), paper.body),
        (pen.say("origin.owner"), pen.name(paper.owner)),
        (pen.say("origin.gross"), pen.mass_unit(paper.gross_mg)),
        (pen.say("origin.fine"), f"{pen.each_fine(paper.fine_ng)} {pen.unit}"),
    )
    shares = tuple(
        (pen.say(f"origin_class.{name}"), pen.percent(share))
        for name, share in sorted(paper.shares.items(), key=lambda one: -one[1])
    )
    others = tuple(
        (pen.say(f"definition.{one.definition}"), pen.percent(one.share)) for one in paper.claims
    )
    columns = (pen.col("origin"), pen.col("share", "figures"))
    definitions = (pen.col("definition"), pen.col("share", "figures"))
    blocks = (
        Facts(facts),
        Words(tuple(said), pen.say("origin.claim"), "mind"),
        Ruled(columns, shares, pen.say("origin.shares")),
        Ruled(definitions, others, pen.say("origin.others")),
        Words((pen.say("origin.frozen"), pen.say("origin.rework"))),
        Tree(tuple(_leaf(node, pen) for node in paper.nodes), pen.say("origin.way")),
        pen.signed("bench"),
    )
    return pen.sheet("origin", pen.day(paper.made_at), blocks, "", paper.digest)


def _leaf(node: OriginNode, pen: Pen) -> Leaf:
    kind = pen.say(f"body.{node.kind}")
    from_where = ", ".join(
        f"{pen.say(f'origin_class.{name}')} {pen.percent(share)}"
        for name, share in node.shares.items()
    )
    text = f"{kind} {node.body}" + (f": {from_where}" if from_where else "")
    return Leaf(node.depth, text, pen.mass_unit(node.gross_mg) if node.gross_mg else "")
