"""The kinds of long work, each from plain data to plain data."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from lemel.errors import BadInput
from lemel.values import Watch, from_plain, quiet, to_plain

__all__ = ["KINDS", "do"]

#: Something shown while the work goes on to a better answer.
Preview = Callable[[Any], None]

#: A finer search: the gap at which it may end and its effort, as multiples of what was asked.
_FINER_GAP, _FINER_WORK = 0.1, 5


def do(
    kind: str, asked: Mapping[str, Any], *, watch: Watch = quiet, preview: Preview = lambda _: None
) -> Any:
    """The answer of one job as plain data.

    Raises BadInput for an unknown kind or a question that does not hang together, Stopped
    when the watch says so.
    """
    if kind not in KINDS:
        raise BadInput("kind", kind, ", ".join(KINDS), "Ask for one of these.")
    return KINDS[kind](asked, watch, preview)


def _plan(asked: Mapping[str, Any], watch: Watch, preview: Preview) -> Any:
    """`problem` -> the plan; with `finer` the plan is shown first and then searched further."""
    from lemel.plan import PlanProblem
    from lemel.plan import do as make

    problem = from_plain(PlanProblem, asked["problem"])
    plan = make(problem, watch=watch)
    if not asked.get("finer"):
        return to_plain(plan)
    preview(to_plain(plan))
    options = replace(
        problem.options,
        gap=problem.options.gap * _FINER_GAP,
        work_most=problem.options.work_most * _FINER_WORK,
    )
    return to_plain(make(replace(problem, options=options), watch=watch))


def _at_hand(asked: Mapping[str, Any], watch: Watch, _: Preview) -> Any:
    """`problem` -> by line what meets it without a heat, or null."""
    from lemel.plan import PlanProblem, at_hand

    return to_plain(at_hand(from_plain(PlanProblem, asked["problem"]), watch=watch))


KINDS: Mapping[str, Callable[[Mapping[str, Any], Watch, Preview], Any]] = {
    "plan": _plan,
    "at_hand": _at_hand,
}
