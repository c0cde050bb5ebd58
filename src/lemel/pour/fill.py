"""What a mould holds: cavity, hot and cold bar, feeder, least bar."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lemel import metal
from lemel.pour.figures import figure, is_plate, kind_row
from lemel.tables import Tables
from lemel.values import Composition, Mould, Section

__all__ = [
    "Cavity", "button_size", "cavity", "cold_bar", "fed_share", "partial_length_mm",
]  # fmt: skip

ROOM_C = 20.0


@dataclass(frozen=True, slots=True)
class Cavity:
    """One channel of a mould for one metal, grams.

    `holds_g` is the bench rule (volume times the density of the cold metal; about 5 % more
    than the cold bar weighs, which is a reserve); `full_g` what a full bar weighs cold;
    `feeder_g` what must stand above it; `least_g` the lightest usable bar; `cold_scale` the
    size of the cold bar over that of the cavity.
    """

    volume_cm3: float
    holds_g: float
    full_g: float
    feeder_g: float
    least_g: float
    cold_scale: float


def cavity(mould: Mould, body: Composition, *, tables: Tables | None = None) -> Cavity:
    """What one channel holds.

    full = V rho_room / (1 + 3 a (T_solidus - 20)); feeder = the larger of the kind's share and
    of what freezing shrinks. Contraction of the solid needs no feeding (as in the
    examination case of a cube whose riser supplies only the liquid and the phase shrinkage).

    >>> from lemel.values import Composition, Mould, Section
    >>> sterling = Composition.from_millesimal({"Ag": 925, "Cu": 75})
    >>> plate = Mould("P", "plate", Section.flat(5, 40), 80, 2000)
    >>> round(cavity(plate, sterling).holds_g)
    166
    """
    volume_cm3 = mould.cavity.area_mm2 * mould.length_mm / 1000
    density = metal.density_g_cm3(body, tables=tables)
    melting = metal.melting(body, tables=tables)
    swell = 1 + 3 * metal.expansion_per_k(body, tables=tables) * (melting.solidus_c - ROOM_C)
    full_g = volume_cm3 * density / swell
    row = kind_row(mould.kind, tables)
    shrink_g = (
        figure("shrink_share", tables)
        * volume_cm3
        * metal.liquid_density_g_cm3(body, melting.liquidus_c, tables=tables)
    )
    share = row.number("feeder_share")
    return Cavity(
        volume_cm3,
        volume_cm3 * density,
        full_g,
        max(share * full_g, shrink_g) if share else 0.0,
        _least_g(mould, full_g, tables),
        swell ** (-1 / 3),
    )


def fed_share(liquid: float, freezing: float) -> float:
    """Share of the cavity's volume that a riser must feed: shrinkage of the liquid and of
    freezing; what the solid contracts needs no feeding.

    A cube that shrinks 3 % liquid, 4 % freezing, 5 % solid (GATE 2008) takes from the riser:

    >>> round(fed_share(0.03, 0.04), 2)
    0.07
    """
    return liquid + freezing


def _least_g(mould: Mould, full_g: float, tables: Tables | None) -> float:
    row = kind_row(mould.kind, tables)
    if mould.kind == "bar":
        by_length_g = full_g * min(1.0, row.number("least_length_mm") / mould.length_mm)
        return min(by_length_g, row.number("least_g"), full_g)
    least_g = row.number("least_share") * full_g
    if mould.kind == "adjustable":
        narrow = min(1.0, figure("adjustable_least_mm", tables) / mould.cavity.width_mm)
        least_g *= narrow
    if mould.kind == "open":
        least_g = max(least_g, min(row.number("least_g"), full_g))
    return least_g


def partial_length_mm(
    mould: Mould, body: Composition, mass_g: float, *, tables: Tables | None = None
) -> float:
    """Length of the hot bar when less than a full one is poured into an upright mould, mm."""
    return mould.length_mm * min(1.0, mass_g / cavity(mould, body, tables=tables).full_g)


def cold_bar(
    mould: Mould, body: Composition, mass_g: float, *, tables: Tables | None = None
) -> tuple[Section, float]:
    """Section and length at room temperature of a bar of so many grams from this mould.

    Upright moulds come out shorter; an adjustable one is first set narrower; an open trough
    fills to less depth. Mass = area x length x density holds exactly.
    """
    held = cavity(mould, body, tables=tables)
    share = min(1.0, mass_g / held.full_g)
    dims = {name: size * held.cold_scale for name, size in mould.cavity.dims_mm}
    length_mm = mould.length_mm * held.cold_scale
    kind = mould.cavity.kind
    if mould.kind == "open" and share < 1 and kind in ("flat", "square"):
        return _shallow(dims, kind, share, mould.cavity.corner), length_mm
    if mould.kind == "adjustable" and kind == "flat" and share < 1:
        least_mm = min(figure("adjustable_least_mm", tables) * held.cold_scale, dims["width"])
        wide_mm = max(share * dims["width"], least_mm)
        share *= dims["width"] / wide_mm
        dims["width"] = wide_mm
    return Section.of(kind, dims, mould.cavity.corner), length_mm * min(1.0, share)


def _shallow(dims: dict[str, float], kind: str, share: float, corner: float) -> Section:
    deep_mm, wide_mm = (
        (dims["side"], dims["side"]) if kind == "square" else (dims["thickness"], dims["width"])
    )
    return Section.of("flat", {"thickness": deep_mm * share, "width": wide_mm}, corner)


def button_size(
    body: Composition, mass_g: float, *, tables: Tables | None = None
) -> tuple[Section, float]:
    """A button as a disc: (round section, height mm), no higher than a dish lets it stand.

    The height is an estimate (surface tension holds a pool of silver or gold at 5 to 6 mm);
    a small button is as high as its radius.
    """
    volume_mm3 = 1000 * mass_g / metal.density_g_cm3(body, tables=tables)
    height_mm = min(figure("button_height_mm", tables), (volume_mm3 / math.pi) ** (1 / 3))
    return Section.round(math.sqrt(4 * volume_mm3 / (math.pi * height_mm))), height_mm


def wetted_mm(mould: Mould) -> float:
    """The part of the section's outline that lies on the mould, mm."""
    dims = dict(mould.cavity.dims_mm)
    around = {
        "flat": lambda: 2 * (dims["thickness"] + dims["width"]),
        "square": lambda: 4 * dims["side"],
        "round": lambda: math.pi * dims["diameter"],
        "half_round": lambda: dims["width"] + _arc(dims["width"], 2 * dims["height"]) / 2,
        "oval": lambda: _arc(dims["width"], dims["height"]),
    }[mould.cavity.kind]()
    return around - mould.cavity.width_mm if mould.kind == "open" else around


def _arc(width_mm: float, height_mm: float) -> float:
    # Ramanujan's first approximation of an ellipse's outline; better than 0.1 % here.
    a, b = width_mm / 2, height_mm / 2
    return math.pi * (3 * (a + b) - math.sqrt((3 * a + b) * (a + 3 * b)))


def is_thin(mould: Mould, tables: Tables | None = None) -> bool:
    """A plate too thin to be filled at the bench."""
    return is_plate(mould) and mould.cavity.thickness_mm < figure("refuse_below_mm", tables)
