"""The metal as it is after a step of a route: the start of a new plan."""

from __future__ import annotations

from dataclasses import replace

from lemel.errors import require
from lemel.mill.faces import MillProblem, Route, Step
from lemel.mill.matter import matter_of
from lemel.tables import Tables
from lemel.values import Bar

__all__ = ["bar_after", "step_of"]


def step_of(route: Route, step: int) -> Step:
    """A step of a route by its number; BadInput if there is none."""
    require(
        1 <= step <= len(route.steps), "step", step, f"1 to {len(route.steps)}",
        "Give the number of a step of this route.",
    )  # fmt: skip
    return route.steps[step - 1]


def bar_after(
    problem: MillProblem, route: Route, step: int, *, tables: Tables | None = None
) -> Bar:
    """One piece of the bar as it is after a step, to be planned on from there.

    Metal that was worked but never annealed has a history that no bar can tell: its
    softening is left open, and a new plan anneals it first. Raises BadInput for a step that
    the route does not have.
    """
    at = step_of(route, step)
    density = matter_of(problem.bar.body, tables).density_g_cm3
    done = route.steps[:step]
    soft = problem.bar.soft_section
    for one in done:
        if one.tool == "anneal":
            soft = one.section
    worked = any(one.passes for one in done)
    return replace(
        problem.bar,
        id=f"{problem.bar.id}/{step}",
        kind="working" if worked or soft is not None else problem.bar.kind,
        section=at.section,
        length_mm=at.length_mm,
        mass_g=at.section.area_mm2 * at.length_mm * density / 1000,
        soft_section=soft,
        anneals=problem.bar.anneals + sum(one.tool == "anneal" for one in done),
        parents=(problem.bar.id,),
    )
