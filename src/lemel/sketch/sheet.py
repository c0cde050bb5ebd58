"""Several drawings on one sheet, below each other."""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape

from lemel.sketch.drawing import Drawing

__all__ = ["stacked"]


def stacked(drawings: Sequence[Drawing]) -> Drawing:
    """One drawing that holds them all, the first on top; its words are theirs in order.

    Each part keeps its size; names inside it get the part's number, so that none meets
    another's. The words stand in the drawing too, for readers of the file alone.
    """
    width = max(one.width_mm for one in drawings)
    height = sum(one.height_mm for one in drawings)
    alt = " ".join(one.alt for one in drawings)
    parts, down = [], 0.0
    for number, one in enumerate(drawings, 1):
        parts.append(_at(down, _renamed(one.svg, f"p{number}-")))
        down += one.height_mm
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}mm" height="{height:g}mm"'
        f' viewBox="0 0 {width:g} {height:g}" role="img">\n<title>{escape(alt)}</title>\n'
        f'<rect width="{width:g}" height="{height:g}" fill="white"/>\n'
    )
    svg = head + "".join(parts) + "</svg>\n"
    return Drawing(svg, width, height, alt, all(one.full_size for one in drawings))


def _renamed(svg: str, prefix: str) -> str:
    """Every name and every use of it with the prefix."""
    svg = re.sub(r'(\bid=")', rf"\g<1>{prefix}", svg)
    return re.sub(r'(url\(#|href="#)', rf"\g<1>{prefix}", svg)


def _at(down_mm: float, svg: str) -> str:
    """The part at its height on the sheet, in the sheet's millimetres."""
    return re.sub(
        r'(<svg [^>]*?)width="([\d.]+)mm" height="([\d.]+)mm"',
        rf'\g<1>y="{down_mm:g}" width="\g<2>" height="\g<3>"',
        svg,
        count=1,
    )
