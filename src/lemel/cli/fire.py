"""`lemel melt` and `lemel pour`: one heat at the fire, one pour."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import INFEASIBLE, Told, millesimal, plain
from lemel.cli.run import verb
from lemel.files import MeltFile, PourFile, read_melt, read_pour
from lemel.melt import Inspection, MeltPlan, MeltProblem, PotChoice, choose_pot
from lemel.melt import do as run_heat
from lemel.metal import family
from lemel.pour import PourPlan, PourProblem, pour_heat
from lemel.pour import do as fill_mould
from lemel.quantities import hand_band, hand_temperature
from lemel.values import Bar, Charge, Composition, Crucible, Mould, Section

if TYPE_CHECKING:
    from lemel.cli.paper import Paper

__all__ = ["heat_to_pour_c", "melt", "pour"]

#: Where a melt names no mould the heat is that of a common wire bar.
_ANY_BAR = Mould("wire bar", "bar", Section.square(6), 90, 1200)


@verb("melt")
@click.argument("file", metavar="FILE")
@click.option("--cards", metavar="DIR", help="Write the heat's card into this folder.")
def melt(file: str, cards: str | None) -> Told:
    """FILE holds the charge and the fires and pots to choose from; see docs/files.md."""
    given = read_melt(file)
    body = given.charge.composition_mean
    kin = given.family or family(body)
    seen = {pot: Inspection(**one.seen) for pot, one in given.inspections.items()}  # type: ignore[arg-type]
    chosen = choose_pot(
        given.charge, given.furnaces, given.crucibles, given.torches, kin, seen=seen
    )
    if chosen.method == "none":
        return _no_fire(chosen)
    found = run_heat(_problem(given, chosen, kin, seen))
    code = INFEASIBLE if found.status == "infeasible" else 0
    written = _charge_card(given.charge, found, chosen, cards) if cards and not code else []

    def show(paper: Paper) -> None:
        _show_melt(found, chosen, paper)
        for path in written:
            paper.line(path)

    return Told({**_melt_payload(found, chosen), "cards": written}, show, code)


def _charge_card(charge: Charge, found: MeltPlan, chosen: PotChoice, folder: str) -> list[str]:
    from lemel.cards import HeatSheet
    from lemel.cli.charge import put_charge_cards

    main = charge.composition_mean.main()
    sheet = HeatSheet(
        charge=charge,
        standard=f"{main} {1000 * charge.composition_mean.share(main):.1f}",
        owner=charge.owner,
        melt=found,
        fire=_fire_name(chosen) or "",
        pot=chosen.crucible.id if chosen.crucible else "",
    )
    return put_charge_cards([sheet], folder)


def heat_to_pour_c(
    body: Composition, mass_g: float, mould: Mould | None, pot: Crucible | None
) -> float:
    """How hot the bath must be at lift-out for a mould (None: a common wire bar)."""
    return pour_heat(body, mould or _ANY_BAR, mass_g, pot=pot).bath_c


def _problem(
    given: MeltFile, chosen: PotChoice, kin: str, seen: Mapping[str, Inspection]
) -> MeltProblem:
    """The heat's question; without a heat to pour at, the mould says how hot it must be."""
    charge, pot = given.charge, chosen.crucible
    pour_at_c = given.pour_at_c
    if pour_at_c is None and chosen.method == "torch":
        pour_at_c = pour_heat(charge.composition_mean, None, charge.mass_g).bath_c
    elif pour_at_c is None:
        pour_at_c = heat_to_pour_c(charge.composition_mean, charge.mass_g, given.mould, pot)
    inspected = given.inspections.get(pot.id) if pot is not None else None
    return MeltProblem(
        charge,
        pour_at_c,
        chosen.furnace,
        pot,
        chosen.torch,
        kin,
        given.ambient_c,
        given.start_c,
        given.piece_g,
        given.condition,
        given.sequence,
        given.bath_least,
        given.may_be_hot,
        None if pot is None else seen.get(pot.id),
        inspected.last_owner if inspected is not None else "",
    )


def _no_fire(chosen: PotChoice) -> Told:
    payload = {"status": "infeasible", "objections": [plain(one) for one in chosen.objections]}

    def show(paper: Paper) -> None:
        paper.line("Nothing here melts this charge.")
        paper.sayings("Why", chosen.objections)

    return Told(payload, show, INFEASIBLE)


def _melt_payload(found: MeltPlan, chosen: PotChoice) -> dict[str, Any]:
    payload: dict[str, Any] = plain(found)
    payload["steps"] = [
        {**plain(step), "text": plain(step.saying())["text"]} for step in found.steps
    ]
    payload["loss_g"] = found.loss_g[0]
    payload["loss_band_g"] = list(found.loss_g[1:])
    payload["fire"] = _fire_name(chosen)
    payload["pot"] = chosen.crucible.id if chosen.crucible else None
    payload["heats_needed"] = chosen.heats
    payload["choice"] = [plain(said) for said in (*chosen.reasons, *chosen.objections)]
    return payload


def _fire_name(chosen: PotChoice) -> str | None:
    for one in (chosen.furnace, chosen.torch):
        if one is not None:
            return one.id
    return None


