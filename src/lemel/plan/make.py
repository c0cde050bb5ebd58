"""The plan's own face: from the whole question to the whole month."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from lemel import __version__
from lemel.blend import BlendAnswer
from lemel.errors import Stopped
from lemel.plan.athand import meet_from_hand
from lemel.plan.bench import Bench, open_bench
from lemel.plan.checks import check_plan
from lemel.plan.context import Context
from lemel.plan.evidence import gather_evidence
from lemel.plan.faces import HeatPlan, Plan, PlanLine, PlanProblem, Provenance, StockWork, Unmet
from lemel.plan.grouping import Grouped, draft_heats
from lemel.plan.heats import post_heat
from lemel.plan.ingots import IngotPick
from lemel.plan.money import compare_month
from lemel.plan.settle import settle_heats
from lemel.plan.stockwork import post_stock_work
from lemel.plan.timeline import lay_out_days
from lemel.plan.unused import why_unused
from lemel.tables import Tables, shipped
from lemel.values import OrderLine, Quantity, Saying, Watch, quiet, to_plain

__all__ = ["at_hand", "do"]


def do(problem: PlanProblem, *, tables: Tables | None = None, watch: Watch = quiet) -> Plan:
    """The month's plan: every order line met or told why not, every gram accounted.

    Each line is tried in the order remnant, scrap as it is, stock, heat, buying. Raises
    BadInput for a question that does not hang together, Stopped when the watch says so.
    The same question, seed and tables give the same plan.
    """
    facts = (tables or shipped()).with_overrides(problem.workshop.table_overrides)
    _tell(watch, 0.02)
    context = Context(problem, gather_evidence(problem, facts), facts)
    bench = open_bench(context)
    lines: dict[str, PlanLine] = {}
    waiting: list[OrderLine] = []
    for line in by_due_date(problem.orders):
        met = meet_from_hand(context, bench, line)
        if met is None:
            waiting.append(line)
        else:
            lines[line.id] = met
    _tell(watch, 0.25)
    grouped = draft_heats(context, waiting)
    _tell(watch, 0.4)
    settled = settle_heats(context, bench, grouped, watch)
    heats = [trial.heat for trial in settled.trials]
    for trial in settled.trials:
        post_heat(context, bench, trial.heat, trial.bars)
        for pick, work in trial.works:
            post_stock_work(bench, work)
            lines.update(_met_by_heat(trial.heat, pick, work))
    _tell(watch, 0.95)
    unmet: list[Unmet] = []
    for line in waiting:
        if line.id not in lines:
            lines[line.id] = _buy_or_leave(context, grouped, line, unmet)
    plan = _whole(context, bench, lines, heats, unmet, settled.answers)
    _tell(watch, 1.0)
    return plan


def at_hand(
    problem: PlanProblem, *, tables: Tables | None = None, watch: Watch = quiet
) -> Mapping[str, PlanLine | None]:
    """What meets each order line today without melting, by line id; None: it needs a heat.

    The same first steps as `do`, without the solver: an answer in a moment. Raises as `do`.
    """
    facts = (tables or shipped()).with_overrides(problem.workshop.table_overrides)
    context = Context(problem, gather_evidence(problem, facts), facts)
    bench = open_bench(context)
    found: dict[str, PlanLine | None] = {}
    for n, line in enumerate(by_due_date(problem.orders)):
        _tell(watch, n / len(problem.orders))
        found[line.id] = meet_from_hand(context, bench, line)
    return found


def by_due_date(lines: Sequence[OrderLine]) -> list[OrderLine]:
    """In the order in which they are served."""
    return sorted(lines, key=lambda one: (one.due_on or date.max, one.id))


def _tell(watch: Watch, done: float) -> None:
    if watch.cancelled():
        raise Stopped("stopped before the plan was whole; nothing was kept")
    watch.tell(done)


def _met_by_heat(heat: HeatPlan, pick: IngotPick, work: StockWork) -> Mapping[str, PlanLine]:
    bars = tuple(one.bar for one in work.bars)
    shares = dict(heat.origin.shares)
    return {
        line.id: PlanLine(
            line.order,
            line.id,
            "heat",
            Saying(
                "plan.how.heat" if len(bars) == 1 else "plan.how.heat_bars",
                {
                    "heat": heat.id,
                    "mould": pick.choice.mould,
                    "bars": len(bars),
                    "passes": sum(one.route.passes for one in work.bars),
                    "mass": Quantity(sum(bar.mass_g for bar in bars), "g"),
                },
            ),
            (Saying("plan.why.nothing_at_hand", {"line": line.id}), *pick.notes),
            (heat.id, *(bar.id for bar in bars)),
            shares.get(line.claim, 0.0) if line.claim else None,
        )
        for line in pick.lines
    }


def _buy_or_leave(
    context: Context, grouped: Grouped, line: OrderLine, unmet: list[Unmet]
) -> PlanLine:
    """The last resort: buy the stock for house work; another's own metal cannot be bought."""
    reasons, ways = grouped.failed.get(
        line.id, ((Saying("plan.unmet.no_ingot", {"need": line.id}),), ())
    )
    prices = context.shop.prices
    standard = context.standard(line.standard).id
    sold = prices is not None and any(
        context.standard(price.standard).id == standard for price in prices.stock
    )
    if line.owner == context.shop.house and sold:
        return PlanLine(
            line.order,
            line.id,
            "buy",
            Saying("plan.how.buy", {"line": line.id, "standard": standard}),
            (*reasons, *ways),
        )
    ways = ways or (Saying("plan.way.smaller"), Saying("plan.way.buy", {"standard": standard}))
    unmet.append(Unmet(line.order, line.id, reasons[0], ways, reasons[1:]))
    return PlanLine(
        line.order, line.id, "unmet", Saying("plan.how.unmet", {"line": line.id}), reasons
    )


