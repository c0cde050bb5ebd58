"""Two plans side by side: what is met otherwise, charged otherwise, worth otherwise."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lemel.plan import Plan
from lemel.values import to_plain

__all__ = ["compared"]


def compared(a: Plan, b: Plan) -> dict[str, Any]:
    """What differs, each as text before and after; "" where one plan has nothing to say."""
    return {
        "a": a.id, "b": b.id,
        "asked": _changes(_asked(a), _asked(b)),
        "lines": _changes(_lines(a), _lines(b)),
        "heats": _changes(_heats(a), _heats(b)),
        "worth": _changes(_worth(a), _worth(b)),
    }  # fmt: skip


def _changes(before: Mapping[str, str], after: Mapping[str, str]) -> list[dict[str, str]]:
    return [
        {"about": one, "before": before.get(one, ""), "after": after.get(one, "")}
        for one in dict.fromkeys([*before, *after])
        if before.get(one, "") != after.get(one, "")
    ]


def _asked(plan: Plan) -> dict[str, str]:
    flat = to_plain(plan.made_from)
    options = flat.pop("options")
    return {name: _text(one) for name, one in {**flat, **options}.items()}


def _lines(plan: Plan) -> dict[str, str]:
    return {one.line: " ".join([one.met_by, *one.uses]) for one in plan.lines}


def _heats(plan: Plan) -> dict[str, str]:
    return {
        one.id: ", ".join(f"{line.body} {line.mass_g:.3f} g" for line in one.charge.lines)
        for one in plan.heats
    }


def _worth(plan: Plan) -> dict[str, str]:
    flat = to_plain(plan.worth) if plan.worth is not None else {}
    return {name: _text(one) for name, one in flat.items() if not isinstance(one, list)}


def _text(value: Any) -> str:
    if isinstance(value, Mapping):
        return " ".join(_text(one) for one in value.values())
    if isinstance(value, list):
        return ", ".join(_text(one) for one in value)
    return "" if value is None else str(value)
