"""Lengths of metal before it is bent, domed or wound: plain geometry, mm in and out."""

from __future__ import annotations

import math

from lemel.errors import require

__all__ = [
    "HALF_ROUND_NEUTRAL", "around_oval_mm", "bent_length_mm", "bent_oval_length_mm",
    "chain_links", "dome_blank_mm", "dome_height_mm", "jump_ring_wire_mm",
]  # fmt: skip

#: Centroid of a half ellipse above its flat side, as a share of its height: 4 / (3 pi).
HALF_ROUND_NEUTRAL = 4 / (3 * math.pi)


def bent_length_mm(
    inside_diameter_mm: float, thickness_mm: float, neutral_share: float = 0.5
) -> float:
    """Length of the straight piece that closes to a ring: pi (ID + 2 k t).

    `neutral_share` k says where in the thickness the unstretched line lies: 0.5 for flat,
    square and round stock, 4/(3 pi) for a half round with its flat side inwards, 0.40 to
    0.50 where the thickness exceeds 0.15 of the inside diameter. Without joint or wide-band
    allowance. Source: the centre-line rule of the trade's ring-blank pages, whose worked
    example is ID 18.4, t 1.0, printed 61 with pi taken as 3.145.

    >>> round(bent_length_mm(18.4, 1.0), 2)
    60.95
    """
    require(
        inside_diameter_mm > 0 and thickness_mm > 0, "inside_diameter_mm",
        (inside_diameter_mm, thickness_mm), "both above 0", "Give the size and the thickness.",
    )  # fmt: skip
    return math.pi * (inside_diameter_mm + 2 * neutral_share * thickness_mm)


def around_oval_mm(half_long_mm: float, half_short_mm: float) -> float:
    """Circumference of an ellipse: pi (3 (a + b) - sqrt((3 a + b)(a + 3 b))).

    Off by less than 0.01 % up to an axis ratio of 3 to 1. Source: S. Ramanujan, Modular
    equations and approximations to pi, 1914 (from memory). Exact for a circle:

    >>> round(around_oval_mm(10, 10) / math.pi, 9)
    20.0
    """
    a, b = half_long_mm, half_short_mm
    return math.pi * (3 * (a + b) - math.sqrt((3 * a + b) * (a + 3 * b)))


def bent_oval_length_mm(
    inside_long_mm: float, inside_short_mm: float, thickness_mm: float, neutral_share: float = 0.5
) -> float:
    """Length of the straight piece for an oval bangle by its inside long and short diameters.

    The neutral line is taken as the ellipse with both half axes larger by k t.

    >>> round(bent_oval_length_mm(60, 50, 2), 1), round(bent_length_mm(60, 2), 1)
    (179.4, 194.8)
    """
    grow = neutral_share * thickness_mm
    return around_oval_mm(inside_long_mm / 2 + grow, inside_short_mm / 2 + grow)


def jump_ring_wire_mm(inside_diameter_mm: float, wire_mm: float) -> float:
    """Wire in one turn of a close-wound coil: sqrt((pi (ID + d))^2 + d^2); kerf not counted.

    Source: one turn of a helix of pitch d, geometry.

    >>> round(jump_ring_wire_mm(5.0, 1.0), 2)
    18.88
    """
    return math.hypot(math.pi * (inside_diameter_mm + wire_mm), wire_mm)


def chain_links(length_mm: float, inside_diameter_mm: float, wire_mm: float) -> int:
    """Fewest round links whose chain, pulled taut, is at least so long: N ID + 2 d.

    Each link adds its inside diameter to the length; the two end links add their wire.

    >>> chain_links(450, 3.2, 0.8)
    141
    """
    return max(1, math.ceil((length_mm - 2 * wire_mm) / inside_diameter_mm - 1e-9))


def dome_blank_mm(across_mm: float, height_mm: float) -> float:
    """Diameter of the flat disc with the area of a spherical cap: sqrt(across^2 + 4 h^2).

    `across_mm` is the width of the cap's mouth. Holds where the metal is raised without
    thinning; a sunk dome thins at the crown and wants a little less. Source: area of a
    cap, pi (r^2 + h^2), any geometry; equal to 2 sqrt(2 R h) with the sphere's radius R.

    >>> dome_blank_mm(30, 0.0), round(dome_blank_mm(30, 15) / 30, 6) == round(2**0.5, 6)
    (30.0, True)
    """
    return math.sqrt(across_mm**2 + 4 * height_mm**2)


def dome_height_mm(across_mm: float, sphere_radius_mm: float) -> float:
    """Height of the shallower cap of a sphere with the given mouth; inverse of the block's hollow.

    >>> dome_height_mm(30, 15)
    15.0
    """
    half = across_mm / 2
    require(
        sphere_radius_mm >= half, "sphere_radius_mm", sphere_radius_mm,
        f"at least half the mouth, {half:g} mm", "Use a larger hollow of the block.",
    )  # fmt: skip
    return sphere_radius_mm - math.sqrt(sphere_radius_mm**2 - half**2)
