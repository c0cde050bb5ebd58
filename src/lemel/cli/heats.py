"""`lemel blend` and `lemel correct`."""

from __future__ import annotations

import dataclasses
import math
import time
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from lemel.blend import (
    BlendAnswer,
    BlendOptions,
    BlendProblem,
    Correction,
    HeatBlend,
    Melt,
    hand_check,
)
from lemel.blend import correct as mend
from lemel.blend import do as solve_blend
from lemel.cli.answer import INFEASIBLE, Told, millesimal, plain
from lemel.cli.faults import STOPPED
from lemel.cli.given import NUMBER
from lemel.cli.run import verb
from lemel.cli.watching import watching
from lemel.errors import BadInput
from lemel.files import CorrectFile, read_blend, read_correct
from lemel.values import Quantity, Saying
from lemel.words import say

if TYPE_CHECKING:
    from lemel.cli.paper import Paper

__all__ = ["blend", "correct"]


@verb("blend")
@click.argument("file", metavar="FILE")
@click.option(
    "--gap",
    type=NUMBER,
    default=5e-5,
    metavar="SHARE",
    help="End when at most this share can still be saved.",
)
@click.option("--seconds", type=NUMBER, metavar="S", help="Outer clock; the best so far counts.")
@click.option("--seed", type=NUMBER, default=1.0, metavar="N", help="Seed of the search.")
@click.option("--cards", metavar="DIR", help="Write a card for each heat into this folder.")
def blend(file: str, gap: float, seconds: float | None, seed: float, cards: str | None) -> Told:
    """FILE holds lots, additions and heats (JSON or TOML, - is stdin); see docs/files.md."""
    if not 0 < gap < 1:
        raise BadInput("--gap", gap, "more than 0, less than 1", "Give a share such as 5e-5.")
    if seed != int(seed) or not 0 <= seed < 2**31:
        raise BadInput("--seed", seed, "a whole number, 0 or more", "Give a whole number.")
    problem = read_blend(file, BlendOptions(gap=gap, seed=int(seed)))
    begun = time.perf_counter()
    with watching("blend", seconds) as watch:
        answer = solve_blend(problem, watch=watch)
    taken = time.perf_counter() - begun
    code = INFEASIBLE if answer.status == "infeasible" else 0
    code = STOPPED if watch.interrupted else code
    formed = [heat for heat in answer.heats if heat.formed and heat.mass_g > 0]
    written = _charge_cards(problem, formed, cards) if cards and formed else []
    payload = {**_blend_payload(problem, answer, taken), "cards": written}

    def show(paper: Paper) -> None:
        _show_blend(problem, answer, paper)
        for path in written:
            paper.line(path)

    return Told(payload, show, code)


def _charge_cards(problem: BlendProblem, heats: Sequence[HeatBlend], folder: str) -> list[str]:
    from lemel.cli.charge import put_charge_cards, sheet_of_blend

    return put_charge_cards([sheet_of_blend(problem, heat) for heat in heats], folder)


def _blend_payload(problem: BlendProblem, answer: BlendAnswer, seconds: float) -> dict[str, Any]:
    proof = answer.proof
    return {
        "status": answer.status,
        "cost": answer.cost,
        "lower_bound": proof.bound,
        "gap": proof.gap,
        "heats": [_heat(one) for one in answer.heats],
        "explain": [plain(said) for said in answer.explain],
        "objections": [plain(one) for one in answer.objections],
        "heals": [plain(one) for one in answer.heals],
        "heal_sets": [[plain(one) for one in chosen] for chosen in answer.heal_sets],
        "together": answer.together,
        "hand_check": [plain(said) for said in hand_check(problem, answer)],
        "seconds": seconds,
        "proof": plain(proof),
        "main_element": problem.heats[0].main,
    }


def _heat(one: HeatBlend) -> dict[str, Any]:
    return {
        "id": one.id,
        "formed": one.formed,
        "mass_g": one.mass_g,
        "poured_g": one.poured_g,
        "lots": dict(one.lots),
        "additions": dict(one.additions),
        "mean_fineness": 1000 * one.mean,
        "sd_fineness": 1000 * one.sd,
        "promised_fineness": 1000 * one.promised,
        "probability": one.probability,
        "composition": None if one.composition is None else millesimal(one.composition),
        "giveaway_fine_g": one.giveaway_fine_g,
    }


def _show_blend(problem: BlendProblem, answer: BlendAnswer, paper: Paper) -> None:
    main = problem.heats[0].main
    if answer.status == "infeasible":
        paper.line("No blend does this.")
        for said in answer.explain:
            paper.line(say(said))
        return
    paper.line(f"{answer.status}: cost {answer.cost:.4f}, {_proof(answer)}")
    for heat in answer.heats:
        if not heat.formed:
            paper.line(f"{heat.id} is not formed.")
            continue
        paper.head(f"{heat.id}: {heat.mass_g:.2f} g of {main} {1000 * heat.promised:.1f}")
        taken = [*heat.lots.items(), *heat.additions.items()]
        paper.table(("charge", "grams"), [(name, f"{grams:.2f}") for name, grams in taken])
        paper.line(
            f"Mean {1000 * heat.mean:.1f}, sd {1000 * heat.sd:.1f}; planned to "
            f"{100 * heat.probability:.2f} % under this evidence."
        )
    if answer.together is not None and len(answer.heats) > 1:
        paper.line(f"All heats together: {100 * answer.together:.2f} %.")
    paper.sayings("Why", answer.explain)
    paper.sayings("Before it is melted", answer.objections)
    for heat in answer.heats:
        if heat.formed:
            only = dataclasses.replace(answer, heats=(heat,))
            _show_hand_check(heat.id, hand_check(problem, only), paper)


