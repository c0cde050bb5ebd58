"""Which heats can really be made: blends that hold, and deeds that go through to the pieces."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from lemel.blend import BlendAnswer
from lemel.errors import Stopped
from lemel.plan.bench import Bench
from lemel.plan.charges import HeatDraft, ask_blend
from lemel.plan.context import Context
from lemel.plan.faces import HeatPlan, StockWork
from lemel.plan.grouping import Grouped, due, short_of_metal
from lemel.plan.heats import run_heat
from lemel.plan.ingots import IngotPick
from lemel.plan.stockwork import Failure, mill_and_cut
from lemel.values import Bar, Quantity, Saying, Watch

__all__ = ["Settled", "Trial", "settle_heats"]

#: So many times a heat is charged heavier because the melt kept more than was thought.
REFILLS_MOST = 3


@dataclass(frozen=True, slots=True)
class Trial:
    """One heat tried on paper all the way to its pieces."""

    heat: HeatPlan
    bars: Mapping[str, tuple[Bar, ...]]
    works: tuple[tuple[IngotPick, StockWork], ...]


@dataclass(slots=True)
class _Memory:
    """Blends and deeds already worked out in this settling, so that a round that changes one
    heat does not work the others out again."""

    blends: dict[object, BlendAnswer] = field(default_factory=dict)
    deeds: dict[object, tuple[Trial | None, HeatDraft | None]] = field(default_factory=dict)
    planned: int = 0

    def blend(
        self, context: Context, bench: Bench, drafts: Sequence[HeatDraft], explain: bool
    ) -> BlendAnswer:
        key = (
            repr(tuple(drafts)),
            tuple(sorted(bench.lots_left_g.items())),
            tuple(sorted(bench.additions_left_g.items())),
            explain,
            self.planned,
        )
        if key not in self.blends:
            self.blends[key] = ask_blend(
                context, bench, drafts, explain=explain, planned=self.planned
            )
        return self.blends[key]


@dataclass(frozen=True, slots=True)
class Settled:
    """Heats whose every deed goes through, with the blend's answer by heat id."""

    trials: tuple[Trial, ...]
    answers: Mapping[str, BlendAnswer]


def settle_heats(context: Context, bench: Bench, grouped: Grouped, watch: Watch) -> Settled:
    """Blend the drafted heats and try their deeds; drop a need that fails, and blend again.

    Each heat must hold alone, then all of one metal together. What is dropped is noted in
    `grouped` with its reason. The metal that is spent is taken off the bench at the end.
    """
    drafts = sorted(grouped.drafts, key=lambda draft: min(map(due, draft.picks)))
    drafts = [replace(draft, id=f"H{n + 1}") for n, draft in enumerate(drafts)]
    lots, additions = dict(bench.lots_left_g), dict(bench.additions_left_g)
    memory = _Memory()
    while True:
        if watch.cancelled():
            raise Stopped("stopped while the heats were being settled")
        bench.lots_left_g, bench.additions_left_g = dict(lots), dict(additions)
        memory.planned = len(drafts) if context.shop.rules.promise_per == "plan" else 0
        drafts = [
            kept for draft in drafts if (kept := _alone(context, bench, grouped, draft, memory))
        ]
        drafts, answers = _together(context, bench, grouped, drafts, memory)
        trials: list[Trial] = []
        left: list[HeatDraft] = []
        for draft in drafts:
            trial, kept = _try(context, grouped, draft, answers[draft.id], memory)
            if trial is not None:
                trials.append(trial)
            if kept is not None:
                left.append(kept)
        if left == drafts:
            return Settled(tuple(trials), answers)
        drafts = left


def _alone(
    context: Context, bench: Bench, grouped: Grouped, draft: HeatDraft, memory: _Memory
) -> HeatDraft | None:
    """The draft, or as much of it as can be charged if nothing else were made."""
    current: HeatDraft | None = draft
    while current is not None:
        last = max(current.picks, key=due)
        short = short_of_metal(context, current.group, current.grams)
        if short:
            grouped.fail(last.lines, (short[0],), short[1])
            current = _without(current, last)
            continue
        answer = memory.blend(context, bench, [current], explain=False)
        if answer.status != "infeasible":
            return current
        current = _drop_last(context, bench, grouped, current, memory.planned)
    return None