def _whole(
    context: Context,
    bench: Bench,
    lines: Mapping[str, PlanLine],
    heats: Sequence[HeatPlan],
    unmet: Sequence[Unmet],
    answers: Mapping[str, BlendAnswer],
) -> Plan:
    tasks = lay_out_days(context, heats, bench.stock_work)
    said = [s for answer in {id(a): a for a in answers.values()}.values() for s in answer.explain]
    made_from = _provenance(context, heats)
    plan = Plan(
        id=f"plan-{made_from.inputs[:8]}",
        made_from=made_from,
        lines=tuple(lines[line.id] for line in context.problem.orders),
        heats=tuple(heats),
        stock=tuple(bench.stock_work),
        unused=why_unused(context, bench, heats, said),
        unmet=tuple(unmet),
        balance=bench.ledger.balance(),
        worth=compare_month(context, bench, heats, tasks),
        timeline=tasks,
        drawer=tuple(bench.bars),
        objections=tuple(dict.fromkeys((*context.evidence.notes, *bench.objections))),
        cautions=tuple(dict.fromkeys((*context.evidence.cautions, *bench.cautions))),
        owners=dict(context.shop.owners),
        asked=context.problem.orders,
        lots=context.problem.lots,
        moulds=context.shop.moulds,
        shop=context.shop.name,
    )
    return replace(plan, objections=(*check_plan(plan, context), *plan.objections))


def _provenance(context: Context, heats: Sequence[HeatPlan]) -> Provenance:
    problem = context.problem
    return Provenance(
        inputs=_digest(to_plain(replace(problem, readings=()))),
        readings=_digest(to_plain(problem.readings)),
        tables=context.tables.digest,
        version=__version__,
        solver=heats[0].proof.solver if heats else "none",
        seed=problem.options.seed,
        as_of=context.shop.as_of.isoformat(),
        options=problem.options,
    )


def _digest(plain: object) -> str:
    return hashlib.sha256(json.dumps(plain, sort_keys=True).encode()).hexdigest()[:16]
