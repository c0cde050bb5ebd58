"""Strokes of a drawing by our own hand: one unit is one mm, black on white."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape

__all__ = ["hatch", "line", "page", "polygon", "rect", "write"]

_FONTS = "'Libertinus Serif', Georgia, serif"
Point = tuple[float, float]


def page(width_mm: float, height_mm: float, body: Iterable[str]) -> str:
    """The whole document of that size."""
    return "\n".join(
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm:g}mm"'
            f' height="{height_mm:g}mm" viewBox="0 0 {width_mm:g} {height_mm:g}">',
            *(stroke for stroke in body if stroke),
            "</svg>",
        )
    )


def line(start: Point, end: Point, width: float = 0.25, dash: str = "") -> str:
    """A straight stroke; `dash` as in SVG ("2 1")."""
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<path d="M {_n(start[0])} {_n(start[1])} L {_n(end[0])} {_n(end[1])}" fill="none"'
        f' stroke="black" stroke-width="{width:g}"{dashed}/>'
    )


def rect(
    x: float, y: float, wide: float, high: float, fill: str = "none", width: float = 0.3
) -> str:
    """A box; `width` 0 leaves the edge away."""
    return (
        f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(wide)}" height="{_n(high)}" fill="{fill}"'
        f"{_edge(width)}/>"
    )


def polygon(points: Sequence[Point], fill: str = "none", width: float = 0.3) -> str:
    """A closed outline."""
    corners = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
    return f'<polygon points="{corners}" fill="{fill}"{_edge(width)} stroke-linejoin="round"/>'


def write(
    x: float,
    y: float,
    text: str,
    size_mm: float = 3.53,
    anchor: str = "start",
    *,
    bold: bool = False,
) -> str:
    """Words with their baseline at `y`; 3.53 mm are 10 points."""
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{_n(x)}" y="{_n(y)}" font-size="{size_mm:g}" text-anchor="{anchor}"{weight}'
        f' font-family="{_FONTS}">{escape(text)}</text>'
    )


def hatch(index: int) -> tuple[str, str]:
    """The `index`-th way to fill a strand, and its definition; 0 is plain grey of steel.

    Told apart without colour: by slope, by dots, by bars.
    """
    name = f"h{index}"
    if index == 0:
        return "#d4d4d4", ""
    ways = (
        ("M -1 1 L 1 -1 M 0 3 L 3 0 M 2 4 L 4 2", 3.0),
        ("M -1 2 L 1 4 M 0 0 L 3 3 M 2 -1 L 4 1", 3.0),
        ("M 0 1 H 2", 2.0),
        ("M 1 0 V 2", 2.0),
        ("M 0 0 L 2 2 M 2 0 L 0 2", 2.0),
        ("M 0.7 1 H 1.3", 2.0),
    )
    path, size = ways[(index - 1) % len(ways)]
    return f"url(#{name})", (
        f'<defs><pattern id="{name}" width="{size:g}" height="{size:g}"'
        f' patternUnits="userSpaceOnUse"><rect width="{size:g}" height="{size:g}" fill="white"/>'
        f'<path d="{path}" stroke="black" stroke-width="0.35" fill="none"/></pattern></defs>'
    )


def _edge(width: float) -> str:
    return f' stroke="black" stroke-width="{width:g}"' if width else ""


def _n(value: float) -> str:
    return f"{round(value, 3):g}"
