"""The layout of one bar as SVG at full size: printed at 100 %, it is stuck on the metal."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any
from xml.sax.saxutils import escape

from lemel.cut.faces import Placement, Rest, SheetLayout
from lemel.cut.need import part_of
from lemel.cut.shapes import part_polygon
from lemel.values import Bar, Blank

__all__ = ["CHECK_MM", "LONGEST_MM", "PAPER_MM", "drawing_of", "pages_of"]

#: The line that is measured on the print before anything is stuck on metal.
CHECK_MM = 50.0
#: Longer bars are drawn as a list of lengths, not to scale.
LONGEST_MM = 1000.0
#: What an A4 sheet on its side prints with 10 mm left free all round.
PAPER_MM = (277.0, 190.0)
_JOIN = 10.0
_MARGIN = 6.0
_FOOT = 16.0
#: Lines across a shape among which its name's place is chosen.
_SCANS = 16
_TEXT = 'font-family="sans-serif" fill="black"'
_THIN = 'fill="none" stroke="black" stroke-width="0.2"'
_DASHED = 'stroke-width="0.15" stroke-dasharray="2 1.5"'


def drawing_of(sheet: SheetLayout, bar: Bar, blanks: Mapping[str, Blank]) -> str:
    """SVG text in mm, black on white: outlines, names, margin, remnant, grain, check line.

    One unit is one mm; `width` and `height` are given in mm, so that a print at 100 %
    has full size: the line marked 50 mm must measure 50 mm. Wire, and a bar longer than
    LONGEST_MM, is drawn as a row of its pieces with their lengths, not to scale.
    """
    if not _full_size(sheet, bar):
        return _row_of_lengths(sheet, bar)
    body = [*_marks(sheet, bar, blanks), *_foot(bar, sheet.width_mm)]
    return _page(max(sheet.length_mm, CHECK_MM), sheet.width_mm + _FOOT, body)


def pages_of(sheet: SheetLayout, bar: Bar, blanks: Mapping[str, Blank]) -> tuple[str, ...]:
    """The same drawing at full size on as many A4 pages as it takes.

    Neighbouring pages overlap and share a dashed line with a letter: cut one page along
    it and lay it on the other. Each page has its own check line.
    """
    wide, high = PAPER_MM[0] - 2 * _MARGIN, PAPER_MM[1] - 2 * _MARGIN - _FOOT
    columns, rows = _starts(sheet.length_mm, wide), _starts(sheet.width_mm, high)
    if not _full_size(sheet, bar) or len(columns) == len(rows) == 1:
        return (drawing_of(sheet, bar, blanks),)
    marks = [
        *_marks(sheet, bar, blanks),
        *(_join(start + _JOIN / 2, None, n, sheet) for n, start in enumerate(columns[1:])),
        *(_join(None, start + _JOIN / 2, n, sheet) for n, start in enumerate(rows[1:])),
    ]
    return tuple(
        _page(
            wide,
            high + _FOOT,
            [
                f'<svg x="0" y="0" width="{wide:.3f}" height="{high:.3f}"'
                f' viewBox="{x:.3f} {y:.3f} {wide:.3f} {high:.3f}">',
                *marks,
                "</svg>",
                *_foot(bar, min(high, sheet.width_mm - y)),
            ],
        )
        for y in rows
        for x in columns
    )


def _full_size(sheet: SheetLayout, bar: Bar) -> bool:
    return bar.section.kind == "flat" and sheet.length_mm <= LONGEST_MM


def _starts(size: float, window: float) -> list[float]:
    """Where each page's window begins; the last may reach beyond the end."""
    step = window - _JOIN
    return [n * step for n in range(max(1, math.ceil((size - _JOIN) / step)))]


def _join(x: float | None, y: float | None, number: int, sheet: SheetLayout) -> str:
    letter = chr(ord("A") + number % 26)
    if x is not None:
        line = f'<path d="M {x:.3f} -2 V {sheet.width_mm + 2:.3f}" stroke="black" {_DASHED}/>'
        return line + _words(x + 0.5, 2.5, 3.0, letter, "start")
    line = f'<path d="M -2 {y:.3f} H {sheet.length_mm + 2:.3f}" stroke="black" {_DASHED}/>'
    return line + _words(0.5, (y or 0.0) - 0.5, 3.0, letter.lower(), "start")


