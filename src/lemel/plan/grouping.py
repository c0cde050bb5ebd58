"""From order lines that need a heat to heats that can be charged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from lemel import cut
from lemel.blend import BlendAnswer
from lemel.cut import line_of
from lemel.plan.bench import Bench
from lemel.plan.charges import HeatDraft, ask_blend, top_up_consents
from lemel.plan.context import Context, Group, family_of
from lemel.plan.ingots import IngotPick, pick_ingot
from lemel.plan.pots import pot_limit_g
from lemel.values import OrderLine, Quantity, Saying, Watch

__all__ = ["Grouped", "draft_heats", "settle_blends"]


@dataclass(slots=True)
class Grouped:
    """Heats that can be drafted, and the lines for which none can, with why and ways out."""

    drafts: list[HeatDraft] = field(default_factory=list)
    failed: dict[str, tuple[Saying, tuple[Saying, ...]]] = field(default_factory=dict)
    answers: dict[str, BlendAnswer] = field(default_factory=dict)
    alone: dict[str, BlendAnswer] = field(default_factory=dict)

    def fail(self, lines: Sequence[OrderLine], reason: Saying, ways: Sequence[Saying]) -> None:
        """Note why these lines get no heat; a second reason adds its ways out."""
        for line in lines:
            if line.id in self.failed:
                first, known = self.failed[line.id]
                more = tuple(w for w in (reason, *ways) if w not in known and w != first)
                self.failed[line.id] = (first, known + more)
            else:
                self.failed[line.id] = (reason, tuple(dict.fromkeys(ways)))


def draft_heats(context: Context, lines: Sequence[OrderLine]) -> Grouped:
    """Group lines that may share metal, find each stock need its mould, fill pots."""
    grouped = Grouped()
    groups: dict[Group, list[OrderLine]] = {}
    for line in lines:
        groups.setdefault(Group.of(line), []).append(line)
    for group, members in groups.items():
        asked = cut.need(
            tuple(members), context.bodies(tuple(members)), context.saw, tables=context.tables
        )
        picks: list[IngotPick] = []
        for need in asked.stock:
            mine = [line for line in members if line.id in need.pieces]
            blanks = [b for b in asked.blanks if line_of(b.piece) in need.pieces]
            picked = pick_ingot(context, group, need, mine, blanks)
            if isinstance(picked, IngotPick):
                picks.append(picked)
                continue
            short = _short_of_metal(context, group, need.gross_g or 0.0)
            if short:
                grouped.fail(mine, *short)
            grouped.fail(mine, picked.reason, picked.ways_out)
        _fill_pots(context, grouped, group, picks)
    return grouped


def _fill_pots(
    context: Context, grouped: Grouped, group: Group, picks: Sequence[IngotPick]
) -> None:
    """First fit by due date: a pick joins the first heat whose pot still holds it."""
    family = family_of(context.standard(group.standard), group.colour)
    body = context.nominal(group.standard, group.colour)
    limit_g = pot_limit_g(context, family, body)
    pots: list[list[IngotPick]] = []
    for pick in sorted(picks, key=_due):
        if limit_g <= 0 or pick.grams > limit_g:
            grouped.fail(
                pick.lines,
                Saying(
                    "plan.unmet.pot_too_small",
                    {"needed": Quantity(pick.grams, "g"), "holds": Quantity(limit_g, "g")},
                ),
                [Saying("plan.way.bigger_pot", {"family": family}), Saying("plan.way.smaller")],
            )
            continue
        for pot in pots:
            if sum(p.grams for p in pot) + pick.grams <= limit_g:
                pot.append(pick)
                break
        else:
            pots.append([pick])
    for pot in pots:
        grouped.drafts.append(HeatDraft("", group, tuple(pot), limit_g))


def settle_blends(
    context: Context, bench: Bench, grouped: Grouped, watch: Watch
) -> dict[str, BlendAnswer]:
    """Find which heats can be charged: each alone first, then all of one metal together.

    A heat that cannot be is asked for less: its latest need is dropped, until it can or
    nothing is left. If those that can alone cannot together, the latest-due need is dropped.
    Returns the joint answer by heat id; the drafts are renamed H1, H2, ... by due date.
    """
    grouped.drafts = [
        replace(draft, id=f"H{n + 1}")
        for n, draft in enumerate(sorted(grouped.drafts, key=lambda d: min(map(_due, d.picks))))
    ]
    kept = [k for d in grouped.drafts if (k := _alone(context, bench, grouped, d, watch))]
    answers: dict[str, BlendAnswer] = {}
    settled: list[HeatDraft] = []
    for main in ("Pt", "Pd", "Au", "Ag"):
        of_metal = [d for d in kept if context.standard(d.group.standard).main == main]
        while of_metal:
            answer = ask_blend(context, bench, of_metal, explain=True, watch=watch)
            if answer.status != "infeasible":
                _spend(bench, answer)
                answers.update({draft.id: answer for draft in of_metal})
                break
            last = max(of_metal, key=lambda d: max(map(_due, d.picks)))
            of_metal.remove(last)
            shorter = _drop_last(grouped, last, answer)
            if shorter:
                of_metal.append(shorter)
        settled += of_metal
    order = {draft.id: n for n, draft in enumerate(grouped.drafts)}
    grouped.drafts = sorted(settled, key=lambda d: order[d.id])
    return answers


def _alone(
    context: Context, bench: Bench, grouped: Grouped, draft: HeatDraft, watch: Watch
) -> HeatDraft | None:
    current: HeatDraft | None = draft
    while current is not None:
        short = _short_of_metal(context, current.group, current.grams)
        if not short:
            answer = ask_blend(context, bench, [current], explain=False, watch=watch)
            if answer.status != "infeasible":
                return current
            answer = ask_blend(context, bench, [current], explain=True, watch=watch)
            current = _drop_last(grouped, current, answer)
            continue
        last = max(current.picks, key=_due)
        grouped.fail(last.lines, *short)
        current = _without(current, last)
    return None


def _drop_last(grouped: Grouped, draft: HeatDraft, answer: BlendAnswer) -> HeatDraft | None:
    last = max(draft.picks, key=_due)
    reason = Saying("plan.unmet.no_blend", {"heat": draft.id, "standard": draft.group.standard})
    grouped.fail(last.lines, reason, answer.explain)
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


def _short_of_metal(
    context: Context, group: Group, needed_g: float
) -> tuple[Saying, tuple[Saying, ...]] | None:
    """An owner whose own metal, with what may be added, is less than the heat needs."""
    if group.owner == context.shop.house:
        return None
    main = context.standard(group.standard).main
    own = context.evidence.usable(group.owner, main)
    if group.use_lots:
        own = tuple(lot for lot in own if lot.id in group.use_lots)
    owned_g = sum(lot.mass_g for lot in own)
    consents = top_up_consents(context, group)
    allowed_g = sum(c.limit_g if c.limit_g is not None else needed_g for c in consents)
    if owned_g + allowed_g >= needed_g:
        return None
    short_g = needed_g - owned_g - allowed_g
    size = (owned_g + allowed_g) / needed_g if needed_g else 0.0
    reason = Saying(
        "plan.unmet.short_of_own_metal",
        {
            "owner": group.owner,
            "needed": Quantity(needed_g, "g"),
            "owned": Quantity(owned_g, "g"),
            "short": Quantity(short_g, "g"),
        },
    )
    return reason, (
        Saying("plan.way.consent_top_up", {"owner": group.owner, "mass": Quantity(short_g, "g")}),
        Saying("plan.way.smaller_share", {"share": Quantity(100 * size, "percent")}),
        Saying("plan.way.credit_and_buy", {"owner": group.owner, "mass": Quantity(owned_g, "g")}),
    )


def _due(pick: IngotPick) -> tuple[date, str]:
    dates = [line.due_on for line in pick.lines if line.due_on is not None]
    return (min(dates, default=date.max), pick.need.id)