def _show_hand_check(heat: str, lines: Sequence[Saying], paper: Paper) -> None:
    """Mass times fineness line by line with the sum beneath, then the reckoning in words."""
    paper.head(f"{heat} by hand")
    rows, words = [], []
    for one in lines:
        if one.code not in ("blend.hand.line", "blend.hand.sum"):
            words.append(say(one))
            continue
        total = one.code == "blend.hand.sum"
        name = "in the bar" if total else str(one.values["body"])
        figures = (one.values[key] for key in ("grams", "mean" if total else "fineness", "fine"))
        rows.append((name, *(f"{_figure(figure):.2f}" for figure in figures)))
    paper.table(("metal", "grams", "fineness", "fine g"), rows)
    for sentence in words:
        paper.line(sentence)


def _figure(value: object) -> float:
    assert isinstance(value, Quantity)
    return value.value


def _proof(answer: BlendAnswer) -> str:
    proof = answer.proof
    if proof.bound is None or proof.gap is None:
        return "no bound proven"
    return f"nothing can cost less than {proof.bound:.4f} (gap {proof.gap:.1e})"


@verb("correct")
@click.argument("file", metavar="FILE")
def correct(file: str) -> Told:
    """FILE describes a heat in the pot, its assay, and what may be added; see docs/files.md."""
    given = read_correct(file)
    melt = _melt(given)
    found = mend(melt, given.additions)
    payload = {
        "status": found.status,
        "heat": melt.id,
        "additions": dict(found.additions),
        "mass_g": found.mass_g,
        "mean_fineness": 1000 * found.mean,
        "sd_fineness": 1000 * found.sd,
        "promised_fineness": 1000 * found.promised,
        "least_fineness": 1000 * melt.least,
        "probability": melt.probability,
        "cost": found.cost,
        "alone": dict(found.alone),
        "lower": found.lower,
        "lower_given_away_g": found.lower_given_away_g,
        "believed": {"mean": 1000 * melt.mean, "sd": 1000 * melt.sd},
        "explain": [plain(said) for said in found.explain],
    }
    code = INFEASIBLE if found.status == "infeasible" else 0
    return Told(payload, lambda paper: _show_correction(melt, found, paper), code)


def _melt(given: CorrectFile) -> Melt:
    """The pot as believed after the sample: plan and sample weighed by their precision."""
    from lemel.metal import standard

    least = standard(given.standard).least if given.least is None else given.least
    mean, sd = _fused(given.planned, (given.sample[0], _assay_sd(given)))
    room = math.inf if given.room_g is None else given.room_g
    return Melt(
        given.id,
        given.main,
        given.mass_g,
        mean,
        sd,
        least,
        given.probability,
        room,
        given.worth_per_g,
        given.giveaway_most,
        given.lower,
    )


def _assay_sd(given: CorrectFile) -> float:
    """The sample's own spread, or that of its method: shared and own error together."""
    if given.sample[1] is not None:
        return given.sample[1]
    from lemel.scrap import method_sd

    try:
        return math.hypot(*method_sd(given.method, given.main))
    except BadInput as fault:
        raise BadInput("assay.method", fault.value, fault.allowed, fault.do) from None


def _fused(planned: tuple[float, float] | None, sample: tuple[float, float]) -> tuple[float, float]:
    """Two independent beliefs of one share as one; a spread of nothing outweighs all else."""
    if planned is None:
        return sample
    if planned[1] == 0 or sample[1] == 0:
        return sample if sample[1] == 0 else planned
    w_planned, w_sample = planned[1] ** -2, sample[1] ** -2
    mean = (w_planned * planned[0] + w_sample * sample[0]) / (w_planned + w_sample)
    return mean, (w_planned + w_sample) ** -0.5


def _show_correction(melt: Melt, found: Correction, paper: Paper) -> None:
    paper.line(
        f"{melt.id}: {melt.mass_g:.2f} g believed at {melt.main} {1000 * melt.mean:.1f}, "
        f"sd {1000 * melt.sd:.1f}."
    )
    if found.status == "kept":
        paper.line("It keeps its promise as it is: pour.")
    elif found.status == "infeasible":
        paper.line("No addition that fits mends it.")
    else:
        paper.table(("add", "grams"), [(name, f"{g:.2f}") for name, g in found.additions.items()])
        paper.line(
            f"Then {found.mass_g:.2f} g at {1000 * found.mean:.1f}, sd {1000 * found.sd:.1f}: "
            f"{1000 * found.promised:.1f} may be promised."
        )
    paper.sayings("Why", found.explain)
