"""Forwards: charge, melt and pour a heat; once all is settled, post its metal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from lemel import melt, pour
from lemel.blend import BlendAnswer, HeatBlend
from lemel.melt import MeltPlan, MeltProblem, PotChoice
from lemel.plan.bench import Bench
from lemel.plan.charges import HeatDraft, top_up_consents
from lemel.plan.context import Context, family_of
from lemel.plan.faces import HeatPlan
from lemel.plan.ingots import IngotPick
from lemel.plan.rules import rule
from lemel.plan.stockwork import Failure, as_saying
from lemel.pour import Casting, PourPlan, PourProblem
from lemel.values import Bar, Charge, ChargeLine, Origin, Quantity, Saying

__all__ = ["post_heat", "run_heat"]


def run_heat(
    context: Context, draft: HeatDraft, answer: BlendAnswer
) -> tuple[HeatPlan, Mapping[str, tuple[Bar, ...]]] | Failure:
    """One heat from tubs to cold bars: the plan of it, and the bars by stock need.

    Nothing is posted yet. Failure if no fire or pot can do it.
    """
    blended = next(h for h in answer.heats if h.id == draft.id)
    charge = _charge(context, draft, blended)
    fired = _melt(context, draft, charge)
    if isinstance(fired, Failure):
        return fired
    choice, melted, bath_c = fired
    group, fire = draft.group, choice.furnace or choice.torch
    standard = context.standard(group.standard)
    origin = _origin(context, charge)
    pours, bars = _pour(context, draft, charge, melted, choice, origin, bath_c)
    plan = HeatPlan(
        id=draft.id,
        owner=group.owner,
        standard=standard.id,
        family=family_of(standard, group.colour),
        needs=tuple(pick.need.id for pick in draft.picks),
        blend=blended,
        charge=charge,
        origin=origin,
        pot=choice.crucible.id if choice.crucible else "",
        fire=fire.id if fire else "",
        melt=melted,
        moulds=tuple(pick.choice.mould for pick in draft.picks),
        pours=pours,
        bars=tuple(bar.id for made in bars.values() for bar in made),
        proof=answer.proof,
        course=context.shop.rules.course,
        explain=tuple(s for s in answer.explain if s.values.get("heat", draft.id) == draft.id)
        + choice.reasons,
        consents=tuple(c.id for c in top_up_consents(context, group)),
    )
    return plan, bars


def _melt(
    context: Context, draft: HeatDraft, charge: Charge
) -> tuple[PotChoice, MeltPlan, float] | Failure:
    """Fire, pot, the melt in it, and the heat of the bath when it leaves the fire."""
    shop = context.shop
    family = family_of(context.standard(draft.group.standard), draft.group.colour)
    button = all(pick.choice.mould == pour.BUTTON for pick in draft.picks)
    choice = melt.choose_pot(
        charge,
        () if button and shop.torches else shop.furnaces,
        shop.crucibles,
        shop.torches,
        family,
        tables=context.tables,
    )
    if choice.method == "none":
        return Failure(
            Saying("plan.unmet.no_fire", {"heat": draft.id, "family": family}),
            tuple(o.remedy for o in choice.objections if o.remedy),
        )
    bath_c = _bath_c(context, draft, charge, choice)
    asked = _melt_problem(charge, choice, family, bath_c)
    melted = melt.do(asked, tables=context.tables)
    if melted.status == "infeasible":
        stops = [o for o in melted.objections if o.grade == "stop"]
        reason = as_saying(stops[0]) if stops else Saying("plan.unmet.no_melt", {"heat": draft.id})
        return Failure(reason, tuple(o.remedy for o in melted.objections if o.remedy))
    short_g = _short_g(context, draft, charge, melted)
    if short_g > 0:
        return Failure(
            Saying("plan.unmet.short_pour", {"heat": draft.id, "short": Quantity(short_g, "g")}),
            (Saying("plan.way.more_metal", {"heat": draft.id}),),
            short_g=short_g,
        )
    return choice, melted, bath_c


def _charge(context: Context, draft: HeatDraft, blended: HeatBlend) -> Charge:
    lines = [
        ChargeLine(lot, "lot", context.evidence.lots[lot].form, grams, context.evidence.mean(lot))
        for lot, grams in sorted(blended.lots.items())
        if grams > 0
    ]
    by_id = {addition.id: addition for addition in context.shop.additions}
    lines += [
        ChargeLine(name, "addition", by_id[name].form, grams, by_id[name].composition)
        for name, grams in sorted(blended.additions.items())
        if grams > 0
    ]
    assert blended.composition is not None
    poured = blended.poured_g or blended.mass_g
    return Charge(
        heat=draft.id,
        owner=draft.group.owner,
        lines=tuple(lines),
        composition_mean=blended.composition,
        sd=blended.sd,
        promised=blended.promised,
        poured_g=(poured, 0.0),
    )


def _melt_problem(charge: Charge, choice: PotChoice, family: str, bath_c: float) -> MeltProblem:
    condition = {line.body: "dry" for line in charge.lines if line.kind == "addition"}
    return MeltProblem(
        charge=charge,
        pour_at_c=bath_c,
        furnace=choice.furnace,
        crucible=choice.crucible,
        torch=choice.torch,
        family=family,
        condition=condition,
    )


def _short_g(context: Context, draft: HeatDraft, charge: Charge, melted: MeltPlan) -> float:
    """What the moulds would lack after loss and what stays in the pot; 0 if it is enough.

    A balance step for each bar is kept in hand, so that weighing never makes one short.
    """
    wanted = sum(pick.choice.fill_g * pick.choice.bars for pick in draft.picks)
    bars = sum(pick.choice.bars for pick in draft.picks)
    ready = charge.mass_g - melted.loss_g[0] - melted.held_g
    return max(0.0, wanted + bars * context.step_g - ready)


def _lift_out_s(context: Context, choice: PotChoice) -> float:
    """Seconds without heat before the mould: a torch's flame follows the dish."""
    name = "torch_lift_out_s" if choice.method == "torch" else "furnace_lift_out_s"
    return rule(name, context.tables)


