"""From order lines that need a heat to heats that can be charged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from lemel import cut
from lemel.cut import line_of
from lemel.plan.charges import HeatDraft, top_up_consents
from lemel.plan.context import Context, Group, family_of
from lemel.plan.ingots import IngotPick, pick_ingot
from lemel.plan.pots import pot_limit_g
from lemel.plan.rules import rule
from lemel.plan.stockwork import Failure
from lemel.values import OrderLine, Quantity, Saying, StockNeed

__all__ = ["Grouped", "draft_heats", "due", "short_of_metal"]


@dataclass(slots=True)
class Grouped:
    """Heats that can be drafted, and the lines for which none can, with why and ways out."""

    drafts: list[HeatDraft] = field(default_factory=list)
    failed: dict[str, tuple[tuple[Saying, ...], tuple[Saying, ...]]] = field(default_factory=dict)

    def fail(
        self, lines: Sequence[OrderLine], reasons: Sequence[Saying], ways: Sequence[Saying]
    ) -> None:
        """Note why these lines get no heat and the ways out; what is known already stays first."""
        for line in lines:
            why, out = self.failed.get(line.id, ((), ()))
            self.failed[line.id] = (
                tuple(dict.fromkeys((*why, *reasons))),
                tuple(dict.fromkeys((*out, *ways))),
            )


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
            short = short_of_metal(context, group, picked.least_g or need.gross_g or 0.0)
            if short:
                grouped.fail(mine, (short[0],), short[1])
            grouped.fail(mine, (*_wider(context, need, picked), picked.reason), picked.ways_out)
        _fill_pots(context, grouped, group, picks)
    return grouped


def _wider(context: Context, need: StockNeed, failure: Failure) -> tuple[Saying, ...]:
    """A sheet wider than every barrel: said with what it takes beaten out and as a square."""
    barrel_mm = max((mill.barrel_mm for mill in context.shop.mills), default=0.0)
    if need.area_mm is None or min(need.area_mm) <= barrel_mm:
        return ()
    return (
        Saying(
            "plan.unmet.wider_than_barrel",
            {
                "width": Quantity(min(need.area_mm), "mm"),
                "barrel": Quantity(barrel_mm, "mm"),
                "square": Quantity(need.gross_g or 0.0, "g"),
                "beaten": Quantity(failure.least_g or need.gross_g or 0.0, "g"),
            },
        ),
    )


def _fill_pots(
    context: Context, grouped: Grouped, group: Group, picks: Sequence[IngotPick]
) -> None:
    """First fit by due date: a pick joins the first heat whose pot still holds it."""
    family = family_of(context.standard(group.standard), group.colour)
    body = context.nominal(group.standard, group.colour)
    limit_g = pot_limit_g(context, family, body)
    pots: list[list[IngotPick]] = []
    for pick in sorted(picks, key=due):
        if limit_g <= 0 or pick.grams > limit_g:
            grouped.fail(
                pick.lines,
                (
                    Saying(
                        "plan.unmet.pot_too_small",
                        {"needed": Quantity(pick.grams, "g"), "holds": Quantity(limit_g, "g")},
                    ),
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
        grouped.drafts.append(
            HeatDraft(
                "",
                group,
                tuple(pot),
                limit_g,
                rule("melt_margin_share", context.tables),
                rule("melt_margin_g", context.tables),
            )
        )


def short_of_metal(
    context: Context, group: Group, needed_g: float
) -> tuple[Saying, tuple[Saying, ...]] | None:
    """An owner whose own metal, with what may be added, is less than the heat needs."""
    if group.owner == context.shop.house:
        return None
    main = context.standard(group.standard).main
    own = context.evidence.usable(group.owner, main)
    if group.use_lots:
        own = tuple(lot for lot in own if group.takes(lot))
    owned_g = sum(lot.mass_g for lot in own)
    consents = top_up_consents(context, group)
    allowed_g = sum(c.limit_g if c.limit_g is not None else needed_g for c in consents)
    if owned_g + allowed_g >= needed_g:
        return None
    short_g = needed_g - owned_g - allowed_g
    name = context.shop.owners[group.owner]
    size = (owned_g + allowed_g) / needed_g if needed_g else 0.0
    reason = Saying(
        "plan.unmet.short_of_own_metal",
        {
            "owner": name,
            "needed": Quantity(needed_g, "g"),
            "owned": Quantity(owned_g, "g"),
            "short": Quantity(short_g, "g"),
        },
    )
    return reason, (
        Saying("plan.way.consent_top_up", {"owner": name, "mass": Quantity(short_g, "g")}),
        Saying("plan.way.smaller_share", {"share": Quantity(100 * size, "percent")}),
        Saying("plan.way.credit_and_buy", {"owner": name, "mass": Quantity(owned_g, "g")}),
    )


def due(pick: IngotPick) -> tuple[date, str]:
    """When a pick is wanted, for sorting."""
    dates = [line.due_on for line in pick.lines if line.due_on is not None]
    return (min(dates, default=date.max), pick.need.id)
