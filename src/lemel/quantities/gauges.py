"""Wire and sheet gauges: a number means nothing without its system."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from lemel.errors import BadInput
from lemel.quantities.rows import read_rows
from lemel.quantities.units import units

__all__ = ["GAUGE_SYSTEMS", "GaugeSize", "from_gauge", "gauge_sizes", "to_gauge"]

#: Systems that are known, by the name that must be said.
GAUGE_SYSTEMS: tuple[str, ...] = tuple(row["key"] for row in read_rows("gauges"))

_OTHER_NAMES = {"B&S": "AWG", "BROWN & SHARPE": "AWG", "IMPERIAL": "SWG", "BSWG": "SWG"}


@dataclass(frozen=True, slots=True)
class GaugeSize:
    """One gauge size; `off_mm` is how far the asked thickness lies above it (0 if none was)."""

    gauge: str
    system: str
    mm: float
    off_mm: float = 0.0
    source: str = ""
    trust: str = ""


def from_gauge(gauge: str | int, system: str | None = None) -> GaugeSize:
    """The thickness of a gauge number, mm.

    AWG (Brown & Sharpe): geometric between 0000 and 36, d = 0.005 in * 92^((36 - n) / 39),
    with 0 for n = 0, 00 for -1, 000 for -2, 0000 for -3 (ASTM B258). SWG: listed in
    BS 3737. "4/0" is read as 0000. Raises BadInput without a system, since 18 is 1.024 mm
    in the one and 1.219 mm in the other.

    >>> round(from_gauge(18, "AWG").mm, 4)
    1.0237
    >>> round(from_gauge("18", "SWG").mm, 3)
    1.219
    """
    chosen = _system(system, gauge)
    name = _gauge_name(gauge)
    sizes = gauge_sizes(chosen)
    if name not in sizes:
        first, *_, last = sizes
        raise BadInput("gauge", gauge, f"{first} to {last} {chosen}", "Give the size in mm.")
    return sizes[name]


def to_gauge(thickness_mm: float, system: str | None = None) -> GaugeSize:
    """The gauge nearest to a thickness by ratio, with how far off it is.

    Raises BadInput without a system, or where the thickness lies more than half a step
    outside the system.

    >>> to_gauge(1.0, "AWG").gauge
    '18'
    """
    chosen = _system(system, thickness_mm)
    if not (isinstance(thickness_mm, int | float) and thickness_mm > 0):
        raise BadInput("thickness_mm", thickness_mm, "more than 0", "Measure the thickness in mm.")
    sizes = list(gauge_sizes(chosen).values())
    nearest = min(sizes, key=lambda size: abs(math.log(thickness_mm / size.mm)))
    # Beyond the ends there is no gauge: allow half of the last step there.
    thick_most = sizes[0].mm * math.sqrt(sizes[0].mm / sizes[1].mm)
    thin_least = sizes[-1].mm * math.sqrt(sizes[-1].mm / sizes[-2].mm)
    if not thin_least <= thickness_mm <= thick_most:
        allowed = f"{sizes[-1].mm:.3g} to {sizes[0].mm:.3g} mm"
        raise BadInput("thickness_mm", thickness_mm, allowed, f"{chosen} has no such size.")
    off_mm = thickness_mm - nearest.mm
    return GaugeSize(nearest.gauge, chosen, nearest.mm, off_mm, nearest.source, nearest.trust)


@cache
def gauge_sizes(system: str) -> Mapping[str, GaugeSize]:
    """Every size of a system, thickest first."""
    row = next(row for row in read_rows("gauges") if row["key"] == _system(system, ""))
    return MappingProxyType(_geometric(row) if row["law"] == "geometric" else _listed(row))


def _geometric(row: dict[str, str]) -> dict[str, GaugeSize]:
    inch = float(units()["in"].factor)
    thick, thin = float(row["thickest_in"]), float(row["thinnest_in"])
    first = 1 - len(row["largest"])
    steps = int(row["thinnest_number"]) - first
    sizes = {}
    for n in range(first, int(row["smallest"]) + 1):
        mm = inch * thin * (thick / thin) ** ((int(row["thinnest_number"]) - n) / steps)
        name = str(n) if n > 0 else "0" * (1 - n)
        sizes[name] = GaugeSize(name, row["key"], mm, 0.0, row["source"], row["trust"])
    return sizes


def _listed(row: dict[str, str]) -> dict[str, GaugeSize]:
    inch = units()["in"].factor
    return {
        size["key"]: GaugeSize(
            size["key"],
            row["key"],
            float(inch * round(float(size["inch"]) * 10_000) / 10_000),
            0.0,
            size["source"],
            size["trust"],
        )
        for size in read_rows(f"gauge_{row['key'].lower()}")
    }


def _system(system: str | None, gauge: object) -> str:
    asked = (system or "").strip().upper()
    chosen = _OTHER_NAMES.get(asked, asked)
    if chosen in GAUGE_SYSTEMS:
        return chosen
    allowed = " or ".join(GAUGE_SYSTEMS)
    if not asked:
        raise BadInput(
            "gauge",
            gauge,
            f"a gauge with its system, {allowed}",
            "Say which system: the same number is another thickness in each.",
        )
    raise BadInput("system", system, allowed, "Name one of these systems, or give mm.")


def _gauge_name(gauge: str | int) -> str:
    text = str(gauge).strip().removeprefix("#").lower().removeprefix("no.").strip()
    noughts = re.fullmatch(r"([1-9])/0", text)
    if noughts:
        return "0" * int(noughts[1])
    if re.fullmatch(r"0+|[1-9]\d*", text):
        return text
    raise BadInput("gauge", gauge, "a whole number, 0, 00 or 4/0", "Write the gauge so.")