def _show_melt(found: MeltPlan, chosen: PotChoice, paper: Paper) -> None:
    from lemel.words import say

    pot = f", {chosen.crucible.id}" if chosen.crucible else ""
    paper.line(f"{_fire_name(chosen)}{pot}")
    if found.status != "infeasible":
        lo, hi = hand_band(*found.setpoint_band_c)
        band = f"{lo:.0f} °C" if lo == hi else f"{lo:.0f} to {hi:.0f} °C"
        torch = found.method == "torch"
        rows = [
            ("bath at the pour" if torch else "set to", band),
            ("minutes to the pour", f"{found.minutes_to_pour:.0f}"),
            ("electricity", f"{found.energy_kwh:.2f} kWh"),
            ("gas", f"{1000 * found.gas_kg:.0f} g"),
            ("metal lost", f"{found.loss_g[0]:.2f} g ({_from_to(*found.loss_g[1:])})"),
            (f"stays in the {'dish' if torch else 'pot'}", f"{found.held_g:.2f} g"),
            ("hot for", f"{found.cool_down_h:.1f} h"),
        ]
        paper.facts(row for row in rows if row[1] not in ("0.00 kWh", "0 g"))
        if not torch:
            _show_fills(found, paper)
        paper.head("Steps")
        paper.table(
            ("", "min", "bath °C", "step"),
            [
                (
                    str(number),
                    f"{step.at_min:.0f}",
                    ""
                    if step.bath_c_after is None
                    else f"{hand_temperature(step.bath_c_after):.0f}",
                    say(step.saying()),
                )
                for number, step in enumerate(found.steps, 1)
            ],
            words_last=True,
        )
    paper.sayings("Why", (*found.objections, *chosen.reasons, *found.explain))
    paper.sayings("Mind", found.cautions)


def _from_to(low: float, high: float) -> str:
    return f"{low:.2f} to {high:.2f}"


def _show_fills(found: MeltPlan, paper: Paper) -> None:
    if not found.fills:
        return
    paper.table(
        ("filling", "grams", "pot", "tubs"),
        [
            (
                str(fill.n),
                f"{fill.mass_g:.2f}",
                f"{100 * fill.pile_share:.0f} %",
                ", ".join(f"{body} {grams:.2f} g" for body, grams in fill.tubs),
            )
            for fill in found.fills
        ],
        words_last=True,
    )


@verb("pour")
@click.argument("file", metavar="FILE")
def pour(file: str) -> Told:
    """FILE holds the metal and the mould it is poured into; see docs/files.md."""
    given = read_pour(file)
    found = fill_mould(_pour_problem(given))
    code = INFEASIBLE if any(one.grade == "stop" for one in found.objections) else 0
    return Told(_pour_payload(found), lambda paper: _show_pour(found, paper), code)


def _pour_problem(given: PourFile) -> PourProblem:
    bath_c = given.bath_c
    if bath_c is None:
        heat = pour_heat(
            given.body,
            given.mould,
            given.mass_g,
            pot=given.crucible,
            lift_out_s=given.lift_out_s,
        )
        bath_c = heat.bath_c
    return PourProblem(
        "heat",
        "shop",
        given.body,
        given.sd,
        given.mass_g,
        bath_c,
        given.mould,
        given.ingots_wanted,
        given.lift_out_s,
        given.mould_c,
        pot=given.crucible,
        may_be_hot=given.may_be_hot,
    )


def _pour_payload(found: PourPlan) -> dict[str, Any]:
    payload: dict[str, Any] = plain(found)
    payload.pop("castings")
    payload["ingots"] = [
        {
            "mould": one.mould,
            "mass_g": one.bar.mass_g,
            "dims_mm": _dims(one.bar),
            "fill": one.fill,
            "feeder_g": one.feeder_g,
            "freeze_s": one.freeze_s,
            "composition": millesimal(one.bar.body),
        }
        for one in found.castings
    ]
    return payload


def _dims(bar: Bar) -> dict[str, float]:
    return {**dict(bar.section.dims_mm), "length": bar.length_mm}


def _show_pour(found: PourPlan, paper: Paper) -> None:
    paper.line(f"The pour is {found.verdict}.")
    paper.table(
        ("mould", "ingot", "grams", "feeder", "fill"),
        [
            (
                one.mould,
                " x ".join(f"{mm:.1f}" for mm in _dims(one.bar).values()) + " mm",
                f"{one.bar.mass_g:.2f}",
                f"{one.feeder_g:.2f} g",
                one.fill,
            )
            for one in found.castings
        ],
    )
    lo, hi = found.mould_preheat_c
    paper.facts(
        [
            ("warm the mould to", f"{lo:.0f} to {hi:.0f} °C"),
            ("mould at its hottest", f"{hand_temperature(found.mould_peak_c):.0f} °C"),
            ("pour within", f"{found.pour_window_s:.0f} s of lifting out"),
            ("frozen after", f"{found.freeze_s:.1f} s"),
            ("wait before the next pour", f"{found.wait_between_s:.0f} s"),
            ("left over", f"{found.rest_g:.2f} g"),
            ("stays in the pot", f"{found.residue_g:.2f} g"),
        ]
    )
    paper.sayings("Why", (*found.objections, *found.explain))
    paper.sayings("Go through it cold", found.rehearse)
    paper.sayings("Mind", found.cautions)
