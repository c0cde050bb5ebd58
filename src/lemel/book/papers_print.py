"""From a paper's value to its page: receipt, statement, stock-take, value list, quotation."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from lemel.book.papers_away import AssayParcel, RefinerParcel
from lemel.book.papers_print_away import assay_sheet, origin_sheet, refiner_sheet
from lemel.book.papers_values import (
    Agreed,
    OriginPaper,
    Quote,
    QuoteLine,
    Receipt,
    ReceiptLine,
    StockTake,
    ValueList,
)
from lemel.book.papers_words import PLUS_MINUS, Pen
from lemel.book.values import Statement
from lemel.cards import Facts, Ruled, Sheet, Ticks, Words
from lemel.values import METALS

__all__ = ["Printed", "sheet"]

#: Whatever can be printed.
Printed = (
    Receipt | Statement | StockTake | ValueList | RefinerParcel | AssayParcel | OriginPaper | Quote
)


def sheet(paper: Printed, pen: Pen) -> Sheet:
    """The paper as it is set."""
    if isinstance(paper, Receipt):
        return _receipt(paper, pen)
    if isinstance(paper, Statement):
        return _statement(paper, pen)
    if isinstance(paper, StockTake):
        return _signed(paper, pen) if paper.state == "signed" else _to_count(paper, pen)
    if isinstance(paper, ValueList):
        return _values(paper, pen)
    if isinstance(paper, Quote):
        return _quote(paper, pen)
    if isinstance(paper, RefinerParcel):
        return refiner_sheet(paper, pen)
    if isinstance(paper, AssayParcel):
        return assay_sheet(paper, pen)
    return origin_sheet(paper, pen)


def _receipt(paper: Receipt, pen: Pen) -> Sheet:
    loss = (
        pen.say("receipt.no_loss")
        if paper.loss_percent is None
        else pen.say("receipt.loss", percent=f"{paper.loss_percent:g}")
    )
    facts = [
        (pen.say("receipt.from"), pen.name(paper.owner)),
        (pen.say("receipt.gets"), paper.promised or pen.say(f"gets.{paper.gets}")),
        (pen.say("receipt.agreed_loss"), loss),
        (pen.say("receipt.balance"), paper.balance or pen.say("receipt.not_told")),
        (pen.say("receipt.by"), pen.name(paper.by) or pen.say("receipt.not_told")),
    ]
    rows = [
        (line.lot, line.described or pen.say(f"form.{line.form}"), _told(line, pen),
         _tested(line, pen), _stones(line, pen), pen.mass(line.gross_mg))
        for line in paper.lines
    ]  # fmt: skip
    rows.append((pen.say("total"), "", "", "", "", pen.mass(paper.gross_mg)))
    columns = (
        pen.col("lot", "short"), pen.col("described"), pen.col("told", "short"), pen.col("tested"),
        pen.col("stones", "short"), pen.col("gross", "figures"),
    )  # fmt: skip
    warnings = tuple(dict.fromkeys(pen.told(one) for line in paper.lines for one in line.warnings))
    consents = tuple(_agreed(one, pen) for one in paper.consents)
    blocks = (
        Facts(tuple(facts)),
        Ruled(columns, tuple(rows), pen.say("receipt.metal"), 1),
        Words(
            (
                pen.say("receipt.other", other=_other_unit(paper.gross_mg, pen)),
                pen.say("receipt.sure"),
            )
        ),
        Words((pen.say("receipt.for_good"), *warnings), pen.say("receipt.mind"), "mind"),
        Ticks(
            (*consents, pen.say("receipt.blank_melt"), pen.say("receipt.blank_mix")),
            pen.say("receipt.consents"),
        ),
        Words((pen.say("receipt.not_proof"),)),
        pen.signed("weighed_customer", "weighed_bench"),
    )
    return pen.sheet("receipt", pen.day(paper.made_at), blocks, paper.number, paper.digest)


def _agreed(one: Agreed, pen: Pen) -> str:
    """What an owner allowed, with its limit and where it is written."""
    kind, _, other = one.allows.partition(":")
    said = pen.say(f"consent.{kind}", owner=pen.name(other))
    limit = "" if one.limit_g is None else pen.say("consent.limit", limit=_limit(one.limit_g, pen))
    return pen.say("receipt.consent", said=f"{said}{limit}", consent=one.id)


def _limit(grams: float, pen: Pen) -> str:
    return pen.mass_unit(grams * 1000)


def _told(line: ReceiptLine, pen: Pen) -> str:
    return (
        pen.say("receipt.nothing") if line.told is None else f"{line.main} {pen.share(line.told)}"
    )


def _tested(line: ReceiptLine, pen: Pen) -> str:
    """Each test by its name and what it may be off."""
    if not line.tested:
        return pen.say("receipt.not_tested")
    return "; ".join(
        f"{pen.say(f'method.{one.method}')} {line.main} {pen.about(one.share, one.sd)}"
        for one in line.tested
    )


def _stones(line: ReceiptLine, pen: Pen) -> str:
    if line.stones is None:
        return ""
    return pen.say("receipt.stones", counted=line.stones.counted, returned=line.stones.returned)


def _other_unit(mg: int, pen: Pen) -> str:
    other = Pen("ozt" if pen.unit == "g" else "g", pen.names)
    return other.mass_unit(mg)


def _statement(paper: Statement, pen: Pen) -> Sheet:
    metals = [
        one
        for one in METALS
        if paper.opening_ng.get(one) or paper.closing_ng.get(one)
        or any(line.fine_ng.get(one) for line in paper.lines)
    ]  # fmt: skip
    columns = (
        pen.col("day", "short"), pen.col("what"), pen.col("gross", "figures"),
        *(pen.col(f"fine_{one.lower()}", "figures") for one in metals),
    )  # fmt: skip

    def fine(parts: Mapping[str, int]) -> tuple[str, ...]:
        return tuple(pen.fine(parts.get(one, 0)) for one in metals)

    rows = [("", pen.say("statement.before"), pen.mass(paper.opening_mg), *fine(paper.opening_ng))]
    rows += [
        (
            line.made_at[:10],
            " ".join(part for part in (_kind(line.kind, pen), line.about) if part),
            pen.mass(line.gross_mg),
            *fine(line.fine_ng),
        )
        for line in paper.lines
    ]
    rows.append(("", pen.say("statement.now"), pen.mass(paper.closing_mg), *fine(paper.closing_ng)))
    period = pen.say(
        "statement.period",
        since=paper.since or pen.say("statement.beginning"),
        until=pen.say("statement.today") if paper.until == "9999" else paper.until,
    )
    blocks = (
        Facts(((pen.say("statement.of"), pen.name(paper.owner)),)),
        Ruled(columns, tuple(rows), pen.say("statement.metal"), 1),
        Words((pen.say("statement.fine"), pen.say("statement.object"))),
        pen.signed("owner", "bench"),
    )
    return pen.sheet("statement", period, blocks, "", paper.head)


def _kind(kind: str, pen: Pen) -> str:
    known = (
        "weigh_in", "charge", "top_up", "melt_and_pour", "take", "part", "mill", "cut",
        "assay_difference", "stock_take", "reversal", "to_refiner", "refined", "to_assay",
        "from_assay",
    )  # fmt: skip
    return pen.say(f"kind.{kind}") if kind in known else kind.replace("_", " ")


def _by_place(paper: StockTake, pen: Pen) -> list[tuple[str, list[int]]]:
    """Rows under where they lie and whose they are."""
    heaps: dict[tuple[str, str], list[int]] = {}
    for index, row in enumerate(paper.rows):
        heaps.setdefault((row.place, row.owner), []).append(index)
    return [
        (f"{pen.say(f'place.{place}')}: {pen.name(owner)}", found)
        for (place, owner), found in heaps.items()
    ]


def _to_count(paper: StockTake, pen: Pen) -> Sheet:
    """The list: no book weight stands beside the blank, so that nobody writes it off."""
    rows: list[tuple[str, ...]] = []
    for place, indexes in _by_place(paper, pen):
        rows.append((place,))
        for index in indexes:
            row = paper.rows[index]
            rows.append((str(row.n), row.body, "", ""))
    columns = (
        pen.col("row", "figures"), pen.col("heap"),
        pen.col("weighed", "pencil", 34), pen.col("note", "pencil", 60),
    )  # fmt: skip
    blocks = (
        Words((pen.say("count.how"), pen.say("count.blank"))),
        Ruled(columns, tuple(rows)),
        Ticks((pen.say("count.balance"), pen.say("count.dry"), pen.say("count.two"))),
        pen.signed("counted", "witness"),
    )
    return pen.sheet("stock_take", pen.day(paper.made_at), blocks, paper.number, paper.digest)


def _signed(paper: StockTake, pen: Pen) -> Sheet:
    """What was found: rows that differ first in the eye, the others counted."""
    found = {one.n: one for one in paper.counted}
    rows: list[tuple[str, ...]] = []
    for place, indexes in _by_place(paper, pen):
        own = [paper.rows[index] for index in indexes if paper.rows[index].n in found]
        if own:
            rows.append((place,))
        for row in own:
            one = found[row.n]
            posted = "" if one.entry is None else str(one.entry)
            rows.append(
                (str(row.n), row.body, pen.mass(row.book_mg), pen.mass(one.weighed_mg),
                 _signs(one.difference_mg, pen), posted)
            )  # fmt: skip
    rows.append(("", pen.say("count.posted"), "", "", _signs(paper.difference_mg, pen), ""))
    columns = (
        pen.col("row", "figures"), pen.col("heap"), pen.col("book", "figures"),
        pen.col("found", "figures"), pen.col("difference", "figures"), pen.col("entry", "figures"),
    )  # fmt: skip
    by = ", ".join(pen.name(one) for one in paper.signed_by)
    lines = [pen.say("count.signed", by=by, at=pen.day(paper.signed_at))]
    if paper.left_blank:
        lines.append(pen.say("count.left", count=paper.left_blank))
    blocks = (
        Words(tuple(lines)),
        Ruled(columns, tuple(rows), "", 1),
        Words((pen.say("count.small"),)),
        pen.signed("counted", "witness"),
    )
    return pen.sheet("signed", pen.day(paper.made_at), blocks, paper.number, paper.digest)


def _signs(mg: int, pen: Pen) -> str:
    """A difference always has its sign."""
    return ("+" if mg > 0 else "") + pen.mass(mg)


def _values(paper: ValueList, pen: Pen) -> Sheet:
    rows: list[tuple[str, ...]] = []
    for owner in dict.fromkeys(row.owner for row in paper.rows):
        rows.append((f"{pen.name(owner)}: {pen.money(paper.of(owner), paper.currency)}",))
        rows += [
            (pen.say(f"place.{row.place}"), pen.mass(row.gross_mg), pen.each_fine(row.fine_ng),
             pen.money(row.value))
            for row in paper.rows if row.owner == owner
        ]  # fmt: skip
    total = sum((row.value for row in paper.rows), Decimal(0))
    rows.append((pen.say("total"), pen.mass(sum(row.gross_mg for row in paper.rows)), "",
                 pen.money(total)))  # fmt: skip
    columns = (
        pen.col("place"), pen.col("gross", "figures"), pen.col("fine"),
        pen.col("money", "figures"),
    )  # fmt: skip
    prices = tuple(
        (one, pen.say("values.per_g", price=f"{price} {paper.currency}"))
        for one, price in paper.prices.items()
    )
    lines = [pen.say("values.full"), pen.say("values.others")]
    if paper.unsure:
        heaps = ", ".join(
            f"{one.body} ({one.metal} {pen.fine(one.fine_ng)} {PLUS_MINUS} {pen.fine(one.sd_ng)}"
            f" {pen.unit})"
            for one in paper.unsure
        )
        lines.append(pen.say("values.unsure", heaps=heaps))
    if paper.unpriced:
        lines.append(pen.say("values.unpriced", metals=", ".join(paper.unpriced)))
    blocks = (
        Facts(prices, pen.say("values.prices", day=paper.as_of)),
        Ruled(columns, tuple(rows), pen.say("values.metal", currency=paper.currency), 1),
        Words(tuple(lines)),
    )
    return pen.sheet("values", pen.day(paper.made_at), blocks, "", paper.digest)


def _quantity(row: QuoteLine, pen: Pen) -> str:
    if row.kind == "melt":
        return pen.percent(float(row.quantity))
    if row.unit == "g":
        return pen.mass_unit(float(row.quantity) * 1000)
    return f"{row.quantity:f} {'' if row.unit == 'count' else row.unit}".strip()


def _quote(paper: Quote, pen: Pen) -> Sheet:
    rows = [
        (pen.say(f"quote.{row.kind}", about=row.about), _quantity(row, pen),
         pen.money(row.price), pen.money(row.total))
        for row in paper.rows
    ]  # fmt: skip
    rows.append((pen.say("total"), "", "", pen.money(paper.total)))
    columns = (
        pen.col("what"), pen.col("quantity", "figures"), pen.col("price", "figures"),
        pen.col("money", "figures"),
    )  # fmt: skip
    facts = (
        (pen.say("quote.for"), pen.name(paper.owner)),
        (pen.say("quote.lines"), ", ".join(paper.lines)),
        (pen.say("quote.until"), paper.valid_until),
        (pen.say("quote.in"), paper.currency),
    )
    blocks = (
        Facts(facts),
        Ruled(columns, tuple(rows), pen.say("quote.costs"), 1),
        Words(tuple(pen.told(one) for one in paper.assumed), pen.say("quote.assumed"), "mind"),
        pen.signed("owner", "bench"),
    )
    return pen.sheet("quote", pen.day(paper.made_at), blocks, paper.number, paper.digest)