def _page(length: float, height: float, body: list[str]) -> str:
    wide, high = length + 2 * _MARGIN, height + 2 * _MARGIN
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.3f}mm" height="{high:.3f}mm"'
            f' viewBox="{-_MARGIN:.3f} {-_MARGIN:.3f} {wide:.3f} {high:.3f}">',
            f'<rect x="{-_MARGIN:.3f}" y="{-_MARGIN:.3f}" width="{wide:.3f}" height="{high:.3f}"'
            ' fill="white"/>',
            *body,
            "</svg>",
        ]
    )


def _marks(sheet: SheetLayout, bar: Bar, blanks: Mapping[str, Blank]) -> list[str]:
    """Everything that is marked on the metal itself."""
    length, width, edge = sheet.length_mm, sheet.width_mm, sheet.edge_mm
    marks = [_box(0, 0, length, width, 'stroke-width="0.3"')]
    if edge > 0:
        marks.append(_box(edge, edge, length - 2 * edge, width - 2 * edge, _DASHED))
    for spot in sheet.placements:
        marks += _piece(spot, blanks[spot.piece])
    for rest in sheet.rests:
        marks += _rest(rest, bar)
    for fault in bar.faults:
        if fault.place_mm is not None:
            x = fault.place_mm
            marks.append(f'<path d="M {x - 1:.3f} 0 L {x + 1:.3f} {width:.3f}'
                         f' M {x + 1:.3f} 0 L {x - 1:.3f} {width:.3f}" {_THIN}/>')  # fmt: skip
    return marks


def _box(x: float, y: float, along: float, across: float, style: str) -> str:
    return (
        f'<rect x="{x:.3f}" y="{y:.3f}" width="{along:.3f}" height="{across:.3f}" fill="none"'
        f' stroke="black" {style}/>'
    )


def _piece(spot: Placement, blank: Blank) -> list[str]:
    outline = spot.outline
    along, across = outline.length_mm, outline.width_mm
    if spot.turned:
        along, across = across, along
    x, y = spot.x_mm, spot.y_mm
    size = min(4.0, across * 0.5, along / max(1, len(spot.piece)) * 1.4)
    if outline.kind == "disc":
        r = along / 2
        # The centre is pricked with a punch, so it is marked, with the name clear of it.
        return [
            f'<circle cx="{x + r:.3f}" cy="{y + r:.3f}" r="{r:.3f}" {_THIN}/>',
            f'<path d="M {x + r - 1:.3f} {y + r:.3f} h 2 m -1 -1 v 2" {_THIN}/>',
            _words(x + r, y + 0.62 * r, min(size, r / 2.5), spot.piece, "middle"),
        ]
    label = _words(x + along / 2, y + across / 2 + size * 0.35, size, spot.piece, "middle")
    if outline.kind == "strip":
        return [_box(x, y, along, across, 'stroke-width="0.2"'), label]
    polygon = part_polygon(part_of(spot.piece, outline, blank.grain), spot.turn_deg)
    corners = " L ".join(f"{x + u:.3f} {y + v:.3f}" for u, v in list(polygon.exterior.coords)[:-1])
    at_x, at_y, wide = _roomiest(polygon)
    size = min(3.0, wide / max(1, len(spot.piece)) * 1.6)
    name = _words(x + at_x, y + at_y + size * 0.35, size, spot.piece, "middle")
    return [f'<path d="M {corners} Z" {_THIN}/>', name]


