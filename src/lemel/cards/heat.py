"""The card of one heat: tubs, heat, sequence with its dangers, moulds, what to weigh after."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from lemel.cards.code import code_of
from lemel.cards.hand import Hand
from lemel.cards.ids import listed
from lemel.cards.press import Card, drawing
from lemel.melt import ChargeFill, MeltPlan, MeltStep
from lemel.plan import HeatPlan, Plan
from lemel.pour import PourPlan
from lemel.quantities import hand_mass
from lemel.sketch import fineness_ruler, melt_curve, mould_fill
from lemel.values import Caution, Charge, Lot, Mould, Objection, Quantity

__all__ = ["HeatSheet", "heat_card", "sheet_of"]

#: Which part of the work a step belongs to: its cautions stand before it.
_PLACE = {
    "dry_and_open": "weigh", "inspect_pot": "weigh", "inspect_dish": "weigh",
    "graphite": "weigh", "dish": "weigh", "light": "light", "warm_dish": "light",
    "first_fill": "charge", "into_dish": "charge", "heavy": "charge", "top_up": "charge",
    "filings": "charge", "addition": "charge", "zinc_last": "charge", "stir": "melt",
    "swirl": "melt", "pour": "pour", "pour_or_let_stand": "pour", "off": "cool", "cold": "cool",
}  # fmt: skip
#: A lot's note is told on the card up to this many letters.
_NOTE_MOST = 24
_THIRD = (0.25, 0.42)


@dataclass(frozen=True, slots=True)
class HeatSheet:
    """All that a heat's card may show; what is None or empty is left away.

    `least` and `probability` are the promise (fractions), `pours` one a mould with its
    `moulds`, `notes` what stands on the bags, by lot. `forms` False: what the lots look like
    is not known, so it is not told.
    """

    charge: Charge
    standard: str
    owner: str
    least: float | None = None
    probability: float | None = None
    course: str = "one_shot"
    melt: MeltPlan | None = None
    fire: str = ""
    pot: str = ""
    pours: tuple[PourPlan, ...] = ()
    moulds: tuple[Mould, ...] = ()
    purpose: tuple[str, ...] = ()
    consents: tuple[str, ...] = ()
    notes: dict[str, str] = field(default_factory=dict)
    foot: str = ""
    plan: str = ""
    forms: bool = True


def sheet_of(plan: Plan, heat: HeatPlan, foot: str) -> HeatSheet:
    """A heat of a plan as its card takes it."""
    served = [line for work in plan.stock if work.heat == heat.id for line in work.lines]
    return HeatSheet(
        charge=heat.charge,
        standard=heat.standard,
        owner=plan.owners.get(heat.owner, heat.owner),
        least=_least(heat.standard),
        probability=heat.blend.probability,
        course=heat.course,
        melt=heat.melt,
        fire=heat.fire,
        pot=heat.pot,
        pours=heat.pours,
        moulds=plan.moulds,
        purpose=tuple(dict.fromkeys(served)),
        consents=heat.consents,
        notes={lot.id: _note(lot) for lot in plan.lots},
        foot=foot,
        plan=plan.id,
    )


def _least(standard: str) -> float | None:
    from lemel.errors import LemelError
    from lemel.metal import standard as look_up

    try:
        return look_up(standard).least
    except LemelError:
        return None


def _note(lot: Lot) -> str:
    """The first clause of what stands on the bag, if it is short enough to help."""
    first = lot.note.split(";")[0].strip()
    return first if len(first) <= _NOTE_MOST else ""


def heat_card(sheet: HeatSheet, hand: Hand) -> Card:
    """The card's data: strings as they are printed, drawings, nothing left to work out."""
    charge, melt = sheet.charge, sheet.melt
    cautions = _cautions(sheet)
    return {
        "kind": "heat",
        "title": charge.heat,
        "title_size": 40 if len(charge.heat) <= 6 else 22,
        "name": charge.heat,
        "foot": sheet.foot,
        "code": code_of(sheet.plan, charge.heat),
        "standard": sheet.standard,
        "owner": sheet.owner,
        "promise": _promise(sheet, hand),
        "purpose": hand.say("cards.heat.for", lines=listed(sheet.purpose)) if sheet.purpose else "",
        "consents": hand.say("cards.heat.consents", consents=", ".join(sheet.consents))
        if sheet.consents
        else "",
        "ruler": _ruler(sheet),
        "stops": [hand.told(one) for one in _objections(sheet) if one.grade in ("stop", "ask")],
        "keys": _keys(sheet, hand),
        "light": [hand.short(one) for one in cautions if one.at == "light"]
        if melt
        else [hand.say("cards.heat.no_fire")],
        "fills": _fills(sheet, hand),
        "total": hand.figure(sum(float(mass_g) for mass_g in _all_tubs(sheet))),
        "curve": drawing(melt_curve(melt, width_mm=74, height_mm=40, units=hand.units))
        if melt
        else None,
        "steps": _steps(melt, cautions, hand),
        "mould_band": _mould_band(sheet, hand),
        "pour_notes": _pour_notes(sheet, hand),
        "pours": _pours(sheet, hand),
        "weigh": _weigh(sheet, hand),
    }


