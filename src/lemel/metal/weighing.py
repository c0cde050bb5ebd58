"""Fineness from weighing in air and in water: what it can reject, and what it cannot prove.

rho = (m_air rho_water - m_water rho_air) / (m_air - m_water). Of two metals whose volumes
add, the share of the first is (1/rho - 1/rho_2) / (1/rho_1 - 1/rho_2). Pores only ever
lower the density. Water by M. Tanaka et al., Metrologia 38 (2001) 301-309, 0 to 40 degC.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lemel.errors import BadInput
from lemel.metal.fineness import standards
from lemel.tables import Tables, shipped
from lemel.values import METALS, Caution, Quantity, Saying, SayingValue

__all__ = ["Weighed", "Weighing", "water_density_g_cm3", "weigh"]


@dataclass(frozen=True, slots=True)
class Weighing:
    """What was read off the balance.

    `air_g` in air, `water_g` hanging in water (both as displayed), water at `water_c`.
    `metals`: what the piece is taken to consist of, the precious one first. `step_g` is the
    balance's least step and counts as the standard deviation of one weighing unless
    `sd_g` says better. `claimed` is the fineness that is to be judged (mass fraction;
    None: none). `pores_most` is the largest share of pores thought possible; None: the table's.
    """

    air_g: float
    water_g: float
    water_c: float
    metals: tuple[str, ...] = ("Ag", "Cu")
    step_g: float = 0.01
    sd_g: float | None = None
    water_c_sd: float | None = None
    claimed: float | None = None
    pores_most: float | None = None


@dataclass(frozen=True, slots=True)
class Weighed:
    """What follows from it. `fineness` and its interval are millesimal.

    `density_sd`, `fineness_sd` come from balance and thermometer alone; the interval adds
    what is not known about the metals' own densities and, upwards in fineness or
    downwards, pores and the mixture of more than two metals. `verdict` is one of
    impossible, rejects, undecided, agrees; weighing never proves. `could_be` lists the
    common finenesses inside the interval, `cannot_be` those outside a wider one (three
    standard deviations), which alone is enough to reject.
    """

    density_g_cm3: float
    density_sd: float
    fineness: float
    fineness_sd: float
    fineness_interval_95: tuple[float, float]
    verdict: str
    said: Saying
    could_be: tuple[float, ...]
    cannot_be: tuple[float, ...]
    cautions: tuple[Caution, ...]


def water_density_g_cm3(temp_c: float, *, tables: Tables | None = None) -> float:
    """Air-free water at one atmosphere, g/cm3, 0 to 40 degC.

    >>> round(water_density_g_cm3(20), 6)
    0.998207
    """
    row = (tables or shipped()).row("metal_water", "water")
    low, high = row.number("from_c"), row.number("to_c")
    if not low <= temp_c <= high:
        raise BadInput(
            "water_c", temp_c, f"{low:g} to {high:g} degC", "Weigh in water near room temperature."
        )
    a1, a2, a3, a4, a5 = row.cells["coefficients"]
    share = (temp_c + a1) ** 2 * (temp_c + a2) / (a3 * (temp_c + a4))
    return float(a5 * (1 - share) / 1000)


def weigh(found: Weighing, *, tables: Tables | None = None) -> Weighed:
    """Density, fineness with an honest interval, and a verdict that rejects or abstains."""
    tables = tables or shipped()
    _check(found, tables)
    density, sd = _density(found, tables)
    rules = tables.table("metal_weighing_rule")
    main, others = found.metals[0], found.metals[1:]
    centre, spread = _fineness(density, main, others, tables)
    slope = _slope(density, main, others, tables)
    fineness_sd = abs(slope) * sd
    constant = abs(slope) * rules["constant_sd_g_cm3"].number("value")
    spread_sd = math.hypot(fineness_sd, constant)
    pores = rules["pores_most"].number("value") if found.pores_most is None else found.pores_most
    by_pores = slope * density * pores / (1 - pores) if pores < 1 else math.inf

    def ends(deviations: float) -> tuple[float, float]:
        wide = deviations * spread_sd
        return spread[0] - wide + min(0.0, by_pores), spread[1] + wide + max(0.0, by_pores)

    likely = ends(rules["deviations"].number("value"))
    possible = ends(rules["reject_deviations"].number("value"))
    common = sorted({one.least for one in standards(tables=tables) if one.main == main})
    could = tuple(f for f in common if likely[0] <= f <= likely[1])
    cannot = tuple(f for f in common if not possible[0] <= f <= possible[1])
    verdict, said = _verdict(found, density, likely, possible, could)
    interval = (max(0.0, min(1.0, likely[0])), min(1.0, max(0.0, likely[1])))
    return Weighed(
        density_g_cm3=density,
        density_sd=sd,
        fineness=1000 * min(1.0, max(0.0, centre)),
        fineness_sd=1000 * fineness_sd,
        fineness_interval_95=(1000 * interval[0], 1000 * interval[1]),
        verdict=verdict,
        said=said,
        could_be=tuple(1000 * f for f in could),
        cannot_be=tuple(1000 * f for f in cannot),
        cautions=_cautions(found),
    )


def _check(found: Weighing, tables: Tables) -> None:
    for name in ("air_g", "water_g"):
        value = getattr(found, name)
        if not (math.isfinite(value) and value > 0):
            raise BadInput(name, value, "grams above 0", "Weigh the piece again.")
    if found.water_g >= found.air_g:
        raise BadInput(
            "water_g", found.water_g, f"less than the {found.air_g:g} g in air",
            "The piece must hang free in the water; check which weighing is which.",
        )  # fmt: skip
    known = tables.table("metal_density")
    if len(found.metals) < 2 or len(set(found.metals)) < len(found.metals):
        raise BadInput("metals", found.metals, "two or more different metals", "As in Ag,Cu.")
    for metal in found.metals:
        if metal not in known or metal == "rest":
            raise BadInput("metals", metal, ", ".join(list(known)[:8]), "Name metals by symbol.")
    if found.metals[0] not in METALS:
        raise BadInput("metals", found.metals[0], ", ".join(METALS), "Put the precious one first.")
    if found.claimed is not None and not 0 < found.claimed <= 1:
        raise BadInput("claimed", found.claimed, "a share above 0 and up to 1", "925 is 0.925.")


def _density(found: Weighing, tables: Tables) -> tuple[float, float]:
    water = water_density_g_cm3(found.water_c, tables=tables)
    air = tables.row("metal_water", "air").number("g_cm3")
    loss = found.air_g - found.water_g
    density = (found.air_g * water - found.water_g * air) / loss
    sd_g = found.step_g if found.sd_g is None else found.sd_g
    # d rho / d m_air = -(water - air) m_water / loss^2 and d rho / d m_water likewise.
    by_air = (water - air) * found.water_g / loss**2 * sd_g
    by_water = (water - air) * found.air_g / loss**2 * sd_g
    rules = tables.table("metal_weighing_rule")
    kelvin = rules["water_c_sd"].number("value") if found.water_c_sd is None else found.water_c_sd
    near = min(max(found.water_c, 0.5), 39.5)
    per_kelvin = water_density_g_cm3(near + 0.5, tables=tables) - water_density_g_cm3(
        near - 0.5, tables=tables
    )
    by_heat = found.air_g / loss * per_kelvin * kelvin
    return density, math.sqrt(by_air**2 + by_water**2 + by_heat**2)


def _solid(metal: str, tables: Tables) -> float:
    return tables.row("metal_density", metal).number("solid_20c_g_cm3")


def _share(density: float, main: str, other: str, tables: Tables) -> float:
    one, two = 1 / _solid(main, tables), 1 / _solid(other, tables)
    return (1 / density - two) / (one - two)


def _fineness(
    density: float, main: str, others: Sequence[str], tables: Tables
) -> tuple[float, tuple[float, float]]:
    """Middle and ends: with each of the other metals alone beside the first."""
    shares = [_share(density, main, other, tables) for other in others]
    return sum(shares) / len(shares), (min(shares), max(shares))


def _slope(density: float, main: str, others: Sequence[str], tables: Tables) -> float:
    """d fineness / d density, the steepest of the mixtures."""
    slopes = [
        -1 / density**2 / (1 / _solid(main, tables) - 1 / _solid(other, tables)) for other in others
    ]
    return max(slopes, key=abs)


def _verdict(
    found: Weighing,
    density: float,
    likely: tuple[float, float],
    possible: tuple[float, float],
    could: tuple[float, ...],
) -> tuple[str, Saying]:
    """Against a claim only what lies outside the wider interval; for it, never a proof."""
    values: dict[str, SayingValue] = {
        "density": Quantity(density, "g/cm3"),
        "low": Quantity(1000 * min(1.0, max(0.0, likely[0])), "millesimal"),
        "high": Quantity(1000 * min(1.0, max(0.0, likely[1])), "millesimal"),
    }
    if possible[1] < 0 or possible[0] > 1:
        return "impossible", Saying("metal.weigh.impossible", values)
    if found.claimed is not None:
        values["claimed"] = Quantity(1000 * found.claimed, "millesimal")
        if not possible[0] <= found.claimed <= possible[1]:
            return "rejects", Saying("metal.weigh.rejects", values)
        rivals = [f for f in could if abs(f - found.claimed) > 1e-9]
        if not rivals:
            return "agrees", Saying("metal.weigh.agrees", values)
        near = min(rivals, key=lambda f: abs(f - (found.claimed or 0.0)))
        values["other"] = Quantity(1000 * near, "millesimal")
        return "undecided", Saying("metal.weigh.undecided", values)
    if len(could) == 1:
        values["other"] = Quantity(1000 * could[0], "millesimal")
        return "agrees", Saying("metal.weigh.one_left", values)
    if could:
        return "undecided", Saying("metal.weigh.several", values)
    return "undecided", Saying("metal.weigh.none_left", values)


def _cautions(found: Weighing) -> tuple[Caution, ...]:
    cautions = [
        Caution("metal.weigh.sound_only", "weigh"),
        Caution("metal.weigh.bubbles", "weigh"),
    ]
    if found.air_g / found.step_g < 5000:
        cautions.append(
            Caution("metal.weigh.too_light", "weigh", values={"mass": Quantity(found.air_g, "g")})
        )
    if len(found.metals) > 2:
        cautions.append(Caution("metal.weigh.many_metals", "weigh"))
    return tuple(cautions)
