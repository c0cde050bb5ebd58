"""Whatever is sent, the API keeps its word: no fault of ours, no answer but the described ones.

1500 requests drawn without chance in every run of the tests, 20 000 in `make soak`; afterwards
the book is whole.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from django.core.wsgi import get_wsgi_application
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from lemel.api.routes import description
from lemel.book import open_book, plans_at_work
from lemel.serve import point_at

CHECKS = [
    not_a_server_error, status_code_conformance, content_type_conformance,
    response_headers_conformance, response_schema_conformance,
]  # fmt: skip
#: Asked seldom: a process of its own, a whole copy of the book, pages that are typeset.
SLOW = {
    "POST /api/jobs", "POST /api/backups", "GET /api/export", "GET /api/cards", "GET /api/audit",
    "GET /api/plan", "GET /api/plans/compare",
}  # fmt: skip
QUICK_EACH, SLOW_EACH, SOAK_EACH = 12, 2, 160
#: Names that chance would never hit upon.
NAMES: dict[str, list[Any]] = {
    "lot": ["S1", "G8"], "about": ["S1", "S2"], "body": ["S1", "G8"], "bodies": [["S1", "S2"]],
    "heat": ["H1", "H2", "H3"], "gate": ["magnet", "stones"], "what": ["fine/Ag", "labour_per_h"],
    "lots": [["S1"]], "into": ["N1"], "line": ["O6.1"], "lost_in": ["mill"],
    "charged": ["S1"], "really": ["S2"], "parts_g": [{"N2": 1.5}], "order": ["O6", "O1"],
}  # fmt: skip


def _operations() -> list[Any]:
    schema = schemathesis.openapi.from_dict(json.loads(description()))
    return [one.ok() for one in schema.get_all_operations()]


@pytest.fixture(scope="module")
def served(month: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, list[Any]]]:
    """A book to be maltreated, which must be whole in the end; the names in it."""
    folder = tmp_path_factory.mktemp("fuzzed") / "book"
    shutil.copytree(month, folder)
    with open_book(folder) as book:
        (plan,) = plans_at_work(book)
        steps = [step.name for step in book.steps(plan)]
        owners = list(book.owners())
    yield {**NAMES, "plan": [plan], "step": steps[:8], "owner": owners, "id": [plan, "S1"]}
    with open_book(folder) as book:
        found = book.audit()
        assert found.whole, found.faults


@pytest.fixture(autouse=True)
def _at_the_book(served: dict[str, list[Any]], tmp_path_factory: pytest.TempPathFactory) -> None:
    point_at(next(tmp_path_factory.getbasetemp().glob("fuzzed*/book")))


def _told(case: Any, names: dict[str, list[Any]], data: st.DataObject) -> None:
    """Some of the drawn words are replaced by names that the book knows."""
    for part in (case.query, case.body):
        for key in part if isinstance(part, dict) else ():
            if key in names and data.draw(st.booleans()):
                part[key] = data.draw(st.sampled_from(names[key]))


def _ask(operation: Any, served: dict[str, list[Any]], each: int) -> None:
    drawn = operation.as_strategy() | operation.as_strategy(
        generation_mode=schemathesis.GenerationMode.NEGATIVE
    )
    operation.app = get_wsgi_application()

    @seed(1)
    @settings(
        max_examples=each, phases=[Phase.generate], deadline=None, derandomize=True,
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(case=drawn, data=st.data())
    def ask(case: Any, data: st.DataObject) -> None:
        _told(case, served, data)
        answer = case.call(app=operation.app, base_url="http://localhost")
        case.validate_response(answer, checks=CHECKS)

    ask()


@pytest.mark.parametrize("operation", _operations(), ids=lambda one: one.label)
def test_drawn_requests_are_answered_as_described(operation, served):
    _ask(operation, served, SLOW_EACH if operation.label in SLOW else QUICK_EACH)


@pytest.mark.soak
@pytest.mark.parametrize("operation", _operations(), ids=lambda one: one.label)
def test_many_drawn_requests_are_answered_as_described(operation, served):
    _ask(operation, served, SOAK_EACH // 16 if operation.label in SLOW else SOAK_EACH)


def test_the_requests_are_as_many_as_is_said():
    labels = [one.label for one in _operations()]
    slow = sum(label in SLOW for label in labels)
    assert (len(labels) - slow) * QUICK_EACH + slow * SLOW_EACH >= 1500
    assert (len(labels) - slow) * SOAK_EACH + slow * SOAK_EACH // 16 >= 20_000
