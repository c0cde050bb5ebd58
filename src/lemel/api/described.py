"""The description of the API (OpenAPI): every act with its key, every refusal with its shape."""

from __future__ import annotations

from typing import Any

from ninja import NinjaAPI
from ninja.openapi.schema import OpenAPISchema

from lemel import __version__
from lemel.api.examples import EXAMPLES
from lemel.api.frame import KEY_HEADER, KEY_PATTERN
from lemel.api.problems import PROBLEM, PROBLEM_SCHEMA

__all__ = ["Described", "make_api"]

_PLACE = "/api/"
_ABOUT = """All that the pages do, for programs on this machine.

Keys carry their unit: `mass_g` grams, `gross_mg` milligrams, `fine_ng` nanograms of an element,
`length_mm` millimetres, `celsius` degrees Celsius, `minutes`; `..._millesimal` parts in a thousand,
`..._percent` percent, other shares fractions of one. Money is a decimal as text in the book's
currency. Hours are UTC, `2031-10-09T15:20:00Z`; days `2031-10-09`.

Ids may hold any sign, so they stand in the query or the body and never in a path. Lists come a page
at a time where a book may grow: send `after` again until it comes back empty.

Every POST takes an `Idempotency-Key` that the sender draws at random. The same key with the same
content is answered as the first time and does nothing; with another content it is refused (409).

Refusals are `application/problem+json` with `field`, `value`, `allowed`, `do` (all of them in
`errors`); an act that must be answered first comes back as 409 with `objections`, and nothing of it
was written. On this machine nobody logs in unless the book has a password: then a device sends
`Authorization: Bearer` and the token that `lemel serve --new-token NAME` has made for it."""
_REFUSALS = {
    "400": "It could not be read.",
    "401": "The book has a password, and no token of a device was sent.",
    "403": "Pages of other sites may not speak to this book.",
    "404": "What was asked for is not there.",
    "409": "Not as things stand: an objection to answer first, or a key that was used otherwise.",
    "413": "Too much at once.",
    "415": "Not in this form.",
    "422": "Something that was sent cannot be used; each fault by its field.",
}


class Described(NinjaAPI):
    """The API with its description made whole."""

    def get_openapi_schema(
        self, *, path_prefix: str | None = None, path_params: dict[str, Any] | None = None
    ) -> OpenAPISchema:
        """OpenAPI 3.1: Ninja's, with what every address has in common."""
        made = super().get_openapi_schema(
            path_prefix=path_prefix or _PLACE, path_params=path_params
        )
        parts = made.setdefault("components", {})
        parts.setdefault("schemas", {})["Problem"] = PROBLEM_SCHEMA
        parts["responses"] = {f"Refused{code}": _refusal(said) for code, said in _REFUSALS.items()}
        parts["parameters"] = {"Key": _KEY}
        parts["securitySchemes"] = {"device": {"type": "http", "scheme": "bearer"}}
        made["security"] = [{}, {"device": []}]
        for path, methods in made["paths"].items():
            for method, operation in methods.items():
                _complete(path, method, operation)
        return made


_KEY = {
    "name": KEY_HEADER, "in": "header", "required": False,
    "description": "drawn at random by the sender; the same act again is answered as before",
    "schema": {"type": "string", "pattern": KEY_PATTERN},
}  # fmt: skip


def _refusal(said: str) -> dict[str, Any]:
    schema = {"$ref": "#/components/schemas/Problem"}
    return {"description": said, "content": {PROBLEM: {"schema": schema}}}


def _complete(path: str, method: str, operation: dict[str, Any]) -> None:
    answers = operation["responses"]
    operation["responses"] = {str(code): one for code, one in answers.items()}
    for code in _REFUSALS:
        operation["responses"][code] = {"$ref": f"#/components/responses/Refused{code}"}
    if method == "post":
        operation.setdefault("parameters", []).append({"$ref": "#/components/parameters/Key"})
        for content in operation.get("requestBody", {}).get("content", {}).values():
            if path in EXAMPLES:
                content["example"] = EXAMPLES[path]
    bytes_out = operation["responses"].get("200", {}).get("content", {})
    json_out = bytes_out.get("application/json", {}).get("schema", {})
    if json_out.get("format") == "binary":
        media = "image/*" if path.endswith("/photo") else "application/pdf"
        operation["responses"]["200"]["content"] = {media: {"schema": {}}}


def make_api() -> Described:
    """The API before its addresses are laid."""
    return Described(
        title="lemel", version=__version__, description=_ABOUT, urls_namespace="api",
        docs_url=None, openapi_url="/openapi.json",
    )  # fmt: skip
