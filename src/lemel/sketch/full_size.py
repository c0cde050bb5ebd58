"""The cut room's layouts brought to paper at full size, on the card where they fit."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from lemel.cut import Layout, SheetLayout
from lemel.sketch.drawing import Drawing
from lemel.values import Quantity, Saying, SayingValue
from lemel.words import say

__all__ = ["FullSize", "full_size"]

_ROOT = re.compile(
    r'<svg [^>]*width="(?P<wide>[\d.]+)mm"[^>]*height="(?P<high>[\d.]+)mm"'
    r'[^>]*viewBox="(?P<x>-?[\d.]+) (?P<y>-?[\d.]+) [\d.]+ [\d.]+"[^>]*>'
)
_FONTS = "'Libertinus Serif', Georgia, serif"
#: How far neighbouring parts of one drawing repeat each other.
_JOIN_MM = 10.0
#: The line that is measured on the print before anything is stuck on metal.
_CHECK_MM = 50.0
#: What a sheet of A4 on its side prints with 10 mm left free all round.
_SHEET_MM = (277.0, 190.0)


@dataclass(frozen=True, slots=True)
class FullSize:
    """One bar's layout at full size: `inline` stand one under the other on the card itself;
    `pages` each want a sheet of A4 on its side, and on it stand one under the other. Both
    empty: it is not drawn to scale."""

    inline: tuple[Drawing, ...] = ()
    pages: tuple[tuple[Drawing, ...], ...] = ()


def full_size(layout: Layout, bar: str, room_mm: tuple[float, float]) -> FullSize:
    """The drawing of one bar, whole where it fits into `room_mm` (width, height).

    A long narrow strip is parted and stacked, each part repeating 10 mm of the one before: on
    the card, else on a sheet of its own. What is larger goes on as many sheets as the cut room
    has parted it into. Wire has no full-size drawing: its cuts are a list.
    """
    svg = layout.drawing.get(bar, "")
    found = _ROOT.search(svg)
    if found is None or not _to_scale(found, _sheet(layout, bar)):
        return FullSize()
    wide, high = float(found["wide"]), float(found["high"])
    if wide <= room_mm[0] and high <= room_mm[1]:
        return FullSize((_drawing(svg, bar, wide, high, 1, 1),))
    if _parts_of(wide, room_mm[0]) * high <= room_mm[1]:
        return FullSize(_parts(svg, found, bar, room_mm[0]))
    if _parts_of(wide, _SHEET_MM[0]) * high <= _SHEET_MM[1]:
        return FullSize(pages=(_parts(svg, found, bar, _SHEET_MM[0]),))
    pages = layout.pages.get(bar, ())
    return FullSize(
        pages=tuple(
            (_drawing(page, bar, *_size(page), number, len(pages)),)
            for number, page in enumerate(pages, 1)
        )
    )


def _parts_of(wide: float, window: float) -> int:
    """How many windows a drawing takes, each but the first repeating the join."""
    return max(1, math.ceil((wide - _JOIN_MM) / (window - _JOIN_MM)))


def _sheet(layout: Layout, bar: str) -> SheetLayout | None:
    return next((sheet for sheet in layout.sheets if sheet.bar == bar), None)


def _to_scale(found: re.Match[str], sheet: SheetLayout | None) -> bool:
    """A drawing to scale is as wide as its bar, or as its check line, between two margins."""
    if sheet is None:
        return False
    bare = float(found["wide"]) + 2 * float(found["x"])
    return abs(bare - max(sheet.length_mm, _CHECK_MM)) < 0.01


def _size(svg: str) -> tuple[float, float]:
    found = _ROOT.search(svg)
    return (float(found["wide"]), float(found["high"])) if found else (0.0, 0.0)


def _parts(svg: str, found: re.Match[str], bar: str, window: float) -> tuple[Drawing, ...]:
    """Windows along a strip, with the line at which they are laid on each other."""
    parts = _parts_of(float(found["wide"]), window)
    inner = svg[found.end() : svg.rindex("</svg>")]
    high, x0, y0 = float(found["high"]), float(found["x"]), float(found["y"])
    step = window - _JOIN_MM
    marks = "".join(
        f'<path d="M {x0 + step * n + _JOIN_MM / 2:.3f} {y0:g} v {high - 16:.3f}" fill="none"'
        ' stroke="black" stroke-width="0.2" stroke-dasharray="2 1.5"/>'
        f'<text x="{x0 + step * n + _JOIN_MM / 2 + 0.6:.3f}" y="{y0 + 3.6:.3f}"'
        f' font-size="3.6" font-family="{_FONTS}">{chr(64 + n)}</text>'
        for n in range(1, parts)
    )
    return tuple(
        _drawing(
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{window:g}mm" height="{high:g}mm"'
            f' viewBox="{x0 + step * n:.3f} {y0:g} {window:g} {high:g}">{inner}{marks}</svg>',
            bar, window, high, n + 1, parts,
        )
        for n in range(parts)
    )  # fmt: skip


def _drawing(svg: str, bar: str, wide: float, high: float, part: int, parts: int) -> Drawing:
    told: dict[str, SayingValue] = {
        "bar": bar,
        "width": Quantity(wide, "mm"),
        "height": Quantity(high, "mm"),
        "part": part,
        "parts": parts,
    }
    text = svg.replace('font-family="sans-serif"', f'font-family="{_FONTS}"')
    return Drawing(text, wide, high, say(Saying("sketch.layout.alt", told)), full_size=True)
