"""From bars to pieces: the deeds of mill and cut, with their metal in the ledger."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lemel import cut, mill
from lemel.cut import CutProblem, Layout
from lemel.mill import MillProblem, Route
from lemel.plan.bench import Bench
from lemel.plan.context import Context
from lemel.plan.faces import BarRoute, StockWork
from lemel.values import Bar, Blank, Objection, OrderLine, Saying, StockNeed

__all__ = ["Failure", "as_saying", "mill_and_cut", "post_stock_work"]


@dataclass(frozen=True, slots=True)
class Failure:
    """A deed that cannot be done: why, and the ways out that the rooms know.

    `least_g` is the metal that it would take at the least (None: not known); `short_g` what
    was missing in the pot, which a heavier charge would heal.
    """

    reason: Saying
    ways_out: tuple[Saying, ...] = ()
    least_g: float | None = None
    short_g: float = 0.0


def mill_and_cut(
    context: Context,
    lines: Sequence[OrderLine],
    need: StockNeed,
    shares: Sequence[StockNeed],
    blanks: Sequence[Blank],
    bars: Sequence[Bar],
    source: str,
    heat: str = "",
) -> StockWork | Failure:
    """Roll or draw each bar to its share of the need, then mark out all blanks on the stock.

    Nothing is posted: a failure leaves the bench as it was.
    """
    routes: list[BarRoute] = []
    for bar, share in zip(bars, shares, strict=True):
        route = mill.do(MillProblem(bar, share, context.kit), tables=context.tables)
        if route.status == "infeasible" or not route.stock:
            return _mill_failure(bar, route)
        routes.append(BarRoute(bar, _named(route, bar)))
    stock = tuple(made for one in routes for made in one.route.stock)
    own = tuple(line for line in lines if line.id in need.pieces)
    if all(line.what == "stock" for line in own) and len(own) == 1 and own[0].count == 1:
        layout = _cut(context, own, blanks, stock)
    else:
        layout = _cut(context, own, blanks, stock)
    if layout.unplaced:
        return Failure(
            Saying(
                "plan.unmet.no_room_on_stock",
                {"bar": bars[0].id, "pieces": ", ".join(layout.unplaced[:6])},
            ),
            tuple(o.remedy for o in layout.objections if o.remedy) + layout.explain,
        )
    return StockWork(
        need, source, heat, tuple(line.id for line in own), tuple(routes), tuple(blanks), layout
    )


def _cut(
    context: Context, lines: tuple[OrderLine, ...], blanks: Sequence[Blank], stock: tuple[Bar, ...]
) -> Layout:
    problem = CutProblem(
        lines, tuple(blanks), stock, context.saw, seed=context.problem.options.seed
    )
    return cut.do(problem, tables=context.tables)


def _named(route: Route, bar: Bar) -> Route:
    """Stock and offcuts named after their bar, so that every id is one thing."""
    stock = tuple(
        replace(made, id=f"{bar.id}-{chr(97 + n)}", parents=(bar.id,))
        for n, made in enumerate(route.stock)
    )
    offcuts = tuple(
        replace(made, id=f"{bar.id}-end{n + 1}", parents=(bar.id,))
        for n, made in enumerate(route.offcuts)
    )
    return replace(route, stock=stock, offcuts=offcuts)


def _mill_failure(bar: Bar, route: Route) -> Failure:
    stops = [o for o in route.objections if o.grade == "stop"] or list(route.objections)
    reason = as_saying(stops[0]) if stops else Saying("plan.unmet.no_route", {"bar": bar.id})
    return Failure(reason, _remedies(route.objections) + route.explain)


def as_saying(objection: Objection) -> Saying:
    """An objection as the reason of something: the same words, with what it is about."""
    return Saying(objection.code, {"about": objection.about, **objection.values})


def _remedies(objections: Sequence[Objection]) -> tuple[Saying, ...]:
    return tuple(dict.fromkeys(o.remedy for o in objections if o.remedy is not None))


def post_stock_work(bench: Bench, work: StockWork) -> None:
    """The metal of a finished stock work, bar by bar, through the ledger."""
    for one in work.bars:
        bar, route = one.bar, one.route
        bench.ledger.step(
            f"mill {bar.id}",
            [("bar", bar.id, bar.mass_g)],
            [
                *(("bar", made.id, made.mass_g) for made in route.stock),
                *(("offcut", made.id, made.mass_g) for made in route.offcuts),
            ],
            owner=bar.owner,
        )
        bench.cautions.extend(route.cautions)
        bench.objections.extend(o for o in route.objections if o.grade != "stop")
    if work.layout is not None:
        _post_layout(bench, work, work.layout)
    bench.stock_work.append(work)


def _post_layout(bench: Bench, work: StockWork, layout: Layout) -> None:
    for sheet in layout.sheets:
        stock = next(m for one in work.bars for m in one.route.stock if m.id == sheet.bar)
        pieces = [(p.piece, layout.pieces_g[p.piece]) for p in sheet.placements]
        if not pieces:
            bench.bars.append(stock)
            continue
        outputs = [("piece", piece, mass_g) for piece, mass_g in pieces]
        for rest in sheet.rests:
            outputs.append(("bar", rest.bar.id, rest.bar.mass_g))
            bench.bars.append(rest.bar)
        outputs.append(("offcut", f"{stock.id}-scrap", sheet.scrap_g))
        outputs.append(("kerf", f"{stock.id}-kerf", sheet.kerf_g))
        bench.ledger.step(
            f"cut {stock.id}",
            [("bar", stock.id, stock.mass_g)],
            [one for one in outputs if one[2] > 0],
            owner=stock.owner,
        )
    bench.cautions.extend(layout.cautions)
    bench.objections.extend(layout.objections)
