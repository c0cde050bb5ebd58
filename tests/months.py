"""The Quillmarsh month, planned once in a run of tests for all rooms that look at it."""

from __future__ import annotations

from functools import cache

from lemel import files
from lemel.demo import quillmarsh
from lemel.plan import Plan, PlanProblem, do


@cache
def quillmarsh_problem() -> PlanProblem:
    """The month as its files tell it."""
    return files.read_plan_folder(quillmarsh())


@cache
def quillmarsh_plan() -> Plan:
    """The month as it is planned."""
    return do(quillmarsh_problem())
