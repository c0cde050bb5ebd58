"""Layouts at full size as files; the typesetter is loaded only for them."""

from __future__ import annotations

import re
from pathlib import Path

from lemel.cli.plots import put
from lemel.cut import Layout
from lemel.errors import BadInput

__all__ = ["put_stencils"]

_FIELD = "--draw"


def put_stencils(laid: Layout, folder: str) -> list[str]:
    """One SVG for each bar that is cut, and one PDF where it is to scale; their paths."""
    from lemel.cards import stencil_pdf

    where = Path(folder).expanduser()
    paths: list[Path] = []
    try:
        where.mkdir(parents=True, exist_ok=True)
        for number, sheet in enumerate(laid.sheets, 1):
            stem = where / f"{number:02d}-{_file_name(sheet.bar)}"
            paths.append(put(stem.with_name(f"{stem.name}.svg"), laid.drawing[sheet.bar].encode()))
            pages = stencil_pdf(laid, sheet.bar)
            if pages is not None:
                paths.append(put(stem.with_name(f"{stem.name}.pdf"), pages))
    except OSError as error:
        do = f"Choose another place ({error.strerror})."
        raise BadInput(_FIELD, folder, "a folder that can be written", do) from None
    return [str(path) for path in paths]


def _file_name(bar: str) -> str:
    """A bar's name as part of a file's name; the number before it keeps alike ones apart."""
    return re.sub(r"[^A-Za-z0-9.-]+", "-", bar).strip("-.")[:60] or "bar"