def _together(
    context: Context, bench: Bench, grouped: Grouped, drafts: list[HeatDraft], memory: _Memory
) -> tuple[list[HeatDraft], dict[str, BlendAnswer]]:
    """All heats of one metal in one question; the dearest metal first, since it takes the
    common additions in the smallest amounts."""
    answers: dict[str, BlendAnswer] = {}
    settled: list[HeatDraft] = []
    for main in ("Pt", "Pd", "Au", "Ag"):
        of_metal = [d for d in drafts if context.standard(d.group.standard).main == main]
        while of_metal:
            answer = memory.blend(context, bench, of_metal, explain=True)
            if answer.status != "infeasible":
                _spend(bench, answer)
                answers.update({draft.id: answer for draft in of_metal})
                break
            last = max(of_metal, key=lambda draft: max(map(due, draft.picks)))
            of_metal.remove(last)
            shorter = _drop_last(context, bench, grouped, last, memory.planned)
            if shorter:
                of_metal.append(shorter)
        settled += of_metal
    order = {draft.id: n for n, draft in enumerate(drafts)}
    return sorted(settled, key=lambda draft: order[draft.id]), answers


def _try(
    context: Context,
    grouped: Grouped,
    draft: HeatDraft,
    answer: BlendAnswer,
    memory: _Memory,
) -> tuple[Trial | None, HeatDraft | None]:
    """The deeds of one heat on paper; the second value is the draft less what failed."""
    blended = next(heat for heat in answer.heats if heat.id == draft.id)
    key = (repr(draft), repr(blended))
    if key not in memory.deeds:
        memory.deeds[key] = _deeds(context, grouped, draft, answer)
    return memory.deeds[key]


def _deeds(
    context: Context, grouped: Grouped, draft: HeatDraft, answer: BlendAnswer
) -> tuple[Trial | None, HeatDraft | None]:
    done = run_heat(context, draft, answer)
    if isinstance(done, Failure) and done.short_g > 0 and draft.refills < REFILLS_MOST:
        more_g = draft.margin_g + 1.02 * done.short_g + context.step_g
        return None, replace(draft, margin_g=more_g, refills=draft.refills + 1)
    if isinstance(done, Failure):
        for pick in draft.picks:
            grouped.fail(pick.lines, (done.reason,), done.ways_out)
        return None, None
    heat, bars = done
    works: list[tuple[IngotPick, StockWork]] = []
    failed: list[IngotPick] = []
    for pick in draft.picks:
        work = _work(context, heat, pick, bars[pick.need.id])
        if isinstance(work, Failure):
            grouped.fail(pick.lines, (work.reason,), work.ways_out)
            failed.append(pick)
        else:
            works.append((pick, work))
    if not failed:
        return Trial(heat, bars, tuple(works)), draft
    kept: HeatDraft | None = draft
    for pick in failed:
        kept = _without(kept, pick) if kept else None
    return None, kept


def _work(
    context: Context, heat: HeatPlan, pick: IngotPick, bars: tuple[Bar, ...]
) -> StockWork | Failure:
    if len(bars) < len(pick.shares):
        return Failure(
            Saying("plan.unmet.fewer_bars", {"heat": heat.id, "need": pick.need.id}),
            (Saying("plan.way.more_metal", {"heat": heat.id}),),
        )
    return mill_and_cut(
        context, pick.lines, pick.need, pick.shares, pick.blanks, bars, "heat", heat.id
    )


def _drop_last(
    context: Context, bench: Bench, grouped: Grouped, draft: HeatDraft, planned: int
) -> HeatDraft | None:
    """Without its latest need, whose lines are told what would have healed the blend."""
    last = max(draft.picks, key=due)
    answer = ask_blend(context, bench, [draft], explain=True, planned=planned)
    reason = Saying("plan.unmet.no_blend", {"heat": draft.id, "standard": draft.group.standard})
    main = context.standard(draft.group.standard).main
    shares = context.evidence.answers[main].share_most if main in context.evidence.answers else {}
    tests = [
        Saying(
            "plan.way.test_lot", {"lot": lot.id, "share": Quantity(100 * shares[lot.id], "percent")}
        )
        for lot in context.evidence.usable(draft.group.owner, main)
        if lot.id in shares
    ]
    grouped.fail(last.lines, (reason, *last.notes), (*tests, *answer.explain))
    return _without(draft, last)


def _without(draft: HeatDraft, pick: IngotPick) -> HeatDraft | None:
    left = tuple(p for p in draft.picks if p is not pick)
    return replace(draft, picks=left) if left else None


def _spend(bench: Bench, answer: BlendAnswer) -> None:
    for heat in answer.heats:
        for lot, grams in heat.lots.items():
            bench.lots_left_g[lot] -= grams
        for addition, grams in heat.additions.items():
            left = bench.additions_left_g[addition]
            if left is not None:
                bench.additions_left_g[addition] = left - grams
