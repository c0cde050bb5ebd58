"""The API put together: every address, and how each kind of fault goes out."""

from __future__ import annotations

import json
from importlib import import_module

from django.core.exceptions import RequestDataTooBig, SuspiciousOperation
from django.http import HttpRequest, HttpResponse
from ninja.errors import HttpError, ValidationError

from lemel.api.described import make_api
from lemel.api.problems import Halted, for_fault, for_objections, for_schema, problem
from lemel.errors import BadInput, NotKnown, Stopped

__all__ = ["api", "description"]

#: The modules that have addresses, in the order of the description.
_AREAS = (
    "now", "people", "lots", "orders", "plans", "heats", "heat_log", "runs", "faults", "stock",
    "tools", "papers", "parcels",
)  # fmt: skip

api = make_api()
for _area in _AREAS:
    api.add_router("", import_module(f"lemel.api.{_area}").router)


def description() -> str:
    """The OpenAPI file as text, the same for the same version."""
    return json.dumps(api.get_openapi_schema(), indent=1, sort_keys=True) + "\n"


@api.exception_handler(BadInput)
def bad_input(request: HttpRequest, fault: BadInput) -> HttpResponse:
    """A field that cannot be used, or something that is not there."""
    return for_fault(request, fault)


@api.exception_handler(NotKnown)
def not_known(request: HttpRequest, fault: NotKnown) -> HttpResponse:  # noqa: ARG001
    """No table or model covers it."""
    return problem(
        422, f"{fault.what} is not known: {fault.why} {fault.do}", field=fault.what, value=None,
        allowed="what the tables cover", do=fault.do,
    )  # fmt: skip


@api.exception_handler(Halted)
def halted(request: HttpRequest, stop: Halted) -> HttpResponse:  # noqa: ARG001
    """An act that must be answered first."""
    return for_objections(stop.objections)


@api.exception_handler(Stopped)
def stopped(request: HttpRequest, stop: Stopped) -> HttpResponse:  # noqa: ARG001
    """Stopped by somebody."""
    return problem(409, "Stopped, and nothing was half written.")


@api.exception_handler(ValidationError)
def not_in_shape(request: HttpRequest, fault: ValidationError) -> HttpResponse:  # noqa: ARG001
    """What was sent has not the described shape."""
    return for_schema(fault.errors)


@api.exception_handler(HttpError)
def refused(request: HttpRequest, fault: HttpError) -> HttpResponse:  # noqa: ARG001
    """JSON that cannot be read, and the like."""
    return problem(fault.status_code, str(fault))


@api.exception_handler(RequestDataTooBig)
def too_big(request: HttpRequest, fault: Exception) -> HttpResponse:  # noqa: ARG001
    """More than may be sent at once."""
    return problem(413, "That is too much at once. Send it in parts.")


@api.exception_handler(SuspiciousOperation)
def suspicious(request: HttpRequest, fault: Exception) -> HttpResponse:  # noqa: ARG001
    """A request that makes no sense."""
    return problem(400, "That could not be read.")
