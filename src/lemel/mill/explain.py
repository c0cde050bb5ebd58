"""What a route's reader may ask: which limit binds, how wide the strip may come out."""

from __future__ import annotations

from collections import Counter

from lemel.mill.build import Task
from lemel.mill.faces import MillProblem, Route
from lemel.mill.spread import width_rolled_mm
from lemel.values import Quantity, Saying

__all__ = ["explain"]

#: Limits of the machine, of which a wider or thicker bar feels more.
_MACHINE = ("torque", "frame", "spring")


def explain(route: Route, task: Task, problem: MillProblem) -> tuple[Saying, ...]:
    """The sayings beside a route."""
    said = [_binding(route), _spread(route, task, problem), _last_pass(route, task)]
    return tuple(saying for saying in said if saying is not None)


def _binding(route: Route) -> Saying | None:
    """The limit that binds most passes, if it is the machine's."""
    counts = Counter(step.limit for step in route.steps if step.limit in _MACHINE)
    if not counts:
        return None
    limit, passes = counts.most_common(1)[0]
    if passes < 4:
        return None
    return Saying(
        "mill.explain.narrower_bar",
        {
            "limit": limit,
            "passes": Quantity(passes, "count"),
            "of": Quantity(route.passes, "count"),
        },
    )


def _spread(route: Route, task: Task, problem: MillProblem) -> Saying | None:
    """The band of width for strip from square bar, until the spread is learnt."""
    flats = [step for step in route.steps if step.tool == "flats" and step.section.kind == "flat"]
    mill, rules = task.bench.mill, task.rules
    if not flats or mill is None or problem.spread_factor is not None:
        return None
    first, last = flats[0], flats[-1]
    entry = [step for step in route.steps if step.n < first.n and step.section.kind == "square"]
    if not entry or problem.need.area_mm is not None:
        return None
    side = entry[-1].section.dim("side")
    widths = [
        width_rolled_mm(side, side, last.section.thickness_mm, mill.roll_r_mm, factor, rules)
        for factor in (
            rules.spread_factor * rules.spread_band_lo,
            rules.spread_factor * rules.spread_band_hi,
        )
    ]
    return Saying(
        "mill.explain.spread",
        {
            "lo": Quantity(widths[0], "mm"),
            "hi": Quantity(widths[1], "mm"),
            "side": Quantity(side, "mm"),
        },
    )


def _last_pass(route: Route, task: Task) -> Saying | None:
    """A heavy last pass leaves wide sheet full in the middle."""
    flats = [step for step in route.steps if step.tool == "flats"]
    mill, rules = task.bench.mill, task.rules
    if len(flats) < 2 or mill is None:
        return None
    before, last = flats[-2].section.thickness_mm, flats[-1].section.thickness_mm
    wide = flats[-1].width_mm > rules.flat_wide_share * mill.barrel_mm
    if not wide or 1 - last / before <= rules.flat_last_reduction:
        return None
    return Saying("mill.explain.even_out", {"size": Quantity(last, "mm")})
