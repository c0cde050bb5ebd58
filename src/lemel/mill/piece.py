"""The metal as it lies on the bench: true volume, plain shape, and how it was last softened."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from lemel.mill.faults import mend
from lemel.mill.rules import Rules
from lemel.tables import Tables
from lemel.values import Bar, Objection, Quantity, Saying, Section

__all__ = ["Piece", "piece_of"]

#: A bar whose measured size and mass disagree by more than this is questioned.
_SIZE_SLACK = 0.12


@dataclass(frozen=True, slots=True)
class Piece:
    """A start. shape is square, flat, round (a rod), disc (a button or a cut round).

    Mass is the truth; the length follows from it. `strain` is since it was last soft or
    cast; `unknown`: nobody knows, so it is annealed first. `filed_g` is what the
    preparation files and scrapes off, `cropped_g` what it saws off a faulty end.
    """

    shape: str
    height_mm: float
    width_mm: float
    area_mm2: float
    length_mm: float
    volume_mm3: float
    mass_g: float
    filed_g: float
    cropped_g: float
    strain: float
    cast: bool
    unknown: bool
    objections: tuple[Objection, ...] = ()


def piece_of(bar: Bar, density_g_cm3: float, rules: Rules, tables: Tables | None = None) -> Piece:
    """Read a bar: its shape by its measures, its volume by its mass, its faults cut away."""
    worked = bar.soft_section is None and bar.cast_section is not None
    cast = worked or (bar.soft_section is None and bar.kind == "ingot")
    # What has been through the rolls has been filed before.
    skin = bar.mass_g * rules.file_share if cast and not worked else 0.0
    mended = mend(bar, tables)
    filed = skin + (bar.mass_g - skin) * mended.scraped_share
    cropped = (bar.mass_g - filed) * mended.cropped_share
    mass = bar.mass_g - filed - cropped
    volume = mass / density_g_cm3 * 1000
    left = (1 - mended.scraped_share) * (1 - mended.cropped_share)
    whole = replace(bar, length_mm=bar.length_mm * (1 - mended.cropped_share))
    shape, height, width, area = _shape(whole, volume)
    height, area = height * (1 - mended.scraped_share), area * (1 - mended.scraped_share)
    length = volume / area
    begun = bar.soft_section or bar.cast_section
    strain = 0.0 if begun is None else max(0.0, _strain(begun, bar.section))
    measured = height if shape == "disc" else whole.length_mm
    true = volume / (math.pi / 4 * width * width) if shape == "disc" else length
    doubts = mended.objections
    if abs(true / measured - 1) > _SIZE_SLACK + rules.file_share and left > 0:
        doubts = (_size_doubt(bar, measured, true), *doubts)
    if shape == "disc":
        height, length, area = true, width, volume / width
    return Piece(
        shape, height, width, area, length, volume, mass, filed, cropped, strain, cast,
        bar.soft_section is None and not cast, doubts,
    )  # fmt: skip


def _shape(bar: Bar, volume_mm3: float) -> tuple[str, float, float, float]:
    section = bar.section
    if section.kind == "round":
        d = section.dim("diameter")
        if bar.length_mm < d:
            return "disc", bar.length_mm, d, volume_mm3 / d
        return "round", d, d, section.area_mm2
    if section.kind == "square":
        side = section.dim("side")
        return "square", side, side, section.area_mm2
    thin, wide = section.thickness_mm, section.width_mm
    full = volume_mm3 / (thin * wide * bar.length_mm)
    if section.kind == "flat" and abs(wide / bar.length_mm - 1) < 0.02 and 0.7 < full < 0.86:
        return "disc", thin, wide, volume_mm3 / wide
    return "flat", thin, wide, section.area_mm2


def _strain(soft: Section, now: Section) -> float:
    """Strain since soft: by thickness where both are flat, by area otherwise, the larger."""
    by_area = math.log(soft.area_mm2 / now.area_mm2)
    if soft.kind == now.kind == "flat":
        return max(by_area, math.log(soft.thickness_mm / now.thickness_mm))
    return by_area


def _size_doubt(bar: Bar, measured: float, true: float) -> Objection:
    return Objection(
        "mill.bar.size_and_mass",
        bar.id,
        "ask",
        {
            "bar": bar.id,
            "mass": Quantity(bar.mass_g, "g"),
            "measured": Quantity(measured, "mm"),
            "by_mass": Quantity(true, "mm"),
        },
        Saying("mill.do.weigh_and_measure", {"bar": bar.id}),
    )
