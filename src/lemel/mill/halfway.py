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

    Metal that was worked but not annealed since it was cast keeps the section of the filed
    bar as `cast_section`, so that a new plan knows its strain. Raises BadInput for a step
    that the route does not have.
    """
    at = step_of(route, step)
    density = matter_of(problem.bar.body, tables).density_g_cm3
    done = route.steps[:step]
    soft = problem.bar.soft_section
    for one in done:
        if one.tool == "anneal":
            soft = one.section
    worked = any(one.passes for one in done)
    cast = problem.bar.cast_section
    if soft is None and problem.bar.kind == "ingot" and cast is None:
        filed = [one for one in done if one.tool == "file"]
        cast = filed[-1].section if filed else problem.bar.section
    return replace(
        problem.bar,
        id=f"{problem.bar.id}/{step}",
        kind="working" if worked or soft is not None else problem.bar.kind,
        section=at.section,
        length_mm=at.length_mm,
        mass_g=at.section.area_mm2 * at.length_mm * density / 1000,
        soft_section=soft,
        cast_section=None if soft is not None else cast,
        anneals=problem.bar.anneals + sum(one.tool == "anneal" for one in done),
        parents=(problem.bar.id,),
        faults=() if worked or any(one.tool == "file" for one in done) else problem.bar.faults,
    )