def _roomiest(polygon: Any) -> tuple[float, float, float]:
    """Where a name has most room in a shape: middle and length of the longest line across it."""
    from shapely.geometry import LineString

    left, low, right, high = polygon.bounds
    best = (0.0, 0.0, 0.0)
    for part in range(1, _SCANS):
        # From the middle outwards, so that equal lines are taken near the middle.
        share = 0.5 + (-1) ** part * (part // 2) / _SCANS
        y = low + (high - low) * share
        crossed = polygon.intersection(LineString([(left - 1, y), (right + 1, y)]))
        for piece in getattr(crossed, "geoms", [crossed]):
            start, _, end, _ = piece.bounds or (0.0, 0.0, 0.0, 0.0)
            if end - start > best[2] + 1e-6:
                best = ((start + end) / 2, y, end - start)
    return best


def _rest(rest: Rest, bar: Bar) -> list[str]:
    """What is kept; the stamp of the heat is in the far corner."""
    along, across = rest.bar.length_mm, rest.bar.section.width_mm
    x, y = rest.x_mm, rest.y_mm
    size = min(3.0, across * 0.3, along / max(8, len(rest.bar.id)) * 1.4)
    marks = [
        _box(x, y, along, across, 'stroke-width="0.25" stroke-dasharray="4 1.5"'),
        _words(x + along / 2, y + across / 2 + size / 3, size, rest.bar.id, "middle"),
    ]
    if not rest.stamped:
        return marks
    mark = min(6.0, along / 3, across / 3)
    stamp = (", ".join(bar.parents) or bar.id)[:12]
    right, low = x + along - 1, y + across - 1
    return [
        *marks,
        _box(right - mark, low - mark / 2, mark, mark / 2, 'stroke-width="0.2"'),
        _words(right - mark / 2, low - mark / 4 + 0.5, min(mark / 4, 1.6 * mark / len(stamp)),
               stamp, "middle"),
    ]  # fmt: skip


def _foot(bar: Bar, under: float) -> list[str]:
    """The check line, and the arrow of the rolling direction with the bar's name and size."""
    y = under + 7
    return [
        f'<path d="M 0 {y:.3f} h {CHECK_MM:.3f} M 0 {y - 1.5:.3f} v 3'
        f' M {CHECK_MM:.3f} {y - 1.5:.3f} v 3" {_THIN}/>',
        _words(CHECK_MM / 2, y - 1.2, 3.0, f"{CHECK_MM:g} mm", "middle"),
        f'<path d="M 2 {under + 12:.3f} h 12 m -3 -1.2 l 3 1.2 l -3 1.2" {_THIN}/>',
        _words(17, under + 13, 3.0, _title(bar), "start"),
    ]


def _title(bar: Bar) -> str:
    section = " x ".join(f"{size:g}" for _, size in sorted(bar.section.dims_mm))
    return f"{bar.id}: {section} x {round(bar.length_mm, 1):g} mm, {bar.mass_g:.2f} g"


def _row_of_lengths(sheet: SheetLayout, bar: Bar) -> str:
    """Wire and very long strip: the pieces one under the other with where each is cut."""
    body = []
    y = 0.0
    rows = [
        (spot.piece, spot.x_mm, spot.x_mm + spot.outline.length_mm) for spot in sheet.placements
    ]
    if sheet.remnant is not None:
        rows.append((sheet.remnant.id, sheet.length_mm - sheet.remnant.length_mm, sheet.length_mm))
    for name, start, end in rows:
        share0, share1 = (100 * at / sheet.length_mm for at in (start, end))
        body.append(_box(0, y, 100, 4, 'stroke-width="0.1"'))
        body.append(
            f'<rect x="{share0:.3f}" y="{y:.3f}" width="{share1 - share0:.3f}" height="4"'
            ' fill="#bbb" stroke="black" stroke-width="0.2"/>'
        )
        text = f"{name}: {start:.1f} to {end:.1f} = {end - start:.1f} mm"
        body.append(_words(104, y + 3, 3.0, text, "start"))
        y += 6
    body.append(_words(0, y + 4, 3.0, _title(bar), "start"))
    return _page(190.0, y + 6, body)


def _words(x: float, y: float, size: float, text: str, anchor: str) -> str:
    if size <= 0 or not math.isfinite(size):
        return ""
    return (
        f'<text x="{x:.3f}" y="{y:.3f}" font-size="{size:.2f}" text-anchor="{anchor}" {_TEXT}>'
        f"{escape(text)}</text>"
    )