def _promise(sheet: HeatSheet, hand: Hand) -> str:
    if sheet.probability is None:
        return ""
    course = hand.say(f"cards.course.{sheet.course}")
    chance = Quantity(round(100 * sheet.probability, 1), "percent")
    return f"{hand.say('cards.heat.promise', probability=chance)} {course}"


def _ruler(sheet: HeatSheet) -> dict[str, Any] | None:
    if sheet.least is None:
        return None
    body, main = sheet.charge.composition_mean, sheet.charge.composition_mean.main()
    return drawing(fineness_ruler(sheet.least, body.share(main), sheet.charge.sd, width_mm=50))


def _objections(sheet: HeatSheet) -> list[Objection]:
    found = list(sheet.melt.objections) if sheet.melt else []
    found += [one for pour in sheet.pours for one in pour.objections]
    return list(dict.fromkeys(found))


def _cautions(sheet: HeatSheet) -> list[Caution]:
    found = list(sheet.melt.cautions) if sheet.melt else []
    return found + [one for pour in sheet.pours for one in pour.cautions]


def _keys(sheet: HeatSheet, hand: Hand) -> list[dict[str, Any]]:
    melt = sheet.melt
    keys: list[dict[str, Any]] = []
    if melt is None:
        return [_liquid_key(sheet.charge, hand)]
    if melt.status != "infeasible":
        label = "cards.key.bath" if melt.method == "torch" else "cards.key.set"
        fire = hand.say(label, fire=", ".join(one for one in (sheet.fire, sheet.pot) if one))
        keys.append({"label": fire, "value": hand.band(*melt.setpoint_band_c), "size": 36})
        keys.append(
            {
                "label": hand.say("cards.key.pour_after"),
                "value": hand.minutes(melt.minutes_to_pour),
                "size": 30,
            }
        )
    return keys


def _liquid_key(charge: Charge, hand: Hand) -> dict[str, Any]:
    """Without a fire: from which temperature on all of it is liquid."""
    from lemel.metal import melting

    liquidus = Quantity(melting(charge.composition_mean).liquidus_c, "degC")
    text = hand.say("cards.key.liquid_at", liquidus=liquidus)
    return {"label": hand.say("cards.key.liquid"), "value": text, "size": 30}


def _fills(sheet: HeatSheet, hand: Hand) -> list[dict[str, Any]]:
    """The tubs by filling; without a melt all of them in one."""
    fills: Iterable[ChargeFill] = sheet.melt.fills if sheet.melt and sheet.melt.fills else ()
    tubs = [(fill, _rounded(fill.tubs)) for fill in fills]
    if not tubs:
        return [_fill(1, "", _rounded(_whole(sheet.charge)), sheet, hand)]
    torch = sheet.melt is not None and sheet.melt.method == "torch"
    return [
        _fill(fill.n, "" if torch else _level(fill, hand), each, sheet, hand, dict(fill.pieces))
        for fill, each in tubs
    ]


def _all_tubs(sheet: HeatSheet) -> list[float]:
    """What goes into the pot as it is weighed out: the sum that the balance will show."""
    fills = sheet.melt.fills if sheet.melt else ()
    tubs = [tub for fill in fills for tub in fill.tubs]
    return [hand_mass(mass_g) for _, mass_g in tubs or _whole(sheet.charge)]


def _whole(charge: Charge) -> list[tuple[str, float]]:
    return [(line.body, line.mass_g) for line in charge.lines]


def _rounded(tubs: Sequence[tuple[str, float]]) -> list[tuple[str, float]]:
    return [(body, hand_mass(mass_g)) for body, mass_g in tubs]


def _fill(
    number: int,
    level: str,
    tubs: Sequence[tuple[str, float]],
    sheet: HeatSheet,
    hand: Hand,
    pieces: dict[str, int] | None = None,
) -> dict[str, Any]:
    lines = {line.body: line for line in sheet.charge.lines}
    rows = []
    for body, mass_g in tubs:
        line = lines.get(body)
        form = hand.say(f"cards.form.{line.form}") if line and sheet.forms else ""
        what = sheet.notes.get(body) or form
        count = (pieces or {}).get(body, 0)
        if count:
            what = hand.say("cards.heat.pieces", what=what, count=count)
        rows.append({"body": body, "what": what, "mass": hand.figure(mass_g)})
    return {
        "name": hand.say("cards.heat.fill", number=number)
        if sheet.melt
        else hand.say("cards.heat.tubs"),
        "level": level,
        "mass": hand.figure(sum(mass_g for _, mass_g in tubs)),
        "tubs": rows,
    }


