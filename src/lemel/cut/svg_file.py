"""The outline in an SVG file as drawing programs save it: shapes, groups, transforms, units."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from xml.etree import ElementTree

from lemel.cut.outlines import CHORD_MM, outline_of_rings, rings_of_path
from lemel.errors import BadInput
from lemel.values import Outline

__all__ = ["outline_of_svg"]

Point = tuple[float, float]
#: x' = a x + c y + e, y' = b x + d y + f, as in SVG 1.1 section 7.4.
Matrix = tuple[float, float, float, float, float, float]

_STILL: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "px": 25.4 / 96}
_SIZE = re.compile(r"^\s*([0-9.eE+-]+)\s*(mm|cm|in|pt|pc|px)?\s*$")
_MOVE = re.compile(r"(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^)]*)\)")
_ARGUMENTS = {
    "matrix": (6,), "translate": (1, 2), "scale": (1, 2), "rotate": (1, 3), "skewX": (1,),
    "skewY": (1,),
}  # fmt: skip
#: What is defined but not drawn.
_UNSEEN = ("defs", "symbol", "clipPath", "mask", "marker", "pattern")


def outline_of_svg(text: str, *, field: str = "svg") -> Outline:
    """The outline in an SVG file: its largest closed line, in mm.

    Read are path, polygon, polyline, rect (sharp corners), circle and ellipse, in groups and
    under transforms. The scale comes from the file's width, height and viewBox (SVG 1.1,
    chapter 7); where they name no unit, one unit of the drawing is one mm. Curves become
    chords within 0.02 mm. Raises BadInput with the fault.
    """
    if "<!ENTITY" in text or "<!DOCTYPE" in text.replace("<!DOCTYPE svg PUBLIC", ""):
        raise BadInput(field, "a document type", "plain SVG without entities", "Save it as SVG.")
    try:
        root = ElementTree.fromstring(text)
    except ElementTree.ParseError as fault:
        raise BadInput(field, str(fault)[:80], "an SVG file", "Save the drawing as SVG.") from None
    if _tag(root) != "svg":
        raise BadInput(field, _tag(root), "an SVG file", "Save the drawing as SVG.")
    scale = _scale(root, field)
    start: Matrix = (scale[0], 0.0, 0.0, scale[1], 0.0, 0.0)
    rings = list(_rings(root, start, field))
    if not rings:
        raise BadInput(field, "no closed line", "one closed outline", "Close the outline.")
    return outline_of_rings(rings, field=field)


def _tag(element: ElementTree.Element) -> str:
    return element.tag.rsplit("}", 1)[-1]


def _scale(root: ElementTree.Element, field: str) -> tuple[float, float]:
    """mm per unit of the drawing, along and across."""
    box = [float(one) for one in re.findall(r"[0-9.eE+-]+", root.get("viewBox", ""))]
    sides = [_SIZE.match(root.get(name, "")) for name in ("width", "height")]
    if len(box) != 4 or min(box[2:]) <= 0:
        # Without a viewBox one unit is a pixel of CSS, if the file was meant for a screen at all.
        return 1.0, 1.0
    scales = [
        float(side[1]) * _MM[side[2]] / size if side and side[2] else None
        for side, size in zip(sides, box[2:], strict=True)
    ]
    along, across = scales
    if along is None or across is None:
        return 1.0, 1.0
    if abs(along - across) > 1e-3 * along:
        raise BadInput(
            field, f"{along:.4f} by {across:.4f} mm a unit", "the same scale both ways",
            "Give width and height in the proportion of the viewBox.",
        )  # fmt: skip
    return along, across


def _rings(element: ElementTree.Element, outer: Matrix, field: str) -> Iterator[list[Point]]:
    if _tag(element) in _UNSEEN:
        return
    matrix = _times(outer, _transform(element.get("transform", ""), field))
    stretch = max(math.hypot(matrix[0], matrix[1]), math.hypot(matrix[2], matrix[3]), 1e-9)
    drawn = _path(element)
    if drawn:
        for ring in rings_of_path(drawn, field=field, chord_mm=CHORD_MM / stretch):
            yield [_moved(matrix, point) for point in ring]
    for child in element:
        if isinstance(child.tag, str):
            yield from _rings(child, matrix, field)


def _path(element: ElementTree.Element) -> str:
    """A shape as the words of a path; empty for what draws nothing."""

    def size(name: str) -> float:
        found = _SIZE.match(element.get(name, "0"))
        return float(found[1]) if found else 0.0

    tag = _tag(element)
    if tag == "path":
        return element.get("d", "")
    if tag in ("polygon", "polyline"):
        points = element.get("points", "").strip()
        return f"M {points} Z" if points else ""
    if tag == "rect" and size("width") > 0 and size("height") > 0:
        wide, high = size("width"), size("height")
        return f"M {size('x')} {size('y')} h {wide} v {high} h {-wide} Z"
    rx, ry = (size("r"),) * 2 if tag == "circle" else (size("rx"), size("ry"))
    if tag in ("circle", "ellipse") and rx > 0 and ry > 0:
        x, y = size("cx"), size("cy")
        half = f"A {rx} {ry} 0 0 1"
        return f"M {x - rx} {y} {half} {x + rx} {y} {half} {x - rx} {y} Z"
    return ""


def _transform(words: str, field: str) -> Matrix:
    matrix = _STILL
    for name, given in _MOVE.findall(words):
        try:
            numbers = [float(one) for one in given.replace(",", " ").split()]
        except ValueError:
            numbers = []
        if len(numbers) not in _ARGUMENTS[name]:
            raise BadInput(
                field, f"{name}({given})"[:60], "a transform of SVG 1.1", "Save the drawing again."
            )
        matrix = _times(matrix, _one(name, numbers))
    return matrix


def _one(name: str, given: list[float]) -> Matrix:
    if name == "matrix":
        a, b, c, d, e, f = given
        return a, b, c, d, e, f
    if name == "translate":
        return 1.0, 0.0, 0.0, 1.0, given[0], given[1] if len(given) > 1 else 0.0
    if name == "scale":
        return given[0], 0.0, 0.0, given[-1], 0.0, 0.0
    turn = math.radians(given[0])
    if name == "skewX":
        return 1.0, 0.0, math.tan(turn), 1.0, 0.0, 0.0
    if name == "skewY":
        return 1.0, math.tan(turn), 0.0, 1.0, 0.0, 0.0
    cos, sin = math.cos(turn), math.sin(turn)
    x, y = given[1:] if len(given) == 3 else (0.0, 0.0)
    return cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y


def _times(outer: Matrix, inner: Matrix) -> Matrix:
    a, b, c, d, e, f = outer
    p, q, r, s, t, u = inner
    return (
        a * p + c * q, b * p + d * q, a * r + c * s, b * r + d * s, a * t + c * u + e,
        b * t + d * u + f,
    )  # fmt: skip


def _moved(matrix: Matrix, point: Point) -> Point:
    a, b, c, d, e, f = matrix
    return a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f
