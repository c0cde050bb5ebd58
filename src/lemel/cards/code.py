"""The code in a card's corner: which plan and which heat or bar it belongs to, for a reader."""

from __future__ import annotations

import io
from typing import Any

__all__ = ["code_of"]

_SIDE_MM = 17.0


def code_of(plan: str, about: str) -> dict[str, Any] | None:
    """A two-dimensional code (ISO/IEC 18004) that says "lemel, plan, id"; None without a plan."""
    if not plan:
        return None
    import segno

    text = f"lemel {plan} {about}"
    page = io.BytesIO()
    segno.make(text, error="m", micro=False).save(
        page, kind="svg", border=0, xmldecl=False, svgns=True, nl=False
    )
    return {
        "svg": page.getvalue().decode("utf-8"),
        "width": _SIDE_MM,
        "height": _SIDE_MM,
        "alt": text,
    }