def _bath_c(context: Context, draft: HeatDraft, charge: Charge, choice: PotChoice) -> float:
    """How hot the bath must be when it leaves the fire, for the mould that asks most."""
    moulds = {mould.id: mould for mould in context.shop.moulds}
    lift_out_s = _lift_out_s(context, choice)
    return max(
        pour.pour_heat(
            charge.composition_mean,
            moulds.get(pick.choice.mould),
            charge.mass_g,
            pot=choice.crucible,
            lift_out_s=lift_out_s,
            tables=context.tables,
        ).bath_c
        for pick in draft.picks
    )


def _origin(context: Context, charge: Charge) -> Origin:
    """Origin classes by fine mass, frozen at the pour; own rework inherits its parents'."""
    main = charge.composition_mean.main()
    by_id = {addition.id: addition for addition in context.shop.additions}
    shares: dict[str, float] = {}
    for line in charge.lines:
        of = (
            context.evidence.lots[line.body].origin
            if line.kind == "lot"
            else by_id[line.body].origin
        )
        fine = line.mass_g * line.composition.share(main)
        for name, share in of.shares:
            shares[name] = shares.get(name, 0.0) + fine * share
    return Origin.of(shares)


def _pour(
    context: Context,
    draft: HeatDraft,
    charge: Charge,
    melted: MeltPlan,
    choice: PotChoice,
    origin: Origin,
    bath_c: float,
) -> tuple[tuple[PourPlan, ...], Mapping[str, tuple[Bar, ...]]]:
    """Fill the moulds one need after another; what is left over goes into the last."""
    moulds = {mould.id: mould for mould in context.shop.moulds}
    left_g = charge.mass_g - melted.loss_g[0]
    pours: list[PourPlan] = []
    bars: dict[str, tuple[Bar, ...]] = {}
    for n, pick in enumerate(draft.picks):
        last = n == len(draft.picks) - 1
        skin_g = melted.held_g if last else 0.0
        wants_g = pick.choice.fill_g * pick.choice.bars
        problem = PourProblem(
            heat=draft.id,
            owner=charge.owner,
            body=charge.composition_mean,
            sd=charge.sd,
            mass_g=left_g if last else min(wants_g, left_g),
            bath_c=bath_c,
            lift_out_s=_lift_out_s(context, choice),
            mould=moulds.get(pick.choice.mould),
            ingots_wanted=pick.choice.bars,
            promise_met=context.standard(draft.group.standard).id,
            origin=origin,
            parents=tuple(line.body for line in charge.lines),
            crucible_skin_g=skin_g,
            pot=choice.crucible,
        )
        answer = pour.do(problem, tables=context.tables)
        answer = replace(answer, castings=_named(draft.id, len(bars), pick, answer))
        left_g -= problem.mass_g
        pours.append(answer)
        bars[pick.need.id] = tuple(casting.bar for casting in answer.castings)
    return tuple(pours), bars


def _named(heat: str, taken: int, pick: IngotPick, answer: PourPlan) -> tuple[Casting, ...]:
    names = [
        f"{heat}-{taken + 1}" if len(answer.castings) == 1 else f"{heat}-{taken + 1}.{k + 1}"
        for k in range(len(answer.castings))
    ]
    _ = pick
    return tuple(
        replace(casting, bar=replace(casting.bar, id=name))
        for casting, name in zip(answer.castings, names, strict=True)
    )


def post_heat(
    context: Context, bench: Bench, plan: HeatPlan, bars: Mapping[str, tuple[Bar, ...]]
) -> None:
    """The metal of one heat through the ledger: top-ups by consent, charge, bars, residue."""
    bench.cautions.extend((*plan.melt.cautions, *(c for p in plan.pours for c in p.cautions)))
    bench.objections.extend((*plan.melt.objections, *(o for p in plan.pours for o in p.objections)))
    owner, house = plan.owner, context.shop.house
    consent = ", ".join(plan.consents)
    inputs: list[tuple[str, str, float]] = []
    owners = {lot: context.evidence.lots[lot].owner for lot in plan.blend.lots}
    owners |= {a.id: a.owner for a in context.shop.additions}
    endless = {a.id: a.composition for a in context.shop.additions if a.stock_g is None}
    for line in plan.charge.lines:
        place = "lot" if line.kind == "lot" else "addition"
        if line.body in endless:
            bench.ledger.buy(owners[line.body], place, line.body, line.mass_g, endless[line.body])
        if owners[line.body] != owner:
            bench.ledger.transfer(
                f"{plan.id} top-up", (house, place, line.body), owner, line.mass_g, consent
            )
        inputs.append((place, line.body, line.mass_g))
    outputs = [("bar", bar.id, bar.mass_g) for made in bars.values() for bar in made]
    for n, poured in enumerate(plan.pours):
        for casting in poured.castings:
            outputs.append(("offcut", f"{casting.bar.id}-feeder", casting.feeder_g))
        outputs.append(("offcut", f"{plan.id}-button{n + 1}", poured.rest_g))
        outputs.append(("hold_up", plan.pot or plan.fire, poured.residue_g))
    bench.ledger.step(
        f"{plan.id} melt and pour", inputs, [one for one in outputs if one[2] > 0], owner=owner
    )
