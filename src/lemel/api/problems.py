"""What went wrong as `application/problem+json` (RFC 9457): field, value, allowed, do.

Several faults stand in `errors`, the first one beside `title` too; what stopped an act of the
book stands in `objections`. Never a traceback, never a page.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse

from lemel.api.shapes import plain_out
from lemel.errors import BadInput
from lemel.values import Objection

__all__ = ["PROBLEM", "PROBLEM_SCHEMA", "Halted", "for_fault", "for_objections", "problem"]

PROBLEM = "application/problem+json"
#: A value is told back no longer than this.
_LONGEST = 200
_TITLES = {
    400: "That could not be read",
    401: "This book wants a token",
    403: "Not from there",
    404: "Nothing lies here",
    405: "Not in this way",
    409: "Not as things stand",
    413: "Too much at once",
    415: "Not in this form",
    422: "Something cannot be used",
    500: "Our fault",
}
_FAULT: dict[str, Any] = {
    "field": {"type": "string", "description": "which field, by its path in what was sent"},
    "value": {"description": "what was given, cut short"},
    "allowed": {"type": "string", "description": "what it takes"},
    "do": {"type": "string", "description": "what to do"},
}
#: The schema of every problem.
PROBLEM_SCHEMA: dict[str, Any] = {
    "type": "object",
    "required": ["type", "title", "status", "detail"],
    "properties": {
        "type": {"type": "string"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        **_FAULT,
        "errors": {
            "type": "array",
            "items": {"type": "object", "properties": _FAULT, "required": list(_FAULT)},
        },
        "objections": {"type": "array", "items": {"$ref": "#/components/schemas/Objected"}},
    },
}


class Halted(Exception):
    """An act of the book that stopped: nothing was written, and these say why."""

    def __init__(self, objections: Iterable[Objection]) -> None:
        super().__init__("halted")
        self.objections = tuple(objections)


def problem(status: int, detail: str, **more: Any) -> HttpResponse:
    """One problem as an answer."""
    said = {
        "type": "about:blank", "title": _TITLES.get(status, "Not done"), "status": status,
        "detail": detail, **more,
    }  # fmt: skip
    return HttpResponse(json.dumps(said, ensure_ascii=False), PROBLEM, status)


def for_fault(request: HttpRequest, fault: BadInput) -> HttpResponse:
    """Bad input: what was asked for is not there (GET), or what was sent cannot be used."""
    status = 404 if request.method == "GET" else 409 if fault.field == "key" else 422
    if request.method == "GET" and fault.field in ("most", "since", "until"):
        status = 422
    errors = [_told(one) for one in fault.all]
    return problem(status, str(errors[0].pop("said")), **errors[0], errors=_without(errors))


def _told(fault: BadInput) -> dict[str, Any]:
    return {
        "field": fault.field, "value": _short(fault.value), "allowed": fault.allowed,
        "do": fault.do, "said": f"{fault.field}: it takes {fault.allowed}. {fault.do}",
    }  # fmt: skip


def _without(errors: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [{key: one[key] for key in _FAULT} for one in errors]


def _short(value: Any) -> Any:
    """A value that JSON has, cut short; anything else as text."""
    if value is None or isinstance(value, bool | int):
        return value
    if isinstance(value, float) and math.isfinite(value):
        return value
    text = value if isinstance(value, str) else str(plain_out(value))
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST]}..."


def for_objections(found: Iterable[Objection]) -> HttpResponse:
    """What an act stopped for; it was not written."""
    told = [plain_out(one) for one in found]
    detail = " ".join(str(one["said"]) for one in told) or "It stopped."
    return problem(409, detail, objections=told)


def for_schema(errors: Iterable[Mapping[str, Any]]) -> HttpResponse:
    """What does not fit the described shape, every fault of it."""
    told = [_of_schema(one) for one in errors]
    first = told[0]
    detail = f"{first['field']}: it takes {first['allowed']}. {first['do']}"
    return problem(422, detail, **first, errors=told)


def _of_schema(error: Mapping[str, Any]) -> dict[str, Any]:
    place = [str(part) for part in error.get("loc", ())]
    # The first part says whether it was body, query, path or header, the next one the argument.
    inside = place[2:] if place[:1] == ["body"] and len(place) > 2 else place[1:] or place
    what = str(error.get("msg", "what the description says"))
    ctx = {key: one for key, one in dict(error.get("ctx") or {}).items() if key != "error"}
    allowed = str(ctx.get("expected") or what.removeprefix("Value error, ")).rstrip(".")
    return {
        "field": ".".join(inside), "value": _short(error.get("input")),
        "allowed": allowed[:1].lower() + allowed[1:], "do": "See /api/openapi.json for its shape.",
    }  # fmt: skip
