"""The Quillmarsh month, planned once for all claims about it."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import pytest

from lemel import files
from lemel.plan import Plan, PlanProblem, do


@pytest.fixture(scope="session")
def month() -> PlanProblem:
    with resources.as_file(resources.files("lemel.demo") / "quillmarsh") as folder:
        return files.read_plan_folder(Path(folder))


@pytest.fixture(scope="session")
def plan(month: PlanProblem) -> Plan:
    return do(month)
