"""Plots that a verb is asked to keep; the plotting library is loaded only for them."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

from lemel.errors import BadInput
from lemel.values import Composition

__all__ = ["put", "put_alloy_plot", "put_drawing", "writable"]

_FIELD = "plot"


def writable(file: str) -> Path:
    """The path of a plot to be written; BadInput where its folder is not there."""
    path = Path(file).expanduser()
    if path.is_dir() or not path.name:
        raise BadInput(_FIELD, file, "a file, not a folder", "Add a name such as alloy.svg.")
    if path.suffix.lower() != ".svg":
        raise BadInput(_FIELD, file, "a name that ends in .svg", "Add .svg to the name.")
    if not path.parent.is_dir():
        do = "Make the folder first, or name one that is there."
        raise BadInput(_FIELD, file, "a file in a folder that is there", do)
    return path


def put_alloy_plot(body: Composition, at_c: float | None, path: Path) -> str:
    """Section and liquid fraction of the alloy as one SVG; the path as it was given."""
    from lemel.sketch import alloy_section, liquid_fraction, stacked

    return put_drawing(stacked([alloy_section(body, at_c=at_c), liquid_fraction(body)]).svg, path)


def put_drawing(svg: str, path: Path) -> str:
    """One drawing as a file; the path as it was given. BadInput where it cannot be written."""
    try:
        put(path, svg.encode("utf-8"))
    except OSError as error:
        do = f"Choose another place ({error.strerror})."
        raise BadInput(_FIELD, str(path), "a file that can be written", do) from None
    return str(path)


def put(path: Path, content: bytes) -> Path:
    """The file whole or not at all: written beside it and then given its name."""
    import tempfile

    handle, beside = tempfile.mkstemp(prefix=".part-", suffix=path.suffix, dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        Path(beside).chmod(0o644)
        Path(beside).replace(path)
    except BaseException:
        with suppress(OSError):
            Path(beside).unlink()
        raise
    return path
