"""Ring sizes: a mark on a named scale to the inside of the ring, and back."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from lemel.errors import BadInput, NotKnown
from lemel.tables import Row, Tables, shipped
from lemel.values import Quantity, Saying

__all__ = ["RingSize", "ring_mark", "ring_size", "ring_size_of_diameter", "ring_sizes"]

_FRACTIONS = {"¼": 0.25, "½": 0.5, "¾": 0.75, "1/4": 0.25, "1/2": 0.5, "3/4": 0.75}


@dataclass(frozen=True, slots=True)
class RingSize:
    """A ring size and what it measures: the inside circumference is the truth of it.

    `scale` is the key of the scale in the tables, `mark` the mark on it. `variants_mm`
    gives the circumference that other published lists of the same name put to the mark.
    """

    text: str
    scale: str
    mark: str
    inside_circumference_mm: float
    source: str
    trust: str
    variants_mm: Mapping[str, float] = field(default_factory=dict)
    notes: tuple[Saying, ...] = ()

    @property
    def inside_diameter_mm(self) -> float:
        """Inside diameter: circumference over pi."""
        return self.inside_circumference_mm / math.pi


def ring_size(text: str, *, tables: Tables | None = None) -> RingSize:
    """What a size as it is spoken measures: "ISO 54", "UK L", "US 7", "JP 12", "CH 14".

    The name of the scale comes first; a bare number is refused, since 14 is a finger in
    Bern and a wrist in Boston. Halves are written ½, 1/2 or .5; letters beyond Z as Z+1.
    Published lists of one name differ (the letters by more than a millimetre), so each
    is a scale of its own ("UK-chart L"), and "OWN" is the bench's own stick, whose
    measured points are laid over the table `cut_ring_points`.

    Source: ISO 8653 (inside circumference in mm); the rows of `cut_ring_scales` for the
    others. Raises BadInput for an unknown scale or mark, NotKnown for an own stick
    without points.

    >>> size = ring_size("ISO 52")
    >>> round(size.inside_diameter_mm, 1)
    16.6
    >>> ring_size("UK M").inside_circumference_mm
    52.5
    """
    facts = tables or shipped()
    scale, mark_text = _read(text, facts)
    mark = _read_mark(text, mark_text, scale)
    low, high = scale.number("lowest"), scale.number("highest")
    if not low <= mark <= high:
        span = f"{_write_mark(low, scale)} to {_write_mark(high, scale)}"
        raise BadInput("size", text, span, "Give a size that the scale has.")
    around = _circumference_mm(scale, mark, facts)
    variants = _variants(scale, mark, facts)
    notes = []
    if variants:
        every = [around, *variants.values()]
        notes.append(
            Saying(
                "cut.size.variants_differ",
                {
                    "size": text.strip(),
                    "low": Quantity(min(every), "mm"),
                    "high": Quantity(max(every), "mm"),
                },
            )
        )
    return RingSize(
        text.strip(), scale.key, _write_mark(mark, scale), around, scale.source, scale.trust,
        variants, tuple(notes),
    )  # fmt: skip


def ring_size_of_diameter(
    inside_diameter_mm: float, scale: str = "ISO", *, tables: Tables | None = None
) -> RingSize:
    """The nearest mark of a scale to an inside diameter in mm, with what that mark measures."""
    facts = tables or shipped()
    mark = ring_mark(math.pi * inside_diameter_mm, scale, tables=facts)
    return ring_size(f"{scale} {mark}", tables=facts)


def ring_mark(inside_circumference_mm: float, scale: str, *, tables: Tables | None = None) -> str:
    """The nearest mark that a scale has for an inside circumference.

    Raises BadInput for an unknown scale or a ring beyond the scale's ends.

    >>> ring_mark(54.4, "ISO"), ring_mark(52.5, "UK")
    ('54', 'M')
    """
    facts = tables or shipped()
    row = _scale(scale, facts)
    step, low, high = (row.number(name) for name in ("mark_step", "lowest", "highest"))
    exact = _mark_of(row, inside_circumference_mm, facts)
    mark = round(exact / step) * step
    if not low - step / 2 <= exact <= high + step / 2:
        raise BadInput(
            "size", f"{inside_circumference_mm:.2f} mm",
            f"{_write_mark(low, row)} to {_write_mark(high, row)} on {row.key}",
            "Use a scale that reaches so far, such as ISO.",
        )  # fmt: skip
    return _write_mark(min(max(mark, low), high), row)


def ring_sizes(inside_circumference_mm: float, *, tables: Tables | None = None) -> dict[str, str]:
    """The nearest mark on every scale that has one, by scale key."""
    facts = tables or shipped()
    marks = {}
    for row in facts.rows("cut_ring_scales"):
        try:
            marks[row.key] = ring_mark(inside_circumference_mm, row.key, tables=facts)
        except (BadInput, NotKnown):
            continue
    return marks


def _read(text: str, facts: Tables) -> tuple[Row, str]:
    cleaned = re.sub(r"^\s*ISO\s*8653\s*[-: ]", "ISO ", str(text), flags=re.IGNORECASE).strip()
    found = re.match(r"^([A-Za-z][A-Za-z0-9-]*)\s*[ :]\s*(.+)$", cleaned)
    if not found:
        found = re.match(r"^([A-Za-z]{2,})-?(\d.*)$", cleaned)
    if not found:
        raise BadInput(
            "size", text, "a scale and a mark: ISO 54, UK L, US 7, JP 12, CH 14",
            "Write the name of the scale before the size.",
        )  # fmt: skip
    return _scale(found.group(1), facts), found.group(2)


def _scale(name: str, facts: Tables) -> Row:
    wanted = name.strip().upper()
    for row in facts.rows("cut_ring_scales"):
        if wanted in (row.key.upper(), *row.text("names").upper().split("|")):
            return row
    known = ", ".join(row.text("names").split("|")[0] for row in facts.rows("cut_ring_scales"))
    raise BadInput("scale", name, known, "Name one of these ring scales.")


def _read_mark(text: str, mark_text: str, scale: Row) -> float:
    letters = scale.text("marks") == "letter"
    allowed = "a letter, such as L, L½ or Z+1" if letters else "a number, such as 7, 7¼ or 7.25"
    bad = BadInput("size", text, allowed, "Write the size as it stands on the stick.")
    body = mark_text.strip()
    part = 0.0
    for sign, worth in _FRACTIONS.items():
        if body.endswith(sign):
            body, part = body[: -len(sign)].rstrip(" -"), worth
            break
    if not letters:
        try:
            mark = float(body.replace(",", ".")) if body else 0.0
        except ValueError:
            raise bad from None
        if not math.isfinite(mark):
            raise bad
        return mark + part
    found = re.match(r"^([A-Za-z])(?:\s*\+\s*(\d+))?\s*(\.5)?$", body)
    if not found or (found.group(2) and found.group(1).upper() != "Z"):
        raise bad
    mark = ord(found.group(1).upper()) - ord("A") + 1 + int(found.group(2) or 0)
    return mark + part + (0.5 if found.group(3) else 0.0)


def _write_mark(mark: float, scale: Row) -> str:
    whole = math.floor(mark + 1e-9)
    part = {0.25: "¼", 0.5: "½", 0.75: "¾"}.get(round(mark - whole, 4), "")
    if scale.text("marks") == "letter":
        return (chr(64 + whole) if whole <= 26 else f"Z+{whole - 26}") + part
    if not part and abs(mark - whole) > 1e-9:
        return f"{mark:g}"
    return f"{whole}{part}"


def _points(scale: Row, facts: Tables) -> list[tuple[float, float]]:
    rows = [row for row in facts.rows("cut_ring_points") if row.text("scale") == scale.key]
    points = sorted((row.number("mark"), row.number("inside_diameter_mm")) for row in rows)
    if len(points) < 2:
        raise NotKnown(
            f"the ring stick {scale.key}", "fewer than two of its marks have been measured",
            "Measure two marks of the stick with a caliper and enter them in cut_ring_points.",
        )  # fmt: skip
    return points


def _circumference_mm(scale: Row, mark: float, facts: Tables) -> float:
    if scale.text("measure") == "points":
        return math.pi * _along(_points(scale, facts), mark)
    size = scale.number("zero_mm") + scale.number("step_mm") * mark
    return size * math.pi if scale.text("measure") == "diameter" else size


def _mark_of(scale: Row, circumference_mm: float, facts: Tables) -> float:
    if scale.text("measure") == "points":
        turned = [(size, mark) for mark, size in _points(scale, facts)]
        return _along(turned, circumference_mm / math.pi)
    size = circumference_mm / (math.pi if scale.text("measure") == "diameter" else 1.0)
    return (size - scale.number("zero_mm")) / scale.number("step_mm")


def _along(points: list[tuple[float, float]], x: float) -> float:
    for (x0, y0), (x1, y1) in pairwise(points):
        if x <= x1 or (x1, y1) == points[-1]:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    raise AssertionError("unreachable: the last pair takes every x")


def _variants(scale: Row, mark: float, facts: Tables) -> dict[str, float]:
    family = scale.key.split("-")[0]
    found = {}
    for row in facts.rows("cut_ring_scales"):
        same = row.key != scale.key and row.key.split("-")[0] == family
        if same and row.number("lowest") <= mark <= row.number("highest"):
            found[row.key] = _circumference_mm(row, mark, facts)
    return found
