"""Outlines of pieces from drawings: the `d` of an SVG path, or a DXF file, to a polygon in mm."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from io import StringIO
from itertools import pairwise

from lemel.errors import BadInput
from lemel.values import Outline

__all__ = [
    "CHORD_MM", "outline_of_dxf", "outline_of_path", "outline_of_points", "outline_of_rings",
    "points_of", "rings_of_path",
]  # fmt: skip

Point = tuple[float, float]

#: How far a chord may lie from the curve that it stands for: finer than a scriber's line.
CHORD_MM = 0.02
_JOIN_MM = 1e-3
#: More corners than this are no outline that a saw could follow.
_CORNERS_MOST = 20_000
#: One curve is never parted finer: what needs more is larger than any bench.
_STEPS_MOST = 5_000
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


def outline_of_points(points: Iterable[Point], *, field: str = "points_mm") -> Outline:
    """A closed outline from its corners, moved so that its box starts at (0, 0).

    The area must be above zero and the line must not cross itself. Raises BadInput.

    >>> outline_of_points([(1, 1), (4, 1), (4, 3)]).length_mm
    3.0
    """
    from shapely.geometry import Polygon
    from shapely.validation import explain_validity

    corners = _without_repeats([(float(x), float(y)) for x, y in points])
    if len(corners) < 3:
        raise BadInput(field, len(corners), "at least three corners", "Draw a closed outline.")
    if len(corners) > _CORNERS_MOST:
        most = f"{_CORNERS_MOST} corners at most"
        raise BadInput(field, len(corners), most, "Draw it with fewer points.")
    shape = Polygon(corners)
    if not shape.is_valid or shape.area <= 1e-9:
        why = explain_validity(shape)
        raise BadInput(
            field, why, "a closed line that does not cross itself", "Mend the drawing there."
        )
    left, low, right, high = shape.bounds
    moved = tuple((x - left, y - low) for x, y in corners)
    return Outline("path", right - left, high - low, moved)


def outline_of_path(path: str, *, field: str = "path_mm", chord_mm: float = CHORD_MM) -> Outline:
    """The outline that an SVG path draws, user units read as mm.

    All path commands of SVG 1.1 (section 8.3) are read; curves become chords that lie
    within `chord_mm`. Of several closed lines the one with the largest area is the
    outline; the others are piercings, sawn later. Raises BadInput with the fault.

    >>> outline_of_path("M 0 0 h 40 v 25 h -40 z").width_mm
    25.0
    """
    rings = rings_of_path(path, field=field, chord_mm=chord_mm)
    if not rings:
        raise BadInput(field, path[:60], "an SVG path such as M 0 0 H 40 V 25 Z", "Draw a line.")
    return outline_of_rings(rings, field=field)


def rings_of_path(path: str, *, field: str, chord_mm: float = CHORD_MM) -> list[list[Point]]:
    """Every closed line of an SVG path; an open one is closed by its chord."""
    return _PathReader(path, field, chord_mm).rings()


def outline_of_rings(rings: Iterable[Iterable[Point]], *, field: str) -> Outline:
    """The outline that the largest of several closed lines draws."""
    return outline_of_points(max(rings, key=_size), field=field)


def outline_of_dxf(text: str, *, layer: str | None = None, field: str = "dxf") -> Outline:
    """The outline in a DXF drawing: its largest closed line, in the drawing's units as mm.

    Closed polylines, circles, ellipses and splines count by themselves; lines and arcs
    are joined end to end where they meet within 0.001 mm. A drawing in inches ($INSUNITS
    1) is converted. `layer` None reads all layers. Raises BadInput.
    """
    from ezdxf.filemanagement import read
    from ezdxf.lldxf.const import DXFError
    from ezdxf.path import make_path

    try:
        drawing = read(StringIO(text))
    except (DXFError, OSError, ValueError, IndexError) as fault:
        raise BadInput(field, str(fault)[:80], "a DXF file", "Save the drawing as DXF.") from None
    # A drawing that is silent about its unit is in mm; the library would take it as metres.
    unit = int(drawing.header.get("$INSUNITS", 0)) if "$INSUNITS" in text else 0
    scale = {1: 25.4, 5: 10.0, 6: 1000.0}.get(unit, 1.0)
    runs: list[list[Point]] = []
    for entity in drawing.modelspace():
        if layer is not None and entity.dxf.layer != layer:
            continue
        try:
            run = list(make_path(entity).flattening(CHORD_MM / scale))
        except TypeError:
            continue
        # A drawing's y points up, our page's down: turned so that the piece is not mirrored.
        runs.append([(p.x * scale, -p.y * scale) for p in run])
    rings = _join(runs)
    if not rings:
        raise BadInput(field, "no closed line", "one closed outline", "Close the outline.")
    return outline_of_rings(rings, field=field)


def points_of(outline: Outline, chord_mm: float = CHORD_MM) -> tuple[Point, ...]:
    """The corners of any outline; a disc as a polygon that contains it (never smaller).

    >>> points_of(Outline("strip", 3, 2))
    ((0.0, 0.0), (3, 0.0), (3, 2), (0.0, 2))
    """
    if outline.kind == "path":
        return outline.points_mm
    if outline.kind == "strip":
        x, y = outline.length_mm, outline.width_mm
        return ((0.0, 0.0), (x, 0.0), (x, y), (0.0, y))
    r = outline.length_mm / 2
    n = max(16, math.ceil(math.pi / math.acos(r / (r + chord_mm))))
    reach = r / math.cos(math.pi / n)
    turn = 2 * math.pi / n
    return tuple(
        (r + reach * math.cos(turn * (i + 0.5)), r + reach * math.sin(turn * (i + 0.5)))
        for i in range(n)
    )


def _size(ring: Iterable[Point]) -> float:
    corners = list(ring)
    pairs = zip(corners, corners[1:] + corners[:1], strict=True)
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairs)) / 2


def _without_repeats(points: list[Point]) -> list[Point]:
    kept: list[Point] = []
    for point in points:
        if not kept or math.dist(point, kept[-1]) > 1e-9:
            kept.append(point)
    while len(kept) > 1 and math.dist(kept[0], kept[-1]) <= _JOIN_MM:
        kept.pop()
    return kept


def _join(runs: list[list[Point]]) -> list[list[Point]]:
    """Closed rings from pieces that meet end to end."""
    rings = []
    loose = [run for run in runs if len(run) > 1]
    while loose:
        chain = loose.pop(0)
        while math.dist(chain[0], chain[-1]) > _JOIN_MM:
            found = None
            for i, run in enumerate(loose):
                if math.dist(run[0], chain[-1]) <= _JOIN_MM:
                    found = (i, run)
                elif math.dist(run[-1], chain[-1]) <= _JOIN_MM:
                    found = (i, run[::-1])
                if found:
                    break
            if not found:
                break
            loose.pop(found[0])
            chain = chain + found[1][1:]
        if len(chain) > 3 and math.dist(chain[0], chain[-1]) <= _JOIN_MM:
            rings.append(chain)
    return rings


class _PathReader:
    """Walks the commands of one SVG path and collects its lines."""

    def __init__(self, path: str, field: str, chord_mm: float) -> None:
        self._path, self._field, self._chord = path, field, chord_mm
        self._done: list[list[Point]] = []
        self._line: list[Point] = []
        self._at: Point = (0.0, 0.0)
        self._handle: Point | None = None
        self._before = ""

    def rings(self) -> list[list[Point]]:
        """Every line with an area; an open one is closed by its chord."""
        for command, numbers in self._commands():
            self._step(command, numbers)
        self._lift()
        return [line for line in self._done if len(line) > 2]

    def _bad(self, what: str) -> BadInput:
        return BadInput(
            self._field, what, "the path commands M L H V C S Q T A Z with numbers",
            "Copy the d of the path whole.",
        )  # fmt: skip

    def _commands(self) -> Iterable[tuple[str, list[float]]]:
        rest = re.sub(rf"[A-Za-z]|{_NUMBER}|[\s,]", "", self._path)
        if rest:
            raise self._bad(rest[:20])
        for found in re.finditer(r"([A-DF-Za-df-z])([^A-DF-Za-df-z]*)", self._path):
            command = found.group(1)
            takes = _TAKES.get(command.upper())
            if takes is None:
                raise self._bad(command)
            numbers = self._numbers(command, found.group(2))
            if takes == 0:
                yield command, []
                continue
            if not numbers or len(numbers) % takes:
                raise self._bad(found.group(0).strip()[:40])
            for i in range(0, len(numbers), takes):
                # Further pairs after a move are lines.
                after_move = command in "Mm" and i > 0
                yield (chr(ord(command) - 1) if after_move else command), numbers[i : i + takes]

    def _numbers(self, command: str, text: str) -> list[float]:
        if command not in "Aa":
            return [float(number) for number in re.findall(_NUMBER, text)]
        # The two flags of an arc may stand without a blank between them.
        arc = rf"({_NUMBER})[\s,]*({_NUMBER})[\s,]*({_NUMBER})[\s,]*([01])[\s,]*([01])"
        found = re.findall(rf"{arc}[\s,]*({_NUMBER})[\s,]*({_NUMBER})", text)
        return [float(number) for numbers in found for number in numbers]

    def _lift(self) -> None:
        if self._line:
            self._done.append(self._line)
        self._line = []

    def _step(self, command: str, numbers: list[float]) -> None:
        kind = command.upper()
        base = self._at if command.islower() else (0.0, 0.0)
        if kind == "Z":
            if self._line:
                start = self._line[0]
                self._lift()
                self._at = start
        elif kind == "M":
            self._lift()
            self._at = (base[0] + numbers[0], base[1] + numbers[1])
            self._line = [self._at]
        else:
            if not self._line:
                self._line = [self._at]
            self._draw(kind, base, numbers)
        if kind not in "CSQT":
            self._handle = None
        self._before = kind

    def _draw(self, kind: str, base: Point, numbers: list[float]) -> None:
        if kind == "H":
            self._to([(base[0] + numbers[0], self._at[1])])
        elif kind == "V":
            self._to([(self._at[0], base[1] + numbers[0])])
        elif kind == "A":
            rx, ry, tilt, large, sweep = numbers[:5]
            end = (base[0] + numbers[5], base[1] + numbers[6])
            self._to(_arc(self._at, end, _Arc(rx, ry, tilt, large > 0, sweep > 0), self._chord))
        else:
            given = [
                (base[0] + numbers[i], base[1] + numbers[i + 1]) for i in range(0, len(numbers), 2)
            ]
            if kind == "L":
                self._to(given)
            else:
                self._curve(kind, given)

    def _curve(self, kind: str, given: list[Point]) -> None:
        if kind in "ST":
            same = self._before in ("CS" if kind == "S" else "QT")
            mirror = self._at
            if same and self._handle:
                mirror = (2 * self._at[0] - self._handle[0], 2 * self._at[1] - self._handle[1])
            given = [mirror, *given]
        self._handle = given[-2]
        self._to(_bezier([self._at, *given], self._chord))

    def _to(self, points: list[Point]) -> None:
        self._line.extend(points)
        self._at = points[-1]


def _bezier(control: list[Point], chord_mm: float) -> list[Point]:
    """Points after the first along a quadratic or cubic curve."""
    bend = max(
        math.dist(
            (a[0] - 2 * b[0] + c[0], a[1] - 2 * b[1] + c[1]), (0.0, 0.0)
        )
        for a, b, c in zip(control, control[1:], control[2:], strict=False)
    )  # fmt: skip
    degree = len(control) - 1
    # A polynomial curve leaves its chord by at most h^2 / 8 times the second derivative.
    fine = math.sqrt(degree * (degree - 1) * bend / (8 * chord_mm))
    steps = max(1, math.ceil(min(fine, _STEPS_MOST)))
    points = []
    for i in range(1, steps + 1):
        level = control
        t = i / steps
        while len(level) > 1:
            level = [
                (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])) for a, b in pairwise(level)
            ]
        points.append(level[0])
    return points


@dataclass(frozen=True, slots=True)
class _Arc:
    rx: float
    ry: float
    tilt_deg: float
    large: bool
    sweep: bool


def _arc(start: Point, end: Point, arc: _Arc, chord: float) -> list[Point]:
    """Points after the first along an elliptical arc; SVG 1.1 appendix F.6.5 and F.6.6."""
    rx, ry = abs(arc.rx), abs(arc.ry)
    if rx == 0 or ry == 0 or start == end:
        return [end]
    tilt = math.radians(arc.tilt_deg)
    cos, sin = math.cos(tilt), math.sin(tilt)
    dx, dy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    x, y = cos * dx + sin * dy, -sin * dx + cos * dy
    grow = math.sqrt(max(1.0, (x / rx) ** 2 + (y / ry) ** 2))
    rx, ry = rx * grow, ry * grow
    under = max(0.0, (rx * ry) ** 2 - (rx * y) ** 2 - (ry * x) ** 2)
    factor = math.sqrt(under / ((rx * y) ** 2 + (ry * x) ** 2)) * (
        -1 if arc.large == arc.sweep else 1
    )
    cx, cy = factor * rx * y / ry, -factor * ry * x / rx
    begin = math.atan2((y - cy) / ry, (x - cx) / rx)
    turn = math.atan2((-y - cy) / ry, (-x - cx) / rx) - begin
    if arc.sweep and turn < 0:
        turn += 2 * math.pi
    if not arc.sweep and turn > 0:
        turn -= 2 * math.pi
    middle = (
        cos * cx - sin * cy + (start[0] + end[0]) / 2,
        sin * cx + cos * cy + (start[1] + end[1]) / 2,
    )
    widest = max(rx, ry)
    step = 2 * math.acos(max(0.0, 1 - chord / widest))
    steps = max(2, math.ceil(min(abs(turn) / max(step, 1e-9), _STEPS_MOST)))
    points = []
    for i in range(1, steps):
        angle = begin + turn * i / steps
        u, v = rx * math.cos(angle), ry * math.sin(angle)
        points.append((middle[0] + cos * u - sin * v, middle[1] + sin * u + cos * v))
    return [*points, end]
