"""The layout of one bar as SVG at full size: printed at 100 %, it is stuck on the metal."""

from __future__ import annotations

import math
from collections.abc import Mapping
from xml.sax.saxutils import escape

from lemel.cut.faces import Placement, SheetLayout
from lemel.cut.need import part_of
from lemel.cut.shapes import part_polygon
from lemel.values import Bar, Blank

__all__ = ["CHECK_MM", "LONGEST_MM", "drawing_of"]

#: The line that is measured on the print before anything is stuck on metal.
CHECK_MM = 50.0
#: Longer bars are drawn shortened, and say so by a break line.
LONGEST_MM = 1000.0
_MARGIN = 6.0
_FOOT = 16.0
_TEXT = 'font-family="sans-serif" fill="black"'
_THIN = 'fill="none" stroke="black" stroke-width="0.2"'


def drawing_of(sheet: SheetLayout, bar: Bar, blanks: Mapping[str, Blank], edge_mm: float) -> str:
    """SVG text in mm, black on white: outlines, names, edge, remnant, grain, check line.

    One unit is one mm; `width` and `height` are given in mm, so that a print at 100 %
    has full size: the line marked 50 mm must measure 50 mm. A bar longer than LONGEST_MM
    is drawn as a row of its pieces with their lengths, not to scale.
    """
    if sheet.length_mm > LONGEST_MM or bar.section.kind != "flat":
        return _row_of_lengths(sheet, bar)
    length, width = sheet.length_mm, sheet.width_mm
    body = [_box(0, 0, length, width, 'stroke-width="0.3"')]
    if bar.kind != "offcut" and width > 2 * edge_mm and length > 2 * edge_mm:
        body.append(
            _box(edge_mm, edge_mm, length - 2 * edge_mm, width - 2 * edge_mm,
                 'stroke-width="0.1" stroke-dasharray="1 1"')
        )  # fmt: skip
    for spot in sheet.placements:
        body += _piece(spot, blanks[spot.piece])
    if sheet.remnant is not None:
        body += _remnant(sheet, sheet.remnant, bar)
    body += _foot(bar, length, width)
    return _page(max(length, CHECK_MM), width + _FOOT, body)


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


def _box(x: float, y: float, along: float, across: float, style: str) -> str:
    return (
        f'<rect x="{x:.3f}" y="{y:.3f}" width="{along:.3f}" height="{across:.3f}" fill="none"'
        f' stroke="black" {style}/>'
    )


def _piece(spot: Placement, blank: Blank) -> list[str]:
    turned = spot.turn_deg % 180 == 90
    along, across = spot.outline.length_mm, spot.outline.width_mm
    if turned:
        along, across = across, along
    x, y = spot.x_mm, spot.y_mm
    if spot.outline.kind == "disc":
        r = along / 2
        # The centre is pricked with a punch, so it is marked.
        shape = [
            f'<circle cx="{x + r:.3f}" cy="{y + r:.3f}" r="{r:.3f}" {_THIN}/>',
            f'<path d="M {x + r - 1:.3f} {y + r:.3f} h 2 m -1 -1 v 2" {_THIN}/>',
        ]
    elif spot.outline.kind == "strip":
        shape = [_box(x, y, along, across, 'stroke-width="0.2"')]
    else:
        polygon = part_polygon(part_of(spot.piece, spot.outline, blank.grain), spot.turn_deg)
        corners = " L ".join(
            f"{x + u:.3f} {y + v:.3f}" for u, v in list(polygon.exterior.coords)[:-1]
        )
        shape = [f'<path d="M {corners} Z" {_THIN}/>']
    size = min(4.0, across * 0.5, along / max(1, len(spot.piece)) * 1.4)
    label = _words(x + along / 2, y + across / 2 + size * 0.35 + 0.0, size, spot.piece, "middle")
    return [*shape, label]


def _remnant(sheet: SheetLayout, remnant: Bar, bar: Bar) -> list[str]:
    """The remnant lies at the far end, where the stamp of the heat is, or along one side."""
    along, across = remnant.length_mm, remnant.section.width_mm
    x, y = sheet.length_mm - along, sheet.width_mm - across
    size = min(3.0, across * 0.3, along / 8)
    mark = min(6.0, along / 3, across / 3)
    return [
        _box(x, y, along, across, 'stroke-width="0.25" stroke-dasharray="4 1.5"'),
        _words(x + along / 2, y + across / 2 + size / 3, size, remnant.id, "middle"),
        _box(sheet.length_mm - mark - 1, sheet.width_mm - mark / 2 - 1, mark, mark / 2,
             'stroke-width="0.2"'),
        _words(sheet.length_mm - mark / 2 - 1, sheet.width_mm - mark / 4 - 0.5, mark / 4,
               ", ".join(bar.parents)[:12] or bar.id[:12], "middle"),
    ]  # fmt: skip


def _foot(bar: Bar, length: float, width: float) -> list[str]:
    """The check line and the arrow of the rolling direction."""
    y = width + 7
    half = CHECK_MM / 2
    section = " x ".join(f"{size:g}" for _, size in sorted(bar.section.dims_mm))
    title = f"{bar.id}   {section} x {length:g} mm   {bar.mass_g:.2f} g"
    return [
        f'<path d="M 0 {y:.3f} h {CHECK_MM:.3f} M 0 {y - 1.5:.3f} v 3'
        f' M {CHECK_MM:.3f} {y - 1.5:.3f} v 3" {_THIN}/>',
        _words(half, y - 1.2, 3.0, f"{CHECK_MM:g} mm", "middle"),
        f'<path d="M 2 {width + 12:.3f} h 12 m -3 -1.2 l 3 1.2 l -3 1.2" {_THIN}/>',
        _words(17, width + 13, 3.0, title, "start"),
    ]


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
        text = f"{name}   {start:.1f} - {end:.1f}   = {end - start:.1f} mm"
        body.append(_words(104, y + 3, 3.0, text, "start"))
        y += 6
    section = " x ".join(f"{size:g}" for _, size in sorted(bar.section.dims_mm))
    title = f"{bar.id}   {section} x {sheet.length_mm:g} mm   {bar.mass_g:.2f} g"
    body.append(_words(0, y + 4, 3.0, title, "start"))
    return _page(190.0, y + 6, body)


def _words(x: float, y: float, size: float, text: str, anchor: str) -> str:
    if size <= 0 or not math.isfinite(size):
        return ""
    return (
        f'<text x="{x:.3f}" y="{y:.3f}" font-size="{size:.2f}" text-anchor="{anchor}" {_TEXT}>'
        f"{escape(text)}</text>"
    )
