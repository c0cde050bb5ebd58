"""The same acts as the pages for programs: JSON over the book, described by OpenAPI.

Comes in: requests of programs on this machine. Goes out: JSON, or problem+json. May ask: book and
every room below it. `urls` has the addresses; it needs Django configured, so `serve` loads it.
"""

__all__: list[str] = []
