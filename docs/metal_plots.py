"""Makes the plots of docs/metal.md anew, one for each claim: python docs/metal_plots.py"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from lemel.sketch import Drawing, alloy_section, cold_work, liquid_fraction, stacked
from lemel.values import Composition

_STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})
_GOLD = Composition.from_millesimal({"Au": 750, "Ag": 125, "Cu": 125})

#: Ag-Cu eutectic, parts of copper in 1000 and degC: NIST, Phase Diagrams and Computational
#: Thermodynamics, solder systems.
_INVARIANT = ((83.0, 779.1), (284.0, 779.1), (925.0, 779.1))
#: 18 ct golds with 125 and 205 of copper, solidus and liquidus: Technical Manual for Gold
#: Jewellery, 1997, from memory.
_MANUAL = ((125.0, 885.0), (125.0, 895.0), (205.0, 890.0), (205.0, 895.0))
#: Sterling sheet, quarter to hard: middles of suppliers' hardness bands (practice) over the
#: thickness that one to four gauge numbers take off.
_TEMPERS = ((10.9, 83.0), (20.7, 95.0), (29.4, 108.0), (37.1, 123.0))


def plots() -> Iterator[tuple[str, Drawing]]:
    """Name of the file beside this one, and what is in it."""
    yield "metal_silver_copper.svg", alloy_section(_STERLING, published=_INVARIANT)
    yield "metal_gold_18ct.svg", alloy_section(_GOLD, published=_MANUAL)
    yield "metal_liquid_925.svg", liquid_fraction(_STERLING)
    yield "metal_cold_work.svg", cold_work((_STERLING, _GOLD), published=_TEMPERS)


def main() -> None:
    """Write them all beside the page."""
    for name, drawing in plots():
        Path(__file__).with_name(name).write_text(stacked([drawing]).svg, "utf-8")


if __name__ == "__main__":
    main()
