"""The one door to the typesetter: cards as plain data in, PDF out, the same bytes each time."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping, Sequence
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from lemel.errors import Broken
from lemel.sketch import Drawing

__all__ = ["UNIVERSAL", "Card", "drawing", "press", "snapshot"]

#: A card as the templates read it.
Card = Mapping[str, Any]
#: The accessible form of PDF, which also refuses a picture without words.
UNIVERSAL = "ua-1"


def press(cards: Sequence[Card], title: str, labels: Mapping[str, str]) -> bytes:
    """One PDF of these cards, each beginning on a page of its own.

    Nothing of the day or the machine gets in: no date, no fonts but the typesetter's own.
    Raises Broken where a template and its card do not fit together.
    """
    made = _set(cards, title, labels, format="pdf", pdf_standards=[UNIVERSAL])
    return bytes(made)


def snapshot(cards: Sequence[Card], labels: Mapping[str, str], ppi: float) -> bytes:
    """The first page of each card, side by side, as a grey PNG of so many dots an inch."""
    import typst

    pages = [_set([card], "page", labels, format="png", ppi=ppi) for card in cards]
    source = (resources.files("lemel.cards") / "templates" / "picture.typ").read_text("utf-8")
    with tempfile.TemporaryDirectory() as folder:
        for number, page in enumerate(pages):
            first = page if isinstance(page, bytes) else page[0]
            (Path(folder) / f"{number}.png").write_bytes(first)
        (Path(folder) / "picture.typ").write_text(source, "utf-8")
        compiler = typst.Compiler(
            input=f"{folder}/picture.typ",
            root=folder,
            ignore_system_fonts=True,
            sys_inputs={"pages": str(len(pages))},
        )
        made: bytes = compiler.compile(format="png", ppi=ppi)  # type: ignore[assignment]
        return made


def _set(cards: Sequence[Card], title: str, labels: Mapping[str, str], **how: Any) -> Any:
    compiler = _compiler()
    import typst

    data = json.dumps({"title": title, "cards": list(cards)}, sort_keys=True)
    given = {"data": data, "labels": json.dumps(labels)}
    try:
        made, warnings = compiler.compile_with_warnings(sys_inputs=given, **how)
    except typst.TypstError as fault:
        raise Broken(f"the card {title!r} could not be set: {fault}") from fault
    if warnings:
        raise Broken(f"the card {title!r} is not set cleanly: {warnings[0]}")
    return made


@cache
def _compiler() -> Any:
    """One typesetter for all cards: what it has read of type and templates it keeps."""
    import typst

    folder = resources.files("lemel.cards") / "templates"
    if not hasattr(folder, "__fspath__"):
        raise Broken("the card templates must lie in a folder")
    return typst.Compiler(input=f"{folder}/cards.typ", root=str(folder), ignore_system_fonts=True)


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
