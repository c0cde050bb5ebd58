"""Which lots and additions go into which heat: the plan's question to the blend room."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lemel import blend, scrap
from lemel.blend import (
    BlendAddition,
    BlendAnswer,
    BlendHeat,
    BlendLot,
    BlendOptions,
    BlendProblem,
)
from lemel.errors import NotKnown
from lemel.plan.bench import Bench
from lemel.plan.context import Context, Group, family_of
from lemel.plan.ingots import IngotPick
from lemel.plan.rules import rule
from lemel.values import Consent, Lot, Watch, quiet

__all__ = ["HeatDraft", "ask_blend", "blend_heat", "top_up_consents"]

#: So many lots that stay out are asked after by solving again with them forced in.
EXPLAIN_MOST = 2


@dataclass(frozen=True, slots=True)
class HeatDraft:
    """A heat before its charge is known: what must be poured from it."""

    id: str
    group: Group
    picks: tuple[IngotPick, ...]
    pot_most_g: float

    margin_share: float = 0.0
    margin_g: float = 0.0
    refills: int = 0

    @property
    def grams(self) -> float:
        """Metal that the moulds ask for, with a margin for what the melt takes."""
        asked = sum(pick.grams for pick in self.picks)
        return asked * (1 + self.margin_share) + self.margin_g


def ask_blend(
    context: Context,
    bench: Bench,
    drafts: Sequence[HeatDraft],
    *,
    explain: bool,
    planned: int = 0,
    watch: Watch = quiet,
) -> BlendAnswer:
    """One question for all these heats of one main metal, with what is left on the bench.

    `planned` heats share a promise that the house makes for the whole plan.
    """
    shop, options = context.shop, context.problem.options
    main = context.standard(drafts[0].group.standard).main
    most_g = _most_g(context, main, drafts)
    lots = tuple(
        _blend_lot(context, bench, lot, most_g.get(lot.id))
        for lot in context.problem.lots
        if lot.main == main
        and lot.id not in context.evidence.barred
        and min(bench.lots_left_g[lot.id], most_g.get(lot.id, lot.mass_g)) >= context.step_g
        and not (lot.whole and lot.mass_g > most_g.get(lot.id, lot.mass_g))
    )
    additions = tuple(
        BlendAddition(
            addition.id,
            addition.composition,
            addition.sd,
            float(addition.price_per_g),
            bench.additions_left_g[addition.id],
            addition.owner,
        )
        for addition in shop.additions
    )
    problem = BlendProblem(
        lots,
        additions,
        tuple(blend_heat(context, draft, _heats_of(draft, drafts)) for draft in drafts),
        age_credit_g_day=shop.rules.oldest_first_per_day,
        remainder_penalty=0.0,
        house=shop.house,
        promise_per=shop.rules.promise_per,
        promise_heats=max(planned, len(drafts)),
        options=BlendOptions(
            gap=options.gap,
            work_most=options.work_most,
            seed=options.seed,
            balance_step_g=context.step_g,
            explain=explain,
            explain_most=EXPLAIN_MOST,
        ),
    )
    return blend.do(problem, tables=context.tables, watch=watch)


def _heats_of(draft: HeatDraft, drafts: Sequence[HeatDraft]) -> int:
    """How many of these heats draw on the same owner's consents."""
    return sum(1 for one in drafts if one.group.owner == draft.group.owner)


def blend_heat(context: Context, draft: HeatDraft, sharing: int = 1) -> BlendHeat:
    """The heat as the blend sees it: window, promise, whose metal may go in.

    A consent's grams are dealt evenly over the `sharing` heats of its owner, so that
    together they never take more than was allowed.
    """
    group, rules = draft.group, context.shop.rules
    standard = context.standard(group.standard)
    spare = max(rule("spare_g", context.tables), rule("spare_share", context.tables) * draft.grams)
    consents = top_up_consents(context, group)
    limits = [c.limit_g for c in consents if c.limit_g is not None]
    allowed = _allowed_lots(context, group)
    house = context.shop.house
    return BlendHeat(
        id=draft.id,
        owner=group.owner,
        main=standard.main,
        least=standard.least,
        probability=rules.probability,
        least_g=draft.grams,
        most_g=max(draft.grams, min(draft.grams + spare, draft.pot_most_g)),
        impurity_most=dict(standard.limits),
        impurity_k=2.0 if standard.limits else 0.0,
        lots_allowed=frozenset(allowed),
        may_use_owners=frozenset({house} if consents and group.owner != house else ()),
        owner_limit_g={house: min(limits) / sharing} if limits and group.owner != house else {},
        shares=_colour_window(context, group),
        course=rules.course,
        family=family_of(standard, group.colour),
    )


