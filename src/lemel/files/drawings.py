"""Outlines that a file names by a drawing beside it, or writes as the words of a path."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from lemel.errors import BadInput
from lemel.files.place import Place
from lemel.files.source import read_text
from lemel.values import Outline

__all__ = ["MOST_DRAWING_BYTES", "path_text", "with_drawing"]

#: A larger drawing is no outline of one piece.
MOST_DRAWING_BYTES = 2_000_000
_MOST_PATH = 200_000


def path_text(data: Any, place: Place) -> str:
    """The `d` of an SVG path; longer than other texts, and it may run over several lines."""
    if not isinstance(data, str) or not data.strip():
        raise place.fault(data, "an SVG path such as M 0 0 H 40 V 25 Z", "Put it in quotes.")
    if len(data) > _MOST_PATH:
        do = "Draw it with fewer points, or give a drawing."
        raise place.fault(f"{len(data)} characters", f"{_MOST_PATH} characters at most", do)
    return data.strip()


def with_drawing(sizes: Mapping[str, Any], place: Place) -> dict[str, Any]:
    """The sizes of an outline with its `drawing` read into `path_mm`; others as they are."""
    read = dict(sizes)
    drawing, layer = read.pop("drawing", None), read.pop("layer", None)
    if drawing is None:
        if layer is not None:
            raise place.at("layer").fault(layer, "a layer of a drawing", "Give the drawing too.")
        return read
    if "path_mm" in read:
        raise place.at("drawing").fault("both", "drawing or path_mm", "Leave one of them out.")
    outline = _outline(str(drawing), layer, place.at("drawing"))
    corners = " L ".join(f"{x!r} {y!r}" for x, y in outline.points_mm)
    return {**read, "path_mm": f"M {corners} Z"}


def _outline(name: str, layer: str | None, place: Place) -> Outline:
    from lemel.cut import outline_of_dxf, outline_of_svg

    kind = Path(name).suffix.lower()
    if kind not in (".svg", ".dxf"):
        raise place.fault(name, "a file that ends in .svg or .dxf", "Save the drawing as one.")
    if layer is not None and kind == ".svg":
        raise place.fault(layer, "no layer for an .svg", "A layer can be named in a .dxf only.")
    text = _text(name, place)
    try:
        if kind == ".dxf":
            return outline_of_dxf(text, layer=layer, field=str(place))
        return outline_of_svg(text, field=str(place))
    except BadInput as fault:
        raise BadInput(str(place), f"{name}: {fault.value}", fault.allowed, fault.do) from None


def _text(name: str, place: Place) -> str:
    """The drawing's text; only a plain file in the folder of the file that names it is read."""
    if place.beside is None:
        do = "Write the outline as path_mm, or keep file and drawing in one folder."
        raise place.fault(name, "a file that lies beside a file", do)
    folder = place.beside.resolve()
    try:
        found = (folder / name).resolve()
        inside = found.is_relative_to(folder) and not Path(name).is_absolute()
        plain = found.is_file()
        size = found.stat().st_size if plain else 0
    except (OSError, ValueError, RuntimeError):
        inside, plain, size = False, False, 0
    if not inside:
        do = "Put the drawing beside the file that names it."
        raise place.fault(name, "a name in the same folder or below it", do)
    if not plain:
        raise place.fault(name, "a drawing that is there", "Check its name.")
    if size > MOST_DRAWING_BYTES:
        raise place.fault(f"{size} bytes", f"{MOST_DRAWING_BYTES} bytes at most", "Simplify it.")
    try:
        return read_text(found)[0]
    except BadInput as fault:
        raise place.fault(name, fault.allowed, fault.do) from None
