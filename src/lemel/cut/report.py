"""Answers for the command line: a ring size, and the blank of one piece."""

from __future__ import annotations

import math

from lemel.cut.bend import bent_length_mm
from lemel.cut.faces import BlankReport, SizeReport
from lemel.cut.need import blank_mass_g, need
from lemel.cut.sizes import ring_mark, ring_size, ring_sizes
from lemel.cut.wants import allowance
from lemel.metal import density_g_cm3
from lemel.tables import Tables, shipped
from lemel.values import Composition, OrderLine, Outline, Saw, Section

__all__ = ["blank_report", "size_report"]


def size_report(
    text: str,
    to: str | None = None,
    *,
    thickness_mm: float | None = None,
    width_mm: float | None = None,
    body: Composition | None = None,
    tables: Tables | None = None,
) -> SizeReport:
    """A ring size in mm and on the other scales.

    With `thickness_mm` the blank's length (flat stock, joint and wide-band allowance) is
    given too, and with `width_mm` and `body` its mass. Raises BadInput.
    """
    facts = tables or shipped()
    size = ring_size(text, tables=facts)
    length = mass = None
    if thickness_mm is not None:
        length = bent_length_mm(size.inside_diameter_mm, thickness_mm)
        length += allowance(facts, "joint_mm")
        if width_mm is not None and width_mm > allowance(facts, "wide_from_mm"):
            length += allowance(facts, "wide_extra_mm")
        if width_mm is not None and body is not None:
            section = Section.flat(thickness_mm, width_mm)
            mass = blank_mass_g(Outline("strip", length, width_mm), section, body)
    around = size.inside_circumference_mm
    return SizeReport(
        size.text, size.scale, around, around / math.pi,
        ring_mark(around, to, tables=facts) if to else None,
        ring_sizes(around, tables=facts), size.variants_mm, length, mass, (size.source,),
        size.notes,
    )  # fmt: skip


def blank_report(
    line: OrderLine,
    body: Composition,
    saw: Saw | None = None,
    *,
    tables: Tables | None = None,
) -> BlankReport:
    """One piece's blank with its mass, and the stock for the whole line. Raises BadInput."""
    facts = tables or shipped()
    asked = need((line,), {line.standard: body}, saw, tables=facts)
    blank = asked.blanks[0]
    around = None
    sources = ["ring_blank_pages"] if line.what in ("ring", "bangle") else []
    if line.what == "ring":
        size = ring_size(str(line.sizes["size"]).split(",")[0], tables=facts)
        around = size.inside_circumference_mm
        sources.append(size.source)
    elif "inside_diameter_mm" in line.sizes:
        around = math.pi * float(line.sizes["inside_diameter_mm"])
    return BlankReport(
        line.what, around, None if around is None else around / math.pi,
        blank.outline.length_mm, blank.outline.width_mm, blank.mass_g, density_g_cm3(body),
        len(asked.blanks), blank.outline, blank.allowance_mm, asked.stock, tuple(sources),
        asked.explain,
    )  # fmt: skip
