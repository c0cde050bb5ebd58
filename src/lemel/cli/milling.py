"""`lemel mill`: from bar to stock; which start, what a crack asks, what the bench has measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import INFEASIBLE, Told, plain
from lemel.cli.faults import STOPPED
from lemel.cli.given import NUMBER
from lemel.cli.mill_view import show_mill
from lemel.cli.plots import put_drawing, writable
from lemel.cli.run import verb
from lemel.cli.watching import watching
from lemel.errors import BadInput
from lemel.files import MillFile, read_mill
from lemel.mill import (
    CRACKS,
    BarVerdict,
    CrackAdvice,
    Lessons,
    MillNeed,
    MillProblem,
    Route,
    Step,
    crack,
    crack_in,
    learn,
)
from lemel.mill import do as find_route
from lemel.mill import need as judge_starts
from lemel.values import Watch, stretch

if TYPE_CHECKING:
    from lemel.cli.mill_view import Milled

__all__ = ["mill"]


@dataclass(frozen=True, slots=True)
class _Crack:
    """A crack as it is seen; `after` None: in the bar as the file has it."""

    kind: str
    place_mm: float
    depth_mm: float
    after: int | None


@verb("mill")
@click.argument("file", metavar="FILE")
@click.option("--crack", "kind", metavar="KIND", help=f"It cracked: {', '.join(CRACKS)}.")
@click.option("--after", type=NUMBER, metavar="STEP", help="The step after which it was seen.")
@click.option("--place", type=NUMBER, metavar="MM", help="Where, from the leading end.")
@click.option("--depth", type=NUMBER, metavar="MM", help="How far the crack goes in.")
@click.option("--prove", is_flag=True, help="Look for a proof over all sizes; takes seconds.")
@click.option("--plot", metavar="FILE.svg", help="Draw how hard the metal grows, pass by pass.")
def mill(
    *,
    file: str,
    kind: str | None,
    after: float | None,
    place: float | None,
    depth: float | None,
    prove: bool,
    plot: str | None,
) -> Told:
    """FILE holds a bar (or several to choose from), the stock that is wanted and the tools.

    See docs/files.md. After a crack: `--crack edge --after 5 --place 20 --depth 0.8`; without
    `--after` the bar of the file is the cracked one, as it was measured.
    """
    seen = _seen(kind, after, place, depth)
    wanted = writable(plot) if plot is not None else None
    with watching("mill") as watch:
        found = _work(read_mill(file), seen, prove, watch)
        interrupted = watch.interrupted
    payload = _payload(found)
    if wanted is not None:
        payload["plot"] = _plotted(found, wanted)
    code = INFEASIBLE if found.route is None or found.route.status == "infeasible" else 0
    code = STOPPED if interrupted else code
    return Told(payload, lambda paper: show_mill(found, payload.get("plot"), paper), code)


def _seen(
    kind: str | None, after: float | None, place: float | None, depth: float | None
) -> _Crack | None:
    if kind is None:
        for name, value in (("--after", after), ("--place", place), ("--depth", depth)):
            if value is not None:
                raise BadInput("--crack", "missing", ", ".join(CRACKS), f"{name} belongs to it.")
        return None
    if kind not in CRACKS:
        raise BadInput("--crack", kind, ", ".join(CRACKS), "Say what the crack looks like.")
    if depth is None:
        do = "Measure how far the crack goes in."
        raise BadInput("--depth", "missing", "millimetres, more than 0", do)
    if place is None and kind == "cross":
        do = "Measure from the leading end."
        raise BadInput("--place", "missing", "millimetres from the leading end", do)
    if after is not None and after != int(after):
        raise BadInput("--after", after, "the number of a step", "Give the number of a step.")
    return _Crack(kind, place or 0.0, depth, None if after is None else int(after))


def _work(given: MillFile, seen: _Crack | None, prove: bool, watch: Watch) -> Milled:
    """Learn, choose the start, find the route, and again after a crack."""
    from lemel.cli.mill_view import Milled

    problem, lessons = given.problem(given.bars[0], prove=prove), Lessons()
    if given.measured is not None:
        problem, lessons = learn(problem, given.measured)
    starts = None
    if len(given.bars) > 1:
        starts = judge_starts(
            given.need, given.bars, problem.kit, given.bars[0].body,
            spread_factor=problem.spread_factor, working=problem.working, pace=problem.pace,
            watch=stretch(watch, 0.0, 0.3),
        )  # fmt: skip
        best = _best(starts)
        if best is None:
            return Milled(problem, None, lessons, starts, None)
        bar = next(bar for bar in given.bars if bar.id == best.bar)
        problem = given.problem(bar, prove=prove)
        if given.measured is not None:
            problem, lessons = learn(problem, given.measured)
    ahead = stretch(watch, 0.3 if starts else 0.0, 1.0)
    if seen is None:
        return Milled(problem, find_route(problem, watch=ahead), lessons, starts, None)
    advice = _cracked(problem, seen, ahead)
    return Milled(problem, advice.route, lessons, starts, advice)


def _best(starts: MillNeed) -> BarVerdict | None:
    """The start that serves the need in the fewest minutes; None where none does."""
    fit = [one for one in starts.verdicts if one.fits]
    return min(fit, key=lambda one: (one.minutes, one.bar), default=None)


def _cracked(problem: MillProblem, seen: _Crack, watch: Watch) -> CrackAdvice:
    try:
        if seen.after is None:
            return crack_in(problem, seen.kind, seen.place_mm, seen.depth_mm, watch=watch)
        route = find_route(problem, watch=stretch(watch, 0.0, 0.5))
        return crack(
            problem, route, seen.after, seen.kind, seen.place_mm, seen.depth_mm,
            watch=stretch(watch, 0.5, 1.0),
        )  # fmt: skip
    except BadInput as fault:
        names = {"step": "--after", "place_mm": "--place", "depth_mm": "--depth"}
        if fault.field not in names:
            raise
        raise BadInput(names[fault.field], fault.value, fault.allowed, fault.do) from None


def _payload(found: Milled) -> dict[str, Any]:
    payload = {} if found.route is None else _route(found.route)
    if found.starts is not None:
        payload["starts"] = [plain(one) for one in found.starts.verdicts]
        payload["start"] = found.problem.bar.id if found.route else None
        if found.route is None:
            payload |= {"status": "infeasible", "steps": []}
            payload["objections"] = [plain(one) for one in found.starts.objections]
            payload["ways_out"] = [plain(one) for one in found.starts.ways_out]
    if found.advice is not None:
        payload["crack"] = {k: v for k, v in plain(found.advice).items() if k != "route"}
        payload.setdefault("status", "infeasible")
    if found.lessons != Lessons():
        payload["learnt"] = plain(found.lessons)
    return payload


def _route(found: Route) -> dict[str, Any]:
    payload: dict[str, Any] = plain(found)
    payload["steps"] = [_step(one) for one in found.steps]
    payload["proven"] = found.proof.status == "optimal"
    payload["lower_bound"] = found.proof.bound
    payload["fewest_gap"] = found.fewest_gap
    payload["offcut_g"] = sum(one.mass_g for one in found.offcuts)
    payload["mass_g"] = sum(one.mass_g for one in found.stock)
    return payload


def _step(one: Step) -> dict[str, Any]:
    step: dict[str, Any] = plain(one)
    step["strain_since_soft"] = step.pop("strain")
    return step


def _plotted(found: Milled, path: Any) -> str | None:
    from lemel.sketch import hardness

    drawn = hardness(found.route, temper=found.problem.need.temper) if found.route else None
    return None if drawn is None else put_drawing(drawn.svg, path)
