"""The one door to the typesetter: cards as plain data in, PDF out, the same bytes each time."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from functools import cache
from importlib import resources
from typing import Any

from lemel.errors import Broken
from lemel.sketch import Drawing

__all__ = ["UNIVERSAL", "Card", "drawing", "press"]

#: A card as the templates read it.
Card = Mapping[str, Any]
#: The accessible form of PDF, which also refuses a picture without words.
UNIVERSAL = "ua-1"


def press(cards: Sequence[Card], title: str, labels: Mapping[str, str]) -> bytes:
    """One PDF of these cards, each beginning on a page of its own.

    Nothing of the day or the machine gets in: no date, no fonts but the typesetter's own.
    Raises Broken where a template and its card do not fit together.
    """
    data = json.dumps({"title": title, "cards": list(cards)}, sort_keys=True)
    compiler = _compiler()
    import typst

    try:
        made, warnings = compiler.compile_with_warnings(
            format="pdf",
            sys_inputs={"data": data, "labels": json.dumps(labels)},
            pdf_standards=[UNIVERSAL],
        )
    except typst.TypstError as fault:
        raise Broken(f"the card {title!r} could not be set: {fault}") from fault
    if warnings:
        raise Broken(f"the card {title!r} is not set cleanly: {warnings[0]}")
    return bytes(made)


@cache
def _compiler() -> Any:
    """One typesetter for all cards: what it has read of type and templates it keeps."""
    import typst

    folder = resources.files("lemel.cards") / "templates"
    if not hasattr(folder, "__fspath__"):
        raise Broken("the card templates must lie in a folder")
    place = str(folder)
    return typst.Compiler(
        input=f"{place}/cards.typ",
        root=place,
        ignore_system_fonts=True,
        sys_inputs={"data": "{}", "labels": "{}"},
    )


def drawing(sketch: Drawing | None) -> dict[str, Any] | None:
    """A sketch as the templates take it; None stays None."""
    if sketch is None:
        return None
    return {
        "svg": sketch.svg,
        "width": sketch.width_mm,
        "height": sketch.height_mm,
        "alt": sketch.alt,
    }
