"""Everything that can be looked at is answered, in the described shape, by this machine alone."""

from __future__ import annotations

import json
import re

import pytest
from ninja import Schema

from lemel.api.routes import api as described
from lemel.api.routes import description

PLAN = "{plan}"
#: What each address needs to answer.
ASKED = {
    "/api/belief": {"lot": "S1"}, "/api/gates": {"lot": "S1"}, "/api/lot": {"id": "S1"},
    "/api/readings": {"about": "S1"}, "/api/photos": {"about": "S1"},
    "/api/statement": {"owner": "quillmarsh"}, "/api/statement.pdf": {"owner": "quillmarsh"},
    "/api/plan": {"id": PLAN}, "/api/steps": {"plan": PLAN}, "/api/cards": {"plan": PLAN},
    "/api/plans/compare": {"a": PLAN, "b": PLAN}, "/api/runs": {"plan": PLAN},
    "/api/heat": {"plan": PLAN, "heat": "H1"}, "/api/heats/log": {"plan": PLAN, "heat": "H1"},
    "/api/heats/offers": {"plan": PLAN, "heat": "H1"},
    "/api/faults": {"body": "S1"}, "/api/ancestry": {"body": "S1"}, "/api/descent": {"body": "S1"},
    "/api/origin": {"body": "S1"}, "/api/promise": {"body": "S1"}, "/api/labels": {"body": ["S1"]},
    "/api/origin-paper": {"body": "S1"}, "/api/tools/notes": {"kind": "saw", "id": "saw"},
}  # fmt: skip
#: What is not there in a month that nothing has happened in yet.
NOT_YET = {"/api/photo", "/api/receipt", "/api/stock-take", "/api/quote", "/api/paper", "/api/job"}
NOT_YET_ASKED = {"/api/photo": {"digest": "00"}, "/api/job": {"id": "none"}}


def _looks() -> list[str]:
    paths = described.get_openapi_schema()["paths"]
    return sorted(path for path, methods in paths.items() if "get" in methods)


@pytest.mark.parametrize("path", _looks())
def test_every_look_is_answered(api, path, problem_of):
    (plan,) = (one["id"] for one in api.get("plans").json())
    owner = next(iter(api.book.owners()))
    asked = ASKED.get(
        path, NOT_YET_ASKED.get(path, {"number": "R-0001"} if path in NOT_YET else {})
    )
    asked = {key: plan if one == PLAN else one for key, one in asked.items()}
    if "owner" in asked:
        asked["owner"] = owner
    answer = api.client.get(path, asked)
    if path in NOT_YET or path == "/api/heats/offers":
        problem_of(answer, 404)
    else:
        assert answer.status_code == 200, answer.content
        # A PDF names the standards that it keeps to by their addresses; nothing follows them.
        # and a drawing that it is SVG.
        is_pdf = answer["Content-Type"] == "application/pdf"
        assert is_pdf or not re.search(rb"https?://(?!www\.w3\.org/)", answer.content)


def test_the_description_is_the_same_twice_and_names_units():
    assert description() == description()
    for word in ("mass_g", "gross_mg", "fine_ng", "length_mm", "Idempotency-Key", "problem+json"):
        assert word in description()
    assert "http" not in re.sub(r'"scheme": "bearer"|"type": "http"', "", description())


def test_every_act_takes_a_key_and_every_address_tells_how_it_refuses():
    made = described.get_openapi_schema()
    for path, methods in made["paths"].items():
        for method, operation in methods.items():
            assert operation.get("summary"), path
            assert operation.get("description"), path
            assert {"401", "403", "404", "409", "413", "415", "422"} <= set(operation["responses"])
            keyed = {"$ref": "#/components/parameters/Key"} in operation.get("parameters", ())
            assert keyed == (method == "post"), path


def test_the_description_is_served_as_it_is_written(api):
    assert api.get("openapi.json").json() == json.loads(description())


def test_no_two_shapes_share_a_name():
    """The description knows them by name alone: the one would stand for the other."""
    found: dict[str, set[type]] = {}
    waiting: list[type] = [Schema]
    while waiting:
        for one in waiting.pop().__subclasses__():
            waiting.append(one)
            if one.__module__.startswith("lemel.api"):
                found.setdefault(one.__name__, set()).add(one)
    assert not {name for name, kinds in found.items() if len(kinds) > 1}