def _level(fill: ChargeFill, hand: Hand) -> str:
    """How full the pot is when the pile is in, as the eye sees it."""
    if _THIRD[0] <= fill.pile_share <= _THIRD[1]:
        return hand.say("cards.level.third")
    return hand.say("cards.level.share", share=Quantity(round(fill.pile_share, 1) * 100, "percent"))


def _steps(melt: MeltPlan | None, cautions: Sequence[Caution], hand: Hand) -> list[dict[str, Any]]:
    """The sequence with its minutes; the cautions of a part stand before its first step."""
    if melt is None:
        return []
    rows: list[dict[str, Any]] = []
    told: set[str] = {hand.short(one) for one in cautions if one.at == "light"}
    seen: set[str] = {"light"}
    for step in melt.steps:
        place = _PLACE.get(step.action.rsplit(".", 1)[-1], "melt")
        if place not in seen:
            seen.add(place)
            rows += _minds(cautions, place, told, hand)
        rows.append({"kind": "step", "at": _minute(step), "text": hand.short(step.saying())})
    for place in ("weigh", "charge", "melt", "pour", "cool"):
        if place not in seen:
            rows += _minds(cautions, place, told, hand)
    return rows


def _minds(
    cautions: Sequence[Caution], place: str, told: set[str], hand: Hand
) -> list[dict[str, Any]]:
    lines = []
    for one in cautions:
        text = hand.short(one)
        if one.at == place and text not in told:
            told.add(text)
            lines.append(text)
    return [{"kind": "mind", "lines": lines}] if lines else []


def _minute(step: MeltStep) -> str:
    return f"{step.at_min:.0f}′" if step.at_min < 90 else f"{step.at_min / 60:.1f} h"


def _mould_band(sheet: HeatSheet, hand: Hand) -> str:
    bands = [pour.mould_preheat_c for pour in sheet.pours if pour.mould_preheat_c[1] > 0]
    if not bands:
        return ""
    return hand.band(max(lo for lo, _ in bands), min(hi for _, hi in bands))


def _pour_notes(sheet: HeatSheet, hand: Hand) -> list[str]:
    notes = []
    windows = [pour.pour_window_s for pour in sheet.pours if pour.pour_window_s > 0]
    if windows:
        notes.append(hand.say("cards.pour.window", window=Quantity(min(windows), "s")))
    if len(sheet.pours) > 1 and any(pour.per_lift_out <= 1 for pour in sheet.pours):
        notes.append(hand.say("cards.pour.back_between"))
    return notes


def _pours(sheet: HeatSheet, hand: Hand) -> list[dict[str, Any]]:
    moulds = {mould.id: mould for mould in sheet.moulds}
    rows = []
    for number, pour in enumerate(sheet.pours, 1):
        for casting in pour.castings:
            mould = moulds.get(casting.mould)
            sketch = mould_fill(casting, mould, height_mm=24, units=hand.units)
            wait = pour.wait_between_s if number < len(sheet.pours) else 0.0
            rows.append(
                {
                    "drawing": drawing(sketch),
                    "bar": casting.bar.id,
                    "mass": hand.mass(casting.bar.mass_g),
                    "mould": hand.say("cards.pour.button") if mould is None else casting.mould,
                    "more": hand.say("cards.pour.wait", wait=hand.minutes(wait / 60))
                    if wait
                    else "",
                }
            )
    return rows


def _weigh(sheet: HeatSheet, hand: Hand) -> list[dict[str, str]]:
    """Blank lines for the balance, with what is expected beside them."""
    castings = [casting for pour in sheet.pours for casting in pour.castings]
    rows = [{"what": one.bar.id, "planned": hand.mass(one.bar.mass_g)} for one in castings]
    feeders = sum(one.feeder_g for one in castings) + sum(pour.rest_g for pour in sheet.pours)
    if feeders > 0.005:
        rows.append({"what": hand.say("cards.weigh.feeders"), "planned": hand.mass(feeders)})
    if sheet.melt is not None:
        rows.append(
            {
                "what": hand.say("cards.weigh.gone"),
                "planned": hand.mass(
                    max(
                        0.0, sheet.charge.mass_g - feeders - sum(one.bar.mass_g for one in castings)
                    )
                )
                if castings
                else hand.mass(sheet.melt.loss_g[0]),
            }
        )
    if not castings:
        rows.insert(0, {"what": hand.say("cards.weigh.bars"), "planned": ""})
    return rows
