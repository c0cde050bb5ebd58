"""The room's own figures, from the table `blend_rules`."""

from __future__ import annotations

from lemel.tables import Tables, shipped

__all__ = ["rule"]


def rule(key: str, tables: Tables | None) -> float:
    """One figure of the table `blend_rules`; every one may be overridden by the house."""
    return (tables or shipped()).row("blend_rules", key).number("value")
