"""First ask whether anything must be melted: a remnant, scrap as it is, or stock at hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from statistics import NormalDist

from lemel import cut, mill
from lemel.plan.bench import Bench
from lemel.plan.context import Context, portion
from lemel.plan.faces import PlanLine, StockWork
from lemel.plan.rules import rule
from lemel.plan.stockwork import mill_and_cut, post_stock_work
from lemel.values import Bar, Blank, Lot, OrderLine, Quantity, Saying, SayingValue, StockNeed

__all__ = ["meet_from_hand"]

SOURCES = ("remnant", "scrap_as_is", "stock")


def meet_from_hand(context: Context, bench: Bench, line: OrderLine) -> PlanLine | None:
    """Meet one order line without melting, by the first source that does; post its deeds.

    Within a source the smallest bar that does is taken. None: a heat is needed.
    """
    if not any(_candidates(context, bench, line, source) for source in SOURCES):
        return None
    asked = cut.need((line,), context.bodies((line,)), context.saw, tables=context.tables)
    if not asked.stock:
        return None
    refused: list[Saying] = []
    for source in SOURCES:
        found = _try_source(context, bench, line, asked.stock, asked.blanks, source, refused)
        if found is None:
            continue
        used = tuple(one.bar.id for work in found for one in work.bars)
        for work in found:
            _take(context, bench, work)
            post_stock_work(bench, work)
        passes = sum(one.route.passes for work in found for one in work.bars)
        minutes = sum(one.route.minutes for work in found for one in work.bars)
        values: dict[str, SayingValue] = {
            "bar": ", ".join(used),
            "passes": passes,
            "minutes": Quantity(minutes, "min"),
        }
        how = Saying(f"plan.how.{source}" if passes else f"plan.how.{source}_as_it_is", values)
        return PlanLine(line.order, line.id, source, how, tuple(refused), used)
    return None


def _try_source(
    context: Context,
    bench: Bench,
    line: OrderLine,
    needs: Sequence[StockNeed],
    blanks: Sequence[Blank],
    source: str,
    refused: list[Saying],
) -> list[StockWork] | None:
    taken: list[StockWork] = []
    used: set[str] = set()
    for need in needs:
        mine = [blank for blank in blanks if blank.section == need.section] or list(blanks)
        candidates = [b for b in _candidates(context, bench, line, source) if b.id not in used]
        work = _smallest_that_does(context, line, need, mine, candidates, source, refused)
        if work is None:
            return None
        used |= {one.bar.id for one in work.bars}
        taken.append(work)
    return taken


def _candidates(context: Context, bench: Bench, line: OrderLine, source: str) -> list[Bar]:
    standard = context.standard(line.standard)
    if source == "scrap_as_is":
        bars = [
            bar
            for lot in context.evidence.usable(line.owner, standard.main)
            if (bar := _as_bar(context, bench, lot, line)) is not None
        ]
    else:
        bars = [
            bar
            for bar in bench.bars
            if bar.owner == line.owner
            and not bar.suspect
            and (bar.kind == "offcut") == (source == "remnant")
            and _keeps(context, bar, line)
            and (not line.use_lots or set(line.use_lots) & {bar.id, *bar.parents})
        ]
    return sorted(bars, key=lambda bar: (bar.mass_g, bar.id))


def _keeps(context: Context, bar: Bar, line: OrderLine) -> bool:
    """A bar keeps a standard that is no finer than the one it was promised at."""
    wanted = context.standard(line.standard)
    if bar.promise_met is None:
        return False
    has = context.standard(bar.promise_met)
    return has.main == wanted.main and has.least == wanted.least


def _as_bar(context: Context, bench: Bench, lot: Lot, line: OrderLine) -> Bar | None:
    """A lot as the bar that it already is; only if its own evidence keeps the standard."""
    if lot.shape is None or lot.length_mm is None or bench.lots_left_g[lot.id] < lot.mass_g:
        return None
    if line.use_lots and lot.id not in line.use_lots:
        return None
    beliefs = context.evidence.belief(lot.id)
    standard = context.standard(line.standard)
    z = NormalDist().inv_cdf(context.shop.rules.probability)
    mean = context.evidence.mean(lot.id)
    if mean.share(standard.main) - z * beliefs.sd(lot.id) < standard.least:
        return None
    return Bar(
        id=lot.id,
        owner=lot.owner,
        kind="offcut",
        body=mean,
        sd=beliefs.sd(lot.id),
        section=lot.shape,
        length_mm=lot.length_mm,
        mass_g=lot.mass_g,
        promise_met=line.standard,
        soft_section=lot.shape,
        origin=lot.origin,
        parents=(lot.id,),
    )


def _smallest_that_does(
    context: Context,
    line: OrderLine,
    need: StockNeed,
    blanks: Sequence[Blank],
    candidates: Sequence[Bar],
    source: str,
    refused: list[Saying],
) -> StockWork | None:
    if not candidates:
        return None
    body = candidates[0].body
    answer = mill.need(need, tuple(candidates), context.kit, body, tables=context.tables)
    for bar, verdict in zip(candidates, answer.verdicts, strict=True):
        if not verdict.fits:
            refused.extend(
                Saying(o.code, {"about": bar.id, **o.values}) for o in verdict.objections[:1]
            )
            continue
        grams = verdict.grams_needed * rule("portion_margin", context.tables)
        long_enough = bar.mass_g > grams * rule("keep_whole_share", context.tables)
        part = bar
        if long_enough and verdict.passes > 0:
            part, _ = portion(bar, grams, f"{bar.id}/{line.id}")
        work = mill_and_cut(context, (line,), need, (need,), blanks, (part,), source)
        if isinstance(work, StockWork):
            return work
        refused.append(work.reason)
    return None


def _take(context: Context, bench: Bench, work: StockWork) -> None:
    """Take the worked bars off the bench: whole, or a portion of a longer one."""
    for one in work.bars:
        whole = next((bar for bar in bench.bars if bar.id == one.bar.id), None)
        if whole is not None:
            bench.bars.remove(whole)
            continue
        parent = one.bar.parents[0] if one.bar.parents else one.bar.id
        if parent in context.evidence.lots:
            lot = context.evidence.lots[parent]
            bench.lots_left_g[lot.id] = 0.0
            bench.ledger.step(
                f"take {lot.id} as it is",
                [("lot", lot.id, lot.mass_g)],
                [("bar", one.bar.id, one.bar.mass_g)],
                owner=lot.owner,
            )
            continue
        old = next(bar for bar in bench.bars if bar.id == parent)
        left_g = old.mass_g - one.bar.mass_g
        bench.bars[bench.bars.index(old)] = replace(
            old, mass_g=left_g, length_mm=old.length_mm * left_g / old.mass_g
        )
        bench.ledger.step(
            f"part {old.id}",
            [("bar", old.id, one.bar.mass_g)],
            [("bar", one.bar.id, one.bar.mass_g)],
            owner=old.owner,
        )
