"""The same acts as the pages for programs: JSON over the book, described by OpenAPI.

Comes in: requests of programs on this machine. Goes out: JSON, or problem+json. May ask: book and
every room below it. `urls` has the addresses; they need Django configured, so `serve` loads them,
and `description` does when it is first asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lemel.api.routes import description

__all__ = ["description"]


def __getattr__(name: str) -> Any:
    if name != "description":
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from lemel.api.routes import description

    return description