def top_up_consents(context: Context, group: Group) -> list[Consent]:
    """The consents on record that let house metal into this owner's heat."""
    if group.owner == context.shop.house:
        return []
    about = group.use_lots or tuple(
        lot.id for lot in context.problem.lots if lot.owner == group.owner
    )
    return context.consents(group.owner, "top_up", about)


def _allowed_lots(context: Context, group: Group) -> list[str]:
    main = context.standard(group.standard).main
    own = context.evidence.usable(group.owner, main)
    if group.use_lots:
        return [lot.id for lot in own if group.takes(lot)]
    allowed = [lot.id for lot in own if not lot.no_mixing and _colour_fits(context, lot, group)]
    mixers = context.consents(group.owner, f"mix_with:{context.shop.house}")
    if mixers and group.owner != context.shop.house:
        house = context.evidence.usable(context.shop.house, main)
        allowed += [
            lot.id for lot in house if not lot.no_mixing and _colour_fits(context, lot, group)
        ]
    return allowed


def _colour_fits(context: Context, lot: Lot, group: Group) -> bool:
    """Whether the scrap room lets this lot into metal of this colour."""
    found = scrap.may_join(
        lot, group.colour, body=context.evidence.mean(lot.id), tables=context.tables
    )
    return not any(o.grade in ("stop", "ask") for o in found)


def _colour_window(context: Context, group: Group) -> Mapping[str, tuple[float, float]]:
    """Shares of the alloying metals for the colour; an heirloom keeps the colour it has."""
    standard = context.standard(group.standard)
    if group.use_lots or standard.main != "Au":
        return {}
    try:
        return scrap.colour_window(group.colour, standard.least, tables=context.tables)
    except NotKnown:
        return {}


def _most_g(context: Context, main: str, drafts: Sequence[HeatDraft]) -> dict[str, float]:
    """Grams that a lot may give at most where its evidence, or what it was made for, bears
    only a share of a heat."""
    limits = context.evidence.answers[main].share_most if main in context.evidence.answers else {}
    return {
        lot: share
        * sum(d.grams for d in drafts if d.group.owner == context.evidence.lots[lot].owner)
        for lot, share in limits.items()
    }


def _blend_lot(context: Context, bench: Bench, lot: Lot, most_g: float | None) -> BlendLot:
    beliefs = context.evidence.belief(lot.id)
    row = beliefs.row(lot.id)
    left_g = bench.lots_left_g[lot.id]
    if most_g is not None:
        left_g = min(left_g, math.floor(100 * most_g) / 100)
    least_take_g = rule("least_take_g", context.tables)
    value = context.evidence.values.get(lot.id)
    age = (context.shop.as_of - lot.received_on).days if lot.received_on else 0
    first = lot.id in context.problem.options.use_first
    return BlendLot(
        id=lot.id,
        mass_g=left_g,
        whole=lot.whole,
        owner=lot.owner,
        mean=beliefs.mean[row],
        own_sd=beliefs.own_sd[row],
        loading={
            factor: load
            for factor, load in zip(beliefs.factors, beliefs.loading[row], strict=True)
            if load
        },
        other_sd={element: spread[1] for element, spread in beliefs.other[row].items()},
        value_per_g=float(value.sale_per_g) if value and not first else 0.0,
        age_days=max(0, age),
        min_take_g=max(lot.min_take_g, min(left_g, least_take_g)),
        min_remainder_g=max(lot.min_remainder_g, least_take_g),
        flags=frozenset(code for code, answer in lot.flags.items() if answer == "yes"),
        # What burns away raises the fineness, and that is never credited: the promise is kept
        # on the metal as charged, and the heat is charged heavier for what it loses.
        yield_fraction=1.0,
        doubt=beliefs.doubt[row],
    )
