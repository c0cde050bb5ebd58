"""How an alloy hardens under the rolls and softens in the fire."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise

from lemel.metal.faces import HeatLimits, Working
from lemel.metal.families import family
from lemel.metal.ranges import melting
from lemel.tables import Row, Tables, shipped
from lemel.values import Composition, Quantity, Saying, SayingValue

__all__ = [
    "flow_stress_mpa", "heat_limits", "hv_at", "softening", "strain_at_hv", "working",
]  # fmt: skip

_SERIES = {
    "fine_silver": "silver", "britannia": "silver", "silver": "silver",
    "germanium_silver": "germanium",
}  # fmt: skip
#: Bounds within which the hardness curves may be moved along a fit.
_NUMBERS = (
    "soft_hv", "full_hv", "strain_scale", "strain_most", "cast_strain_most",
    "anneal_strain_least", "anneal_lo_c", "anneal_hi_c",
)  # fmt: skip
_CONFIDENCE = ("good", "medium", "low")


def working(body: Composition, colour: str = "none", *, tables: Tables | None = None) -> Working:
    """Hardness curve, strain limits and anneal of an alloy.

    Between the tabulated finenesses of a series the figures are interpolated linearly;
    beyond its ends the end row answers. The confidence is the worse of the two rows.
    """
    return _working(body, colour, tables or shipped())


@lru_cache(maxsize=2048)
def _working(body: Composition, colour: str, tables: Tables) -> Working:
    heat_family = family(body, colour)
    low, high, share = _bracket(_series(body, heat_family), body, tables)
    figures = {
        name: low.number(name) + share * (high.number(name) - low.number(name)) for name in _NUMBERS
    }
    near = high if share > 0.5 else low
    if share in (0.0, 1.0):
        low = high = near
        share = 0.0
    notes: list[Saying] = []
    suspect = _embrittled(body, tables)
    if suspect:
        factor = tables.row("metal_work_rule", "suspect_strain_factor").number("value")
        figures["strain_most"] *= factor
        figures["cast_strain_most"] *= factor
        notes.append(Saying("metal.working.suspect", {"element": suspect}))
    return Working(
        family=heat_family,
        soft_hv=figures["soft_hv"],
        full_hv=figures["full_hv"],
        strain_scale=figures["strain_scale"],
        strain_most=figures["strain_most"],
        cast_strain_most=figures["cast_strain_most"],
        anneal_strain_least=figures["anneal_strain_least"],
        anneal_c=(figures["anneal_lo_c"], figures["anneal_hi_c"]),
        anneal_sign=f"metal.sign.{near.text('sign')}",
        cooling=f"metal.cool.{near.text('cooling')}",
        confidence=max(low.text("confidence"), high.text("confidence"), key=_CONFIDENCE.index),
        sources=tuple(sorted({low.source, high.source})),
        notes=tuple(notes),
    )


def _series(body: Composition, heat_family: str) -> str:
    if heat_family != "base":
        return _SERIES.get(heat_family, heat_family)
    if body.share("Ni") >= 0.05:
        return "nickel_silver"
    return "brass" if body.share("Zn") >= 0.05 else "copper"


def _bracket(series: str, body: Composition, tables: Tables) -> tuple[Row, Row, float]:
    """The two rows about the body's fineness and how far it lies from the lower to the upper."""
    rows = [row for row in tables.rows("metal_working") if row.text("series") == series]
    rows.sort(key=lambda row: row.number("fineness"))
    fineness = 1000 * body.share(body.main())
    for low, high in pairwise(rows):
        lower, upper = low.number("fineness"), high.number("fineness")
        if lower <= fineness <= upper:
            return low, high, (fineness - lower) / (upper - lower)
    end = rows[0] if fineness < rows[0].number("fineness") else rows[-1]
    return end, end, 0.0


def _embrittled(body: Composition, tables: Tables) -> str:
    """The first element above the level at which it embrittles; empty if none."""
    for row in tables.rows("metal_contaminant"):
        if (
            row.text("embrittles") == "yes"
            and body.share(row.key) > row.number("warn_percent") / 100
        ):
            return row.key
    return ""


def hv_at(metal: Working, strain: float) -> float:
    """Vickers hardness after a true strain since soft.

    E. Voce, J. Inst. Met. 74 (1948) 537: an exponential approach to saturation.
    """
    span = metal.full_hv - metal.soft_hv
    return metal.soft_hv + span * (1 - math.exp(-max(0.0, strain) / metal.strain_scale))


def strain_at_hv(metal: Working, hv: float) -> float:
    """The inverse of `hv_at`; 0 at or below soft, infinite at or above full hardness."""
    if hv <= metal.soft_hv:
        return 0.0
    if hv >= metal.full_hv:
        return math.inf
    span = metal.full_hv - metal.soft_hv
    return -metal.strain_scale * math.log(1 - (hv - metal.soft_hv) / span)


def flow_stress_mpa(metal: Working, strain: float, *, tables: Tables | None = None) -> float:
    """Stress at which the metal yields after a true strain since soft, MPa.

    Tabor's rule: an indentation strains the metal by about 0.08, so HV x g / 3 is the flow
    stress at that much more strain. Below 0.08 a square-root ramp from 0.45 of it (an
    assumption: soft metal yields far below what its hardness says).
    Source: D. Tabor, The Hardness of Metals, 1951.
    """
    rules = (tables or shipped()).table("metal_work_rule")
    per_hv, offset = (
        rules["tabor_mpa_per_hv"].number("value"),
        rules["tabor_strain"].number("value"),
    )
    if strain >= offset:
        return per_hv * hv_at(metal, strain - offset)
    share = rules["yield_share"].number("value")
    return per_hv * metal.soft_hv * (share + (1 - share) * math.sqrt(max(0.0, strain) / offset))


def softening(metal: Working) -> tuple[Saying, ...]:
    """The anneal as sayings: the window, the sign to look for, how to cool."""
    window = {"lo": Quantity(metal.anneal_c[0], "degC"), "hi": Quantity(metal.anneal_c[1], "degC")}
    return (
        Saying("metal.working.anneal", window), Saying(metal.anneal_sign), Saying(metal.cooling)
    )  # fmt: skip


def heat_limits(body: Composition, *, tables: Tables | None = None) -> HeatLimits:
    """How hot the solid metal may become: worked, as cast, and where it turns hot short.

    The solidus less its known error and a margin (table `metal_work_rule`); where an element
    above its warning level leaves films that melt lower, from that film's temperature.
    """
    tables = tables or shipped()
    rules = tables.table("metal_work_rule")
    range_ = melting(body, tables=tables)
    worked = range_.safe_solidus_c - rules["anneal_below_solidus_k"].number("value")
    cast = (
        min(range_.segregated_solidus_c, range_.safe_solidus_c)
        - rules["cast_anneal_below_segregated_k"].number("value")
    )  # fmt: skip
    short = range_.safe_solidus_c - range_.band_k
    notes: list[Saying] = []
    host = "film_au_c" if body.main() == "Au" else "film_ag_c"
    for row in tables.rows("metal_contaminant"):
        film = row.number_or(host, 0)
        over = body.share(row.key) > row.number("warn_percent") / 100
        if over and row.text("embrittles") == "yes" and 0 < film < short:
            short = film
            told: dict[str, SayingValue] = {"element": row.key, "film": Quantity(film, "degC")}
            notes = [Saying("metal.working.film", told)]
    return HeatLimits(worked, cast, short, tuple(notes))
