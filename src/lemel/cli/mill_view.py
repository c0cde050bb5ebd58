"""How the mill's answer looks to the one at the rolls."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from lemel.mill import (
    BarVerdict,
    CrackAdvice,
    Lessons,
    MillNeed,
    MillProblem,
    Route,
    Step,
)

if TYPE_CHECKING:
    from lemel.cli.paper import Paper

__all__ = ["Milled", "show_mill"]


@dataclass(frozen=True, slots=True)
class Milled:
    """Everything that one question to the mill brings.

    `route` None: no start will do, or too little sound metal is left. `starts` None: there
    was one bar only. `advice` None: nothing cracked.
    """

    problem: MillProblem
    route: Route | None
    lessons: Lessons
    starts: MillNeed | None
    advice: CrackAdvice | None


def show_mill(found: Milled, plot: str | None, paper: Paper) -> None:
    """Lessons, starts, crack, and the route, as far as they were asked for."""
    lessons = list(_lessons(found.lessons))
    if lessons:
        paper.head("What the readings teach, for the files")
        for line in lessons:
            paper.line(f"  - {line}")
    if found.starts is not None:
        _show_starts(found.starts, found, paper)
    if found.advice is not None:
        _show_crack(found.advice, paper)
    if found.route is not None:
        if found.starts is not None or found.advice is not None:
            paper.head(f"From {found.problem.bar.id}" if found.advice is None else "From here on")
        _show_route(found.route, found, paper)
    if plot is not None:
        paper.line(f"How hard it grows is drawn in {plot}.")


def _lessons(learnt: Lessons) -> Iterator[str]:
    if learnt.spread:
        one = learnt.spread
        yield (
            f"spread_factor = {one.value:.3g} (give or take {one.sd:.2g}, {one.readings} bars; "
            f"widths are met to {100 * one.rms:.1f} %)"
        )
    if learnt.stand:
        stand = learnt.stand
        yield (
            f"modulus_n_mm = {stand.modulus_n_mm:.0f}: how the stand springs "
            f"({stand.readings} strips, met to {stand.rms_mm:.3f} mm; the screw's zero lies "
            f"{stand.offset_mm:+.2f} mm off)"
        )
    if learnt.lead:
        one = learnt.lead
        yield (
            f"lead_mm = {one.value:.3g} a turn (give or take {one.sd:.2g}, {one.readings} readings)"
        )
    if learnt.working:
        hard = learnt.working
        yield f"hardness from {hard.soft_hv:.0f} HV soft to {hard.full_hv:.0f} HV full hard"
    if learnt.pace:
        one = learnt.pace
        yield f"pace = {one.value:.3g} times the planned minutes ({one.readings} routes)"


def _show_starts(starts: MillNeed, found: Milled, paper: Paper) -> None:
    paper.head("Which start")
    paper.table(
        ("bar", "passes", "anneals", "minutes", "becomes stock", "verdict"),
        [_start_row(one, found) for one in starts.verdicts],
        words_last=True,
    )
    if found.route is None:
        paper.line("None of these becomes that stock with these tools.")
        paper.sayings("Ways out", starts.ways_out)


def _start_row(one: BarVerdict, found: Milled) -> tuple[str, ...]:
    from lemel.words import say

    stops = [say(said) for said in one.objections if said.grade == "stop"]
    if one.fits:
        verdict = "taken: the quickest" if one.bar == found.problem.bar.id else "would do"
    else:
        verdict = " ".join(stops) or "does not get there"
    if not one.workable:
        return (one.bar, "", "", "", "", verdict)
    if not one.fits and one.serves > 0:
        verdict = f"gives {100 * one.serves:.0f} % of it. {verdict}"
    share = f"{100 * one.yield_share:.0f} %"
    return (one.bar, f"{one.passes}", f"{one.anneals}", f"{one.minutes:.0f}", share, verdict)


def _show_crack(advice: CrackAdvice, paper: Paper) -> None:
    paper.sayings("Do", advice.do)
    paper.sayings("What the crack says", advice.says)
    if advice.bar is not None:
        bar = advice.bar
        paper.line(
            f"{bar.mass_g:.2f} g goes on, {bar.length_mm:.0f} mm long"
            + (", suspect until a sample has been rolled." if bar.suspect else ".")
        )


def _show_route(found: Route, milled: Milled, paper: Paper) -> None:
    if found.status == "infeasible":
        paper.line("This bar does not become that stock with these tools.")
    else:
        _show_steps(found, milled, paper)
    paper.sayings("Why", (*found.objections, *found.explain))
    paper.sayings("Ways out", found.ways_out)
    paper.sayings("Mind", found.cautions)


def _show_steps(found: Route, milled: Milled, paper: Paper) -> None:
    paper.line(
        f"{_many(found.passes, 'pass')}, {_many(found.anneals, 'anneal')}, "
        f"about {found.minutes:.0f} min."
    )
    if found.serves < 1 - 1e-9:
        paper.line(f"It gives {100 * found.serves:.0f} % of what was asked for.")
    paper.table(
        ("", "tool", "size mm", "passes", "width", "length", "HV", "turn", "binds", "effort"),
        [_route_row(one) for one in found.steps],
        left=2,
        words_last=True,
    )
    _show_notes(found, paper)
    if any(one.screw_turn for one in found.steps) and milled.lessons.lead is None:
        leads = {mill.lead_mm for mill in milled.problem.kit.mills}
        far = " or ".join(f"{lead:g}" for lead in sorted(leads))
        paper.line(
            f"Turns hold for a screw that travels {far} mm a turn: measure yours, and go by the "
            "size until then."
        )
    mass = sum(one.mass_g for one in found.stock)
    off = sum(one.mass_g for one in found.offcuts)
    paper.line(f"{mass:.2f} g of stock, {off:.2f} g of offcuts, {found.loss_g:.2f} g filed off.")
    paper.head("How sure it is")
    for line in _proof(found, milled.problem):
        paper.line(f"  - {line}")


def _proof(found: Route, problem: MillProblem) -> Iterator[str]:
    """What is proven of the printed route, and of the fewest passages, in plain words."""
    if problem.variant == "easy" and found.proof.bound is not None:
        over = 60 * problem.pace * ((found.proof.cost or 0.0) - found.proof.bound)
        even = (
            f", save for the {over:.0f} s that evening out its passes costs" if over > 0.5 else ""
        )
        yield (
            "Of all ways over settings that a hand can make, at an easy load, none takes fewer "
            f"minutes{even}: proven."
        )
    if found.fewest is None:
        return
    passes, anneals = _many(found.fewest, "pass"), _many(found.fewest_anneals or 0, "anneal")
    yield (
        f"At full force {passes} and {anneals} would do. On the sizes that were tried (grooves "
        "closed and half open, the sizes that matter, a fine mesh between) no way takes fewer: "
        "proven."
    )
    yield _over_all(found)


def _over_all(found: Route) -> str:
    if found.fewest_over != "all_sizes" or found.fewest_gap is None:
        return "Over all sizes between them nothing is proven yet: --prove looks for that."
    if found.fewest_gap < 1e-6:
        return "Over all sizes whatever no way takes fewer: proven."
    return (
        f"Over all sizes whatever at most {found.fewest_gap:.2f} of a pass could be saved on "
        f"{found.fewest_cost:.2f} (anneals and turns counted in passes): proven."
    )


def _show_notes(found: Route, paper: Paper) -> None:
    """What is to be done at a step, told once for all the steps that it is for."""
    from lemel.words import say

    steps: dict[str, list[str]] = {}
    for one in found.steps:
        if one.note:
            steps.setdefault(say(one.note), []).append(str(one.n))
    if steps:
        paper.head("How")
    for note, numbers in steps.items():
        paper.line(f"  {', '.join(numbers)}: {note}")


def _route_row(one: Step) -> tuple[str, ...]:
    return (
        str(one.n),
        one.tool,
        f"{one.size_mm:.2f}" if one.size_mm else "",
        str(one.passes) if one.passes else "",
        f"{one.width_mm:.1f}",
        f"{one.length_mm:.0f}",
        f"{one.hv:.0f}",
        _turn(one.screw_turn),
        "" if one.limit == "none" else one.limit,
        one.effort.replace("_", " "),
    )


def _turn(turns: float | None) -> str:
    """Turns of the screw to the nearest eighth, as a hand reads them."""
    if not turns:
        return ""
    eighths = round(turns * 8)
    whole, part = divmod(abs(eighths), 8)
    if eighths == 0:
        return "a hair"
    words = " ".join(str(one) for one in (whole or "", Fraction(part, 8) if part else "") if one)
    return f"-{words}" if eighths < 0 else words


def _many(count: int, of: str) -> str:
    """3 passes, 1 anneal."""
    more = "es" if of.endswith("s") else "s"
    return f"{count} {of}{'' if count == 1 else more}"
