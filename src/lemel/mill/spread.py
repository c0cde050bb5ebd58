"""How much wider a bar becomes when it is rolled flat: S = ln(w1 / w0) / ln(h0 / h1).

Textbook formulas disagree up to tenfold on narrow bars at small friction, so a band is
carried, and one factor is learnt from the user's own bars. Units: mm.
"""

from __future__ import annotations

import math
from functools import lru_cache

from lemel.mill.rolling import contact_length_mm
from lemel.mill.rules import Rules

__all__ = [
    "ekelund_spread", "hill_spread", "sparling_spread", "spread_share", "width_rolled_mm",
    "wusatowski_spread",
]  # fmt: skip

#: Step of the integration, as a strain of thickness.
_STEP = 0.02


def hill_spread(width_mm: float, contact_mm: float) -> float:
    """0.5 exp(-0.525 w / L). Source: R. Hill 1963 (from memory)."""
    return 0.5 * math.exp(-0.525 * width_mm / contact_mm)


def wusatowski_spread(width_mm: float, height_mm: float, roll_d_mm: float) -> float:
    """10^(-1.269 (w / h)(h / D)^0.56). Source: Wusatowski 1969; fitted on hot steel."""
    return float(10 ** (-1.269 * width_mm / height_mm * (height_mm / roll_d_mm) ** 0.56))


def sparling_spread(width_mm: float, roll_r_mm: float, height_mm: float, draft_mm: float) -> float:
    """0.981 exp(-1.6735 w^0.9 / (R^0.55 h^0.1 dh^0.25)). Source: Sparling 1961 (from memory)."""
    below = roll_r_mm**0.55 * height_mm**0.1 * draft_mm**0.25
    return float(0.981 * math.exp(-1.6735 * width_mm**0.9 / below))


def ekelund_spread(
    width_mm: float, h_in_mm: float, h_out_mm: float, roll_r_mm: float, mu: float
) -> float:
    """Ekelund's implicit width, solved by bisection (Ekelund 1933 in Wusatowski, from memory).

    w1^2 - w0^2 = 8 m L dh - 4 m (h0 + h1) L ln(w1 / w0), m = (1.6 mu L - 1.2 dh)/(h0 + h1).
    At small friction m falls to zero or below: then nothing spreads.
    """
    draft = h_in_mm - h_out_mm
    contact = contact_length_mm(draft, roll_r_mm)
    m = (1.6 * mu * contact - 1.2 * draft) / (h_in_mm + h_out_mm)
    if m <= 0:
        return 0.0

    def left_over(out: float) -> float:
        held = 4 * m * (h_in_mm + h_out_mm) * contact * math.log(out / width_mm)
        return float(out * out - width_mm * width_mm - 8 * m * contact * draft + held)

    lo, hi = width_mm, width_mm * h_in_mm / h_out_mm
    for _ in range(60):
        mid = (lo + hi) / 2
        lo, hi = (lo, mid) if left_over(mid) > 0 else (mid, hi)
    return math.log(lo / width_mm) / math.log(h_in_mm / h_out_mm)


def spread_share(
    width_mm: float, height_mm: float, roll_r_mm: float, factor: float, rules: Rules
) -> float:
    """The spread that this room plans with, for a pass of the reference reduction.

    Hill's formula times the workshop's factor; nothing spreads once the sheet is ten
    contact lengths wide.
    """
    contact = contact_length_mm(rules.spread_reference_reduction * height_mm, roll_r_mm)
    if width_mm / contact > rules.spread_ends_at:
        return 0.0
    return min(1.0, factor * hill_spread(width_mm, contact))


@lru_cache(maxsize=8192)
def width_rolled_mm(
    width_mm: float,
    h_in_mm: float,
    h_out_mm: float,
    roll_r_mm: float,
    factor: float,
    rules: Rules,
) -> float:
    """Width after rolling from one thickness to another, whatever the number of passes.

    Integrates d ln w = S d ln(1 / h) in steps of 2 %, so that the width is a function of
    thickness alone and volume is kept exactly.
    """
    steps = max(1, math.ceil(math.log(h_in_mm / h_out_mm) / _STEP - 1e-9))
    ratio = (h_out_mm / h_in_mm) ** (1 / steps)
    width, height = width_mm, h_in_mm * math.sqrt(ratio)
    for _ in range(steps):
        share = spread_share(width, height, roll_r_mm, factor, rules)
        if share == 0.0:
            # Thinner sheet has a shorter contact, so nothing spreads from here on.
            break
        width *= ratio**-share
        height *= ratio
    return width
